package musicxml

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"larkhand/internal/music"
)

// Melody is one line of notes, read from a score.
type Melody struct {
	Title string
	Key   music.Key // of the first signature; C major where there is none
	Notes []MelodyNote
}

// MelodyNote is one note; tied notes are one.
type MelodyNote struct {
	Semitone      int     // MIDI number
	Start, Length float64 // quarter notes
}

// Limits of what is read: far beyond any phrase.
const (
	longestScore = 8 << 20 // bytes
	mostElements = 1 << 19
)

// Read reads the first voice of the first part of a partwise score (MusicXML 1.0 to 4.0, not compressed). Grace notes and, of a
// chord, all notes but the first are left out. The error is one sentence.
func Read(r io.Reader) (Melody, error) {
	limited := &io.LimitedReader{R: r, N: longestScore + 1}
	d := xml.NewDecoder(limited)
	d.Strict = true
	d.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("it is written in %s: save it as UTF-8", charset)
	}
	m := scoreReader{melody: Melody{}, divisions: 1}
	for count := 0; ; count++ {
		token, err := d.Token()
		switch {
		case errors.Is(err, io.EOF):
			return m.done()
		case limited.N <= 0 || count > mostElements:
			return Melody{}, errors.New("the score is too long for a phrase")
		case err != nil:
			return Melody{}, errors.New("it is not MusicXML: save it from the notation program as uncompressed MusicXML (.musicxml)")
		}
		if start, ok := token.(xml.StartElement); ok {
			if err := m.element(d, start); err != nil {
				return Melody{}, err
			}
			if m.over {
				return m.done()
			}
		}
	}
}

// scoreReader reads one element after the other.
type scoreReader struct {
	melody    Melody
	partwise  bool
	inPart    bool
	over      bool    // the first part has ended
	divisions float64 // of a quarter note
	now       float64 // quarter notes
	voice     string  // that is read: the first
	keyKnown  bool
	tied      bool // the last note goes on
}

func (m *scoreReader) element(d *xml.Decoder, start xml.StartElement) error {
	decode := func(into any) error {
		if err := d.DecodeElement(into, &start); err != nil {
			return fmt.Errorf("its element %s cannot be read", start.Name.Local)
		}
		return nil
	}
	switch start.Name.Local {
	case "score-partwise":
		m.partwise = true
	case "score-timewise":
		return errors.New("it is a timewise score: save it as a partwise one, as notation programs usually do")
	case "work-title", "movement-title":
		return decode(&m.melody.Title)
	case "part":
		m.over, m.inPart = m.inPart, true
	case "attributes":
		var a attributesElement
		if err := decode(&a); err != nil {
			return err
		}
		return m.attributes(a)
	case "note":
		var n noteElement
		if err := decode(&n); err != nil {
			return err
		}
		return m.note(n)
	case "backup", "forward":
		var move struct {
			Duration float64 `xml:"duration"`
		}
		if err := decode(&move); err != nil {
			return err
		}
		if start.Name.Local == "backup" {
			move.Duration = -move.Duration
		}
		m.now += move.Duration / m.divisions
	}
	return nil
}

type attributesElement struct {
	Divisions float64 `xml:"divisions"`
	Keys      []struct {
		Fifths int    `xml:"fifths"`
		Mode   string `xml:"mode"`
	} `xml:"key"`
}

func (m *scoreReader) attributes(a attributesElement) error {
	if a.Divisions > 0 {
		m.divisions = a.Divisions
	}
	if len(a.Keys) == 0 || m.keyKnown {
		return nil
	}
	key, err := keyOf(a.Keys[0].Fifths, a.Keys[0].Mode)
	m.melody.Key, m.keyKnown = key, true
	return err
}

// modes tell how many fifths the tonic of a mode lies above that of the major key with the same signature.
var modes = map[string]int{"": 0, "major": 0, "ionian": 0, "minor": 3, "aeolian": 3, "dorian": 2, "phrygian": 4, "lydian": -1, "mixolydian": 1, "locrian": 5}

// line is the line of fifths from Fb to B#.
const (
	line     = "FCGDAEB"
	lineOfC  = 1
	mostSign = 7
)

func keyOf(fifths int, mode string) (music.Key, error) {
	mode = strings.TrimSpace(mode)
	up, known := modes[mode]
	if !known || fifths < -mostSign || fifths > mostSign {
		return music.Key{}, fmt.Errorf("its key, %d fifths %q, is unknown: use a signature of up to seven sharps or flats", fifths, mode)
	}
	at := lineOfC + fifths + up
	name := string(line[((at%len(line))+len(line))%len(line)])
	turns := int(math.Floor(float64(at) / float64(len(line))))
	name += strings.Repeat("#", max(turns, 0)) + strings.Repeat("b", max(-turns, 0))
	switch mode {
	case "", "ionian":
		mode = "major"
	case "aeolian":
		mode = "minor"
	}
	return music.ParseKey(name + " " + mode)
}

type noteElement struct {
	Pitch *struct {
		Step   string  `xml:"step"`
		Alter  float64 `xml:"alter"`
		Octave int     `xml:"octave"`
	} `xml:"pitch"`
	Grace    *struct{} `xml:"grace"`
	Chord    *struct{} `xml:"chord"`
	Duration float64   `xml:"duration"`
	Voice    string    `xml:"voice"`
	Ties     []struct {
		Type string `xml:"type,attr"`
	} `xml:"tie"`
}

// tie reports whether a note has a tie of a type, start or stop.
func (n noteElement) tie(kind string) bool {
	for _, t := range n.Ties {
		if t.Type == kind {
			return true
		}
	}
	return false
}

func (m *scoreReader) note(n noteElement) error {
	if n.Grace != nil || n.Chord != nil {
		return nil
	}
	if m.voice == "" {
		m.voice = n.Voice
	}
	length := n.Duration / m.divisions
	if !(length >= 0) || math.IsInf(length, 0) {
		return errors.New("one of its notes has no length")
	}
	start := m.now
	m.now += length
	if n.Voice != m.voice || n.Pitch == nil || length == 0 {
		return nil
	}
	step := strings.Index("C D EF G A B", n.Pitch.Step)
	if len(n.Pitch.Step) != 1 || step < 0 {
		return fmt.Errorf("%q is no step of a note", n.Pitch.Step)
	}
	semitone := 12*(n.Pitch.Octave+1) + step + int(math.Round(n.Pitch.Alter))
	if semitone < 0 || semitone > 127 {
		return errors.New("one of its notes lies outside MIDI's range, C-1 to G9")
	}
	notes := &m.melody.Notes
	if last := len(*notes) - 1; m.tied && n.tie("stop") && (*notes)[last].Semitone == semitone {
		(*notes)[last].Length = start + length - (*notes)[last].Start
	} else {
		*notes = append(*notes, MelodyNote{semitone, start, length})
	}
	m.tied = n.tie("start")
	return nil
}

func (m *scoreReader) done() (Melody, error) {
	if !m.partwise {
		return Melody{}, errors.New("it is not MusicXML: save it from the notation program as uncompressed MusicXML (.musicxml)")
	}
	if len(m.melody.Notes) == 0 {
		return Melody{}, errors.New("its first part has no notes")
	}
	return m.melody, nil
}
