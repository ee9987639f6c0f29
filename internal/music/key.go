package music

import (
	"fmt"
	"strings"
)

// Key is a tonic and a scale. Keys can be compared with ==. The zero value is C major.
type Key struct {
	tonic name
	scale scale
}

// maxKeyText is the longest key name that is looked at, in bytes; the longest real one is under 30.
const maxKeyText = 60

// ParseKey reads a key as a player types it: "C minor", "Cm", "c min", "Eb", "F# dorian", "B♭ blues", "A-flat major",
// "g melodic minor", "Am pentatonic". The tonic may be a small letter (it does not mean minor). A tonic alone is major, "minor" is natural
// minor, "pentatonic" is major pentatonic. "M" is major and "m" is minor.
func ParseKey(s string) (Key, error) {
	if len(s) > maxKeyText {
		return Key{}, fmt.Errorf("a key name has at most %d characters, such as %q", maxKeyText, "Eb harmonic minor")
	}
	text := strings.TrimSpace(s)
	if text == "" || !strings.Contains(letters, strings.ToUpper(text[:1])) {
		return Key{}, fmt.Errorf("%q is no key: start with a letter from A to G, then # or b if needed, then %s", s, scaleNames())
	}
	step := strings.Index(letters, strings.ToUpper(text[:1]))
	alter, sc, known := readKeyTail(signs.Replace(text[1:]))
	if !known {
		return Key{}, fmt.Errorf("%q names no scale that is known: after the tonic write %s", s, scaleNames())
	}
	key := Key{tonic: name{int8(step), int8(alter)}, scale: sc}
	if alter < -1 || alter > 1 {
		return Key{}, fmt.Errorf("a tonic has at most one accidental: instead of %q write %q", s, key.enharmonic())
	}
	return key, nil
}

// readKeyTail reads what follows the tonic's letter: accidentals and scale. Where a b may belong to either side it belongs to the tonic
// if the rest then names a scale: "bb" is Bb major, "bblues" is B blues.
func readKeyTail(text string) (alter int, sc scale, known bool) {
	word := strings.TrimLeft(text, " -")
	for text, alter := range map[string]int{"sharp": 1, "flat": -1} {
		if len(word) >= len(text) && strings.EqualFold(word[:len(text)], text) {
			sc, known = parseScale(word[len(text):])
			return alter, sc, known
		}
	}
	const most = 2 // accidentals; two are read to be refused with a better name
	for limit := most; limit >= 0; limit-- {
		alter, rest := readAccidentals(text, limit)
		if sc, known = parseScale(rest); known {
			return alter, sc, true
		}
	}
	return 0, 0, false
}

// usualTonics are the names by which keys on the twelve pitch classes are usually called: the ones with the fewest
// accidentals in the signature (for six, sharps in major and flats in minor; common practice, no source).
// The index tells whether the third is minor.
var usualTonics = map[bool][semitones]string{
	false: {"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"},
	true:  {"C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B"},
}

// usualKey is the key on a pitch class under its usual name.
func usualKey(class int, sc scale) Key {
	const third, minorThird = 2, 3 // step, semitones
	isMinor := scales[sc].home[third] == minorThird
	text := usualTonics[isMinor][class]
	alter, _ := readAccidentals(text[1:], 1)
	return Key{tonic: name{int8(strings.Index(letters, text[:1])), int8(alter)}, scale: sc}
}

// enharmonic is the same-sounding key under its usual name.
func (k Key) enharmonic() Key {
	return usualKey(k.tonic.class(), k.scale)
}

// String writes the key in full: "C minor", "F# dorian". ParseKey reads it back.
func (k Key) String() string {
	return k.tonic.String() + " " + scales[k.scale].name
}

// Tonic is the letter of the key's first degree: "C", "Eb".
func (k Key) Tonic() string {
	return k.tonic.String()
}

// Scale gives the letters of the key's scale upward from the tonic: C minor is C D Eb F G Ab Bb. Scales have five to seven notes.
func (k Key) Scale() []string {
	notes := scales[k.scale].notes
	out := make([]string, len(notes))
	for i, n := range notes {
		out[i] = k.tonic.above(n.step, n.semis).String()
	}
	return out
}

// PitchClasses gives the pitch classes, 0 to 11, of the same notes in the same order as [Key.Scale].
func (k Key) PitchClasses() []int {
	notes := scales[k.scale].notes
	out := make([]int, len(notes))
	for i, n := range notes {
		out[i] = mod(k.tonic.class()+n.semis, semitones)
	}
	return out
}

// Letter spells a MIDI note number in the key. The package comment states the rule for notes outside the scale.
func (k Key) Letter(midi int) Spelling {
	semis := k.above(midi)
	return spell(k.tonic.above(k.scale.step(semis), semis), midi)
}

// above tells how many semitones, 0 to 11, a note lies above the tonic below it.
func (k Key) above(midi int) int {
	return mod(midi-k.tonic.class(), semitones)
}
