package render

import (
	"context"
	"fmt"
	"math"
)

// Rate is the sample rate of everything rendered, Hz: that of espeak-ng.
const Rate = 22050

// Note is one note as it is to be sung.
type Note struct {
	Onset, Offset float64 // s; onset of the vowel, end of the voice
	Pitch         float64 // MIDI number of the sounding centre
	LevelDB       float64 // relative to a plain note
	Syllable      string  // one of the list of syllables; empty: the vowel of the note before goes on
	ScoopCents    float64 // how far below Pitch the note starts
	FallCents     float64 // how far it falls at its end
	VibratoCents  float64 // extent to either side, growing after vibratoDelay
}

// Sound is a rendered phrase.
type Sound struct {
	Samples []float32
	Notes   []Note // the truth
}

// Renderer sings phrases.
type Renderer interface {
	// Name is short and plain.
	Name() string
	// Missing says in one sentence which program or file is not installed; empty when all are there.
	Missing() string
	// Sings tells whether the renderer can sing a style.
	Sings(Style) bool
	// Render sings the phrases. Work files lie in a temporary folder that is removed.
	Render(ctx context.Context, phrases [][]Note) ([]Sound, error)
}

// All are the renderers, ready or not.
func All() []Renderer { return []Renderer{Speech{}, Grains{}, Sampled{}} }

// syllable says how a syllable is made by each renderer.
type syllable struct {
	phonemes   string  // of espeak-ng, US English
	consonant  float64 // s before the vowel, at a slow tempo
	closeDB    float64 // how far the level drops in the consonant, for Grains and Sampled
	from       vowel   // where the formants come from
	to, toward vowel   // the vowel and where it moves (the same for a plain vowel)
	start      start
}

// start is the kind of a syllable's beginning.
type start int

const (
	bare   start = iota // nothing but a vowel or a hum: only a dip in level parts it from the note before
	voiced              // a consonant that sounds, of its usual length
	stop                // a closure: silence, then a burst
)

// syllables that a note may have. Vowels: see vowels. Lengths of consonants lie within those of Klatt, JASA 59 (1976) 1208 (from memory).
var syllables = map[string]syllable{
	"m":    {"m:m:m:m:", 0.03, 12, nasalM, nasalM, nasalM, bare},
	"a":    {"A:", 0.03, 12, openA, openA, openA, bare},
	"la":   {"l'A:", 0.06, 7, liquidL, openA, openA, voiced},
	"ba":   {"b'A:", 0.06, 30, lips, openA, openA, stop},
	"da":   {"d'A:", 0.06, 30, tongue, openA, openA, stop},
	"du":   {"d'u:", 0.06, 30, tongue, closeU, closeU, stop},
	"bu":   {"b'u:", 0.06, 30, lips, closeU, closeU, stop},
	"dn":   {"d'@n", 0.06, 30, tongue, nasalN, nasalN, stop},
	"love": {"l'Vv", 0.06, 7, liquidL, openA, midO, voiced},
	"moon": {"m'u:n", 0.06, 8, nasalM, closeU, nasalN, voiced},
	"rain": {"r'eIn", 0.06, 7, liquidL, midE, nasalN, voiced},
	"you":  {"j'u:", 0.05, 5, closeI, closeU, closeU, voiced},
	"all":  {"'O:l", 0.03, 3, midO, midO, liquidL, voiced},
	"are":  {"'A@", 0.03, 3, openA, openA, midE, voiced},
	"my":   {"m'aI", 0.06, 8, nasalM, openA, closeI, voiced},
	"now":  {"n'aU", 0.06, 8, nasalN, openA, closeU, voiced},
	"we":   {"w'i:", 0.05, 6, closeU, closeI, closeI, voiced},
	"low":  {"l'oU", 0.06, 7, liquidL, midO, closeU, voiced},
	"I":    {"'aI", 0.03, 3, openA, openA, closeI, voiced},
}

// check says what is wrong with a phrase.
func check(notes []Note) error {
	for i, n := range notes {
		if n.Syllable == "" && (i == 0 || n.Onset > notes[i-1].Offset+1e-9) {
			return fmt.Errorf("render: note %d goes on with the vowel of a note that does not reach it; give it a syllable", i)
		}
		if _, ok := syllables[n.Syllable]; n.Syllable != "" && !ok {
			return fmt.Errorf("render: note %d has the unknown syllable %q; use one of the list in note.go", i, n.Syllable)
		}
		if !(n.Offset > n.Onset) || (i > 0 && n.Onset < notes[i-1].Offset-1e-9) || math.IsNaN(n.Pitch+n.LevelDB) {
			return fmt.Errorf("render: note %d lasts from %v to %v s; notes should follow one another and have a length", i, n.Onset, n.Offset)
		}
	}
	return nil
}

// consonantStart is where the consonant of note i begins, s: as long before its vowel as usual, but not before the middle of the
// time from the note before.
func consonantStart(notes []Note, i int) float64 {
	length := syllables[notes[i].Syllable].consonant
	if notes[i].Syllable == "" {
		return notes[i].Onset
	}
	if i > 0 {
		length = math.Min(length, mostConsonant*(notes[i].Onset-notes[i-1].Onset))
	}
	return notes[i].Onset - length
}

// voiceEnd is where the vowel of note i ends, s.
func voiceEnd(notes []Note, i int) float64 {
	if i+1 < len(notes) {
		return math.Min(notes[i].Offset, consonantStart(notes, i+1))
	}
	return notes[i].Offset
}

// mostConsonant is the largest share of an interval between onsets that a consonant takes (own).
const mostConsonant = 0.4

// length is where the sound ends, s.
func length(notes []Note) float64 { return notes[len(notes)-1].Offset + tailSeconds }

// tailSeconds is the silence after the last note.
const tailSeconds = 0.4
