package notation

import (
	"fmt"
	"strconv"
	"strings"

	"larkhand/internal/music"
)

// Score says how a tune is written out.
type Score struct {
	Key   music.Key
	Chart *music.Chart // chord symbols from Time.Bar on; nil for none
	// Above are words over the notes, one a note; "" for none.
	Above []string
	// Under are rows of words under the notes, one a note, such as degrees and letters.
	Under [][]string
}

// barsALine is how many bars stand in a line: own, so that words under the notes do not touch on a page.
const barsALine = 4

// ABC writes the tune as ABC 2.1: header, then lines of music with their words.
func (t Tune) ABC(s Score) string {
	var b strings.Builder
	fmt.Fprintf(&b, "X:1\nM:%d/%d\nL:1/%d\nK:%s clef=%s\n", t.Beats, t.Unit, ticksPerWhole, keyField(s.Key), t.clef())
	w := abcWriter{tune: t, score: s, signature: signature(s.Key)}
	for from := 0; from < len(t.Bars); from += barsALine {
		w.line(&b, from, min(from+barsALine, len(t.Bars)))
	}
	return b.String()
}

// keyField is the key as ABC names it.
func keyField(k music.Key) string {
	fifths, _ := Fifths(k)
	key, mode := parent(k)
	if fifths == 0 && mode != "" && len(signature(k)) == 0 && !plainScale(key) {
		return "none"
	}
	return key.Tonic() + " " + mode
}

// plainScale says whether a scale has natural letters only.
func plainScale(k music.Key) bool {
	for _, letter := range k.Scale() {
		if len(letter) > 1 {
			return false
		}
	}
	return true
}

// clef is bass where most of the tune lies below the line between the staves.
func (t Tune) clef() string {
	const middleC = 60
	below, above := 0, 0
	for _, bar := range t.Bars {
		for _, s := range bar.Symbols {
			switch {
			case s.Rest:
			case s.Semitone < middleC:
				below += s.Length
			default:
				above += s.Length
			}
		}
	}
	if below > above {
		return "bass"
	}
	return "treble"
}

// abcWriter writes the lines of a tune.
type abcWriter struct {
	tune      Tune
	score     Score
	signature map[byte]int
	chord     string // the last that was written
}

// line writes bars and the words under them.
func (w *abcWriter) line(b *strings.Builder, from, to int) {
	words := make([]strings.Builder, len(w.score.Under))
	for i := from; i < to; i++ {
		w.bar(b, i)
		end := " | "
		if i == len(w.tune.Bars)-1 {
			end = " |]"
		}
		b.WriteString(end)
		for _, s := range w.tune.Bars[i].Symbols {
			for k, row := range w.score.Under {
				if !s.Rest {
					words[k].WriteString(" " + lyric(row, s))
				}
			}
		}
	}
	b.WriteString("\n")
	for k := range words {
		if words[k].Len() > 0 {
			b.WriteString("w:" + words[k].String() + "\n")
		}
	}
}

// lyric is the word under a note; "*" leaves a place free.
func lyric(row []string, s Symbol) string {
	if s.TiedFrom || s.Source >= len(row) || row[s.Source] == "" {
		return "*"
	}
	return strings.NewReplacer("-", `\-`, "_", "–", "*", "×", "~", "–", "|", "/", " ", "~").Replace(row[s.Source])
}

// bar writes the symbols of a bar; symbols of one group stand together under a beam.
func (w *abcWriter) bar(b *strings.Builder, index int) {
	m := meterOf(w.tune.Beats, w.tune.Unit)
	altered := map[music.Spelling]int{} // accidentals written in this bar, by letter and octave
	symbols := w.tune.Bars[index].Symbols
	for i, s := range symbols {
		start, _ := m.groupAt(float64(s.Start))
		if i > 0 && s.Start == start {
			b.WriteString(" ")
		}
		b.WriteString(w.chordAt(index, s))
		if s.Triplet && s.Start == start {
			b.WriteString(triplet(symbols[i:], start+m.group))
		}
		if s.Rest {
			b.WriteString("z" + lengthOf(s))
			continue
		}
		if !s.TiedFrom && s.Source < len(w.score.Above) {
			b.WriteString(annotation(w.score.Above[s.Source]))
		}
		b.WriteString(w.note(s, altered) + lengthOf(s))
		if s.TiedTo {
			b.WriteString("-")
		}
	}
}

// triplet is the sign of three for two, with the number of symbols in it.
func triplet(symbols []Symbol, end int) string {
	n := 0
	for n < len(symbols) && symbols[n].Start < end {
		n++
	}
	return fmt.Sprintf("(3:2:%d", n)
}

// lengthOf is a symbol's length in ticks as it is written: a triplet's is that of the values that it is made of.
func lengthOf(s Symbol) string {
	const three, two = 3, 2
	if s.Triplet {
		return strconv.Itoa(s.Length * three / two)
	}
	return strconv.Itoa(s.Length)
}

// annotation is a word over a note.
func annotation(text string) string {
	if text == "" {
		return ""
	}
	return `"^` + strings.NewReplacer(`"`, "'", `\`, "/", "\n", " ").Replace(text) + `"`
}

// note writes pitch and, where the signature and the bar do not say it, the accidental.
func (w *abcWriter) note(s Symbol, altered map[music.Spelling]int) string {
	spelling := w.score.Key.Letter(s.Semitone)
	alter := alteration(spelling.Letter)
	place := music.Spelling{Letter: spelling.Letter[:1], Octave: spelling.Octave}
	now, written := altered[place]
	if !written {
		now = w.signature[spelling.Letter[0]]
	}
	text := abcPitch(place)
	if alter != now && !s.TiedFrom {
		altered[place] = alter
		return accidentals[alter+2] + text
	}
	return text
}

// accidentals from the double flat to the double sharp.
var accidentals = [...]string{"__", "_", "=", "^", "^^"}

// abcPitch is a letter with its octave: C is middle C, c the one above.
func abcPitch(p music.Spelling) string {
	const capitals, smalls = 4, 5 // octaves of the letters without marks
	switch {
	case p.Octave >= smalls:
		return strings.ToLower(p.Letter) + strings.Repeat("'", p.Octave-smalls)
	case p.Octave < capitals:
		return p.Letter + strings.Repeat(",", capitals-p.Octave)
	}
	return p.Letter
}

// chordAt is the chord symbol that begins with a symbol, or under it; "" where the chord has been written.
func (w *abcWriter) chordAt(index int, s Symbol) string {
	bar := w.tune.First + index
	if w.score.Chart == nil || bar < 0 {
		return ""
	}
	chart := w.score.Chart
	length := meterOf(w.tune.Beats, w.tune.Unit).bar
	name := chart.Bars[bar%len(chart.Bars)].At(float64(s.Start) / float64(length)).String()
	if s.Start > 0 && name == w.chord {
		return ""
	}
	w.chord = name
	return `"` + name + `"`
}
