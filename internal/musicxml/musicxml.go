package musicxml

import (
	"encoding/xml"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"larkhand/internal/music"
	"larkhand/internal/notation"
	"larkhand/internal/round"
)

// Score is what is written.
type Score struct {
	Title     string
	Key       music.Key
	Numbering music.Numbering
	Chart     *music.Chart // over the bars counted from 0; nil for none
	Parts     []Part       // one or more, all of one time signature
}

// Part is one staff.
type Part struct {
	Name string
	Tune notation.Tune
}

// Of lays out a judged round: what was sung and what was played.
func Of(r round.Round, title string) Score {
	s := Score{Title: title, Key: r.Key, Numbering: r.Numbering, Parts: []Part{{"sung", notation.Phrase(r)}, {"played", notation.Answer(r)}}}
	if r.Loop != nil {
		s.Chart = &r.Loop.Chart
	}
	return s
}

const doctype = `<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">` + "\n"

// Write writes the score. It panics without parts.
func (s Score) Write(w io.Writer) error {
	file := scorePartwise{Version: "4.0", Work: work{clean(s.Title)}, ID: identified{encoding{"larkhand"}}}
	first, end := s.bars()
	for i, p := range s.Parts {
		id := "P" + strconv.Itoa(i+1)
		file.PartList.Parts = append(file.PartList.Parts, scorePart{id, clean(p.Name)})
		out := part{ID: id}
		for bar := first; bar < end; bar++ {
			out.Measures = append(out.Measures, s.measure(i, bar, first))
		}
		file.Parts = append(file.Parts, out)
	}
	if _, err := io.WriteString(w, xml.Header+doctype); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", " ")
	if err := enc.Encode(file); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// bars are the numbers of the first bar and of the one after the last, over all parts.
func (s Score) bars() (first, end int) {
	first, end = s.Parts[0].Tune.First, s.Parts[0].Tune.First+1
	for _, p := range s.Parts {
		first = min(first, p.Tune.First)
		end = max(end, p.Tune.First+len(p.Tune.Bars))
	}
	return first, end
}

// measure writes one bar of a part.
func (s Score) measure(index, bar, first int) measure {
	p := s.Parts[index]
	m := measure{Number: bar - first + 1}
	if bar == first {
		m.Attributes = s.attributes(p)
		if index == 0 {
			m.Direction = tempoMark(p.Tune.Tempo)
		}
	}
	if index == 0 {
		m.Harmonies = s.harmonies(bar)
	}
	at := bar - p.Tune.First
	if at < 0 || at >= len(p.Tune.Bars) || len(p.Tune.Bars[at].Symbols) == 0 {
		m.Notes = []note{{Rest: &rest{Measure: "yes"}, Duration: barTicks(p.Tune), Voice: 1}}
		return m
	}
	inForce := signature(s.Key)
	for _, symbol := range p.Tune.Bars[at].Symbols {
		m.Notes = append(m.Notes, s.note(symbol, inForce))
	}
	return m
}

func barTicks(t notation.Tune) int { return t.Beats * 4 * notation.TicksPerQuarter / t.Unit }

// tempoMark is a metronome mark with at most one digit after the point.
func tempoMark(tempo float64) *direction {
	text := strconv.FormatFloat(tempo, 'f', 1, 64)
	text = strings.TrimSuffix(text, ".0")
	return &direction{Placement: "above", Type: directionType{metronome{"quarter", text}}, Sound: sound{text}}
}

func (s Score) attributes(p Part) *attributes {
	fifths, mode := notation.Fifths(s.Key)
	return &attributes{notation.TicksPerQuarter, keySignature{fifths, mode}, timeSignature{p.Tune.Beats, p.Tune.Unit}, clefOf(p.Tune)}
}

// clefOf suits the median note. Own: from C4 on treble, from C3 on treble an octave lower, as for tenors, below that bass.
func clefOf(t notation.Tune) clef {
	const trebleFrom, tenorFrom = 60, 48 // MIDI numbers
	var notes []int
	for _, bar := range t.Bars {
		for _, symbol := range bar.Symbols {
			if !symbol.Rest && !symbol.TiedFrom {
				notes = append(notes, symbol.Semitone)
			}
		}
	}
	slices.Sort(notes)
	switch {
	case len(notes) == 0 || notes[len(notes)/2] >= trebleFrom:
		return clef{"G", 2, 0}
	case notes[len(notes)/2] >= tenorFrom:
		return clef{"G", 2, -1}
	}
	return clef{"F", 4, 0}
}

// types are the names of note values.
var types = map[int]string{1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd"}

// note writes one symbol. inForce are the accidentals that hold so far in the bar: of letters, and of letters in an octave.
func (s Score) note(symbol notation.Symbol, inForce map[string]int) note {
	n := note{Duration: symbol.Length, Voice: 1, Type: types[symbol.Value], Dots: make([]struct{}, symbol.Dots)}
	if symbol.Triplet {
		n.Modification = &modified{3, 2}
	}
	if symbol.Rest {
		n.Rest = &rest{}
		return n
	}
	spelling := s.Key.Letter(symbol.Semitone)
	step, alter := stepOf(spelling.Letter)
	n.Pitch = &pitch{step, alter, spelling.Octave}
	for _, tie := range []struct {
		is   bool
		name string
	}{{symbol.TiedFrom, "stop"}, {symbol.TiedTo, "start"}} {
		if !tie.is {
			continue
		}
		n.Ties = append(n.Ties, typed{tie.name})
		if n.Notations == nil {
			n.Notations = &notationsOf{}
		}
		n.Notations.Tied = append(n.Notations.Tied, typed{tie.name})
	}
	if symbol.TiedFrom {
		return n // what is tied carries no accidental and no number
	}
	place := step + strconv.Itoa(spelling.Octave)
	held, before := inForce[place]
	if !before {
		held = inForce[step]
	}
	if alter != held {
		n.Accidental = accidentals[alter]
	}
	inForce[place] = alter
	n.Lyric = &lyric{"single", s.Key.Degree(symbol.Semitone, s.Numbering)}
	return n
}

// accidentals are the names of the signs that a key's spelling can need.
var accidentals = map[int]string{-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

// stepOf splits a letter: "Eb" is E and -1.
func stepOf(letter string) (step string, alter int) {
	return letter[:1], strings.Count(letter[1:], "#") - strings.Count(letter[1:], "b")
}

// signature is the accidental of each letter under a key's signature.
func signature(k music.Key) map[string]int {
	const sharps, flats = "FCGDAEB", "BEADGCF" // the order in which they come
	out := map[string]int{}
	fifths, _ := notation.Fifths(k)
	for i := range max(fifths, 0) {
		out[sharps[i:i+1]] = 1
	}
	for i := range max(-fifths, 0) {
		out[flats[i:i+1]] = -1
	}
	return out
}

// clean leaves out what XML 1.0 cannot hold.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r == utf8.RuneError || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, text)
}

// harmonies are the chords of a bar of the loop; none before it begins, and none for N.C.
func (s Score) harmonies(bar int) []harmony {
	if s.Chart == nil || bar < 0 {
		return nil
	}
	var out []harmony
	chords := s.Chart.Bars[bar%len(s.Chart.Bars)].Chords
	for i, c := range chords {
		if i > 0 && c == chords[i-1] || c.Root() == "" {
			continue
		}
		out = append(out, harmonyOf(c, i*barTicks(s.Parts[0].Tune)/len(chords)))
	}
	return out
}

func harmonyOf(c music.Chord, offset int) harmony {
	step, alter := stepOf(c.Root())
	text, _, _ := strings.Cut(strings.TrimPrefix(c.String(), c.Root()), "/")
	h := harmony{Root: root{step, alter}, Kind: kind{text, kindOf(c)}, Offset: offset}
	if letter, _, ok := c.Bass(); ok && letter != c.Root() {
		step, alter := stepOf(letter)
		h.Bass = &bass{step, alter}
	}
	return h
}

// kinds are MusicXML's kinds of chord with the degrees that a chord must have (have) and the one of them that must be missing (not), the first
// that fits. What a kind does not say stands in its text.
var kinds = []struct{ have, not, kind string }{
	{"b3 b5 b7", "", "half-diminished"}, {"b3 b5 bb7", "", "diminished-seventh"}, {"b3 b5", "", "diminished"},
	{"b3 b7 13", "", "minor-13th"}, {"b3 b7 11", "", "minor-11th"}, {"b3 b7 9", "", "minor-ninth"}, {"b3 b7", "", "minor-seventh"}, {"b3 7", "", "major-minor"},
	{"b3 6", "", "minor-sixth"}, {"b3", "", "minor"},
	{"3 #5 b7", "", "augmented-seventh"}, {"3 #5", "7", "augmented"},
	{"3 b7 13", "", "dominant-13th"}, {"3 b7 9", "", "dominant-ninth"}, {"3 b7", "", "dominant"},
	{"3 7 13", "", "major-13th"}, {"3 7 9", "", "major-ninth"}, {"3 7", "", "major-seventh"}, {"3 6", "", "major-sixth"}, {"3", "", "major"},
	{"4", "", "suspended-fourth"}, {"2", "", "suspended-second"}, {"1 5", "b7", "power"},
}

func kindOf(c music.Chord) string {
	var degrees []string
	for _, n := range c.Notes() {
		degrees = append(degrees, n.Degree)
	}
	for _, k := range kinds {
		fits := k.not == "" || !slices.Contains(degrees, k.not)
		for d := range strings.FieldsSeq(k.have) {
			fits = fits && slices.Contains(degrees, d)
		}
		if fits {
			return k.kind
		}
	}
	return "other"
}
