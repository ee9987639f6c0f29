package music

import (
	"slices"
	"strings"
)

// scale numbers the rows of scales. The zero value is major.
type scale uint8

const (
	scaleMajor scale = iota
	scaleMinor
	scaleHarmonicMinor
	scaleMelodicMinor
	scaleDorian
	scalePhrygian
	scaleLydian
	scaleMixolydian
	scaleLocrian
	scaleBlues
	scaleMajorPentatonic
	scaleMinorPentatonic
)

// scaleNote is one note of a scale: the letter step above the tonic, 0 to 6, and the semitones above the tonic, 0 to 11.
type scaleNote struct{ step, semis int }

// scaleSpec describes a scale.
type scaleSpec struct {
	name  string      // as Key.String writes it
	home  [steps]int  // semitones of the seven degrees that ScaleNumbers counts
	notes []scaleNote // the scale itself, upward
}

// naturalMinor is home to minor pentatonic and blues also.
var naturalMinor = [steps]int{0, 2, 3, 5, 7, 8, 10}

// scales holds the scales by number (common practice, no source).
var scales = [...]scaleSpec{
	scaleMajor:           sevenNotes("major", major),
	scaleMinor:           sevenNotes("minor", naturalMinor),
	scaleHarmonicMinor:   sevenNotes("harmonic minor", [steps]int{0, 2, 3, 5, 7, 8, 11}),
	scaleMelodicMinor:    sevenNotes("melodic minor", [steps]int{0, 2, 3, 5, 7, 9, 11}),
	scaleDorian:          sevenNotes("dorian", [steps]int{0, 2, 3, 5, 7, 9, 10}),
	scalePhrygian:        sevenNotes("phrygian", [steps]int{0, 1, 3, 5, 7, 8, 10}),
	scaleLydian:          sevenNotes("lydian", [steps]int{0, 2, 4, 6, 7, 9, 11}),
	scaleMixolydian:      sevenNotes("mixolydian", [steps]int{0, 2, 4, 5, 7, 9, 10}),
	scaleLocrian:         sevenNotes("locrian", [steps]int{0, 1, 3, 5, 6, 8, 10}),
	scaleBlues:           {"blues", naturalMinor, []scaleNote{{0, 0}, {2, 3}, {3, 5}, {4, 6}, {4, 7}, {6, 10}}},
	scaleMajorPentatonic: {"major pentatonic", major, []scaleNote{{0, 0}, {1, 2}, {2, 4}, {4, 7}, {5, 9}}},
	scaleMinorPentatonic: {"minor pentatonic", naturalMinor, []scaleNote{{0, 0}, {2, 3}, {3, 5}, {4, 7}, {6, 10}}},
}

// sevenNotes describes a scale with one note on each letter.
func sevenNotes(name string, semis [steps]int) scaleSpec {
	spec := scaleSpec{name: name, home: semis}
	for step, s := range semis {
		spec.notes = append(spec.notes, scaleNote{step, s})
	}
	return spec
}

// harmonicChromatic holds the letter step of each semitone above the tonic in the harmonic chromatic scale,
// 1 b2 2 b3 3 4 #4 5 b6 6 b7 7. Notes outside the key's scale take their letters from it.
var harmonicChromatic = [semitones]int{0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6}

// step is the letter step, 0 to 6, on which a note so many semitones (0 to 11) above the tonic is written.
func (s scale) step(semis int) int {
	for _, n := range scales[s].notes {
		if n.semis == semis {
			return n.step
		}
	}
	return harmonicChromatic[semis]
}

// scaleWords maps what a player may type to the words of the scale names. "M" and "m" differ by case; the rest is compared in lower case.
var scaleWords = map[string]string{
	"major": "major", "maj": "major", "M": "major", "ionian": "major", "ion": "major",
	"minor": "minor", "min": "minor", "mi": "minor", "m": "minor", "-": "minor", "aeolian": "minor", "aeol": "minor",
	"natural": "natural", "nat": "natural",
	"harmonic": "harmonic", "harm": "harmonic",
	"melodic": "melodic", "mel": "melodic", "jazz": "melodic",
	"dorian": "dorian", "dor": "dorian",
	"phrygian": "phrygian", "phryg": "phrygian", "phr": "phrygian",
	"lydian": "lydian", "lyd": "lydian",
	"mixolydian": "mixolydian", "mixo": "mixolydian", "mix": "mixolydian",
	"locrian": "locrian", "loc": "locrian",
	"blues":      "blues",
	"pentatonic": "pentatonic", "pent": "pentatonic", "penta": "pentatonic",
	"scale": "", "mode": "", "key": "",
}

// scaleByWords finds the scale by its words in alphabetical order, so that "pentatonic minor" is read as "minor pentatonic".
var scaleByWords = map[string]scale{
	"":                 scaleMajor,
	"major":            scaleMajor,
	"minor":            scaleMinor,
	"minor natural":    scaleMinor,
	"harmonic minor":   scaleHarmonicMinor,
	"melodic minor":    scaleMelodicMinor,
	"dorian":           scaleDorian,
	"phrygian":         scalePhrygian,
	"lydian":           scaleLydian,
	"mixolydian":       scaleMixolydian,
	"locrian":          scaleLocrian,
	"blues":            scaleBlues,
	"blues minor":      scaleBlues,
	"pentatonic":       scaleMajorPentatonic,
	"major pentatonic": scaleMajorPentatonic,
	"minor pentatonic": scaleMinorPentatonic,
}

// parseScale reads the part of a key's name that follows the tonic; nothing at all is major.
func parseScale(text string) (scale, bool) {
	var words []string
	for _, field := range scaleFields(text) {
		word, known := scaleWords[field]
		if !known {
			word, known = scaleWords[strings.ToLower(field)]
		}
		if !known {
			return 0, false
		}
		if word != "" {
			words = append(words, word)
		}
	}
	slices.Sort(words)
	s, known := scaleByWords[strings.Join(words, " ")]
	return s, known
}

// scaleFields splits at blanks, hyphens and underlines. A hyphen with nothing after it stands for minor, as in "A-".
func scaleFields(text string) []string {
	text = strings.TrimSpace(text)
	if text == "-" {
		return []string{"-"}
	}
	return strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\t' || r == '-' || r == '_' })
}

// scaleNames lists the names of all scales for a sentence.
func scaleNames() string {
	var names []string
	for _, s := range scales {
		names = append(names, s.name)
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
