package notation

import (
	"strings"

	"larkhand/internal/music"
)

// The modes that a key signature can have.
const (
	modeMajor = "major"
	modeMinor = "minor"
)

// parents are the seven-note scales whose signature a scale is written with, where that is not its own (common practice, no source).
var parents = map[string]string{
	"harmonic minor": modeMinor, "melodic minor": modeMinor, "blues": modeMinor, "minor pentatonic": modeMinor, "major pentatonic": modeMajor,
}

// parent is the key whose signature is written, and its mode.
func parent(k music.Key) (music.Key, string) {
	mode := strings.TrimPrefix(k.String(), k.Tonic()+" ")
	if p, found := parents[mode]; found {
		mode = p
	}
	key, err := music.ParseKey(k.Tonic() + " " + mode)
	if err != nil {
		panic("notation: " + err.Error()) // names of scales are written as they are read
	}
	return key, mode
}

// Fifths is the key signature: the number of sharps, negative for flats, and the mode ("major", "minor", "dorian" and so on). Keys that
// need more than seven have none and are written with 0: their notes carry all accidentals.
func Fifths(k music.Key) (fifths int, mode string) {
	key, mode := parent(k)
	for _, letter := range key.Scale() {
		fifths += strings.Count(letter, "#") - strings.Count(letter, "b")
	}
	if fifths < -7 || fifths > 7 {
		return 0, mode
	}
	return fifths, mode
}

// signature is the accidental of each letter, in semitones, under the signature of a key.
func signature(k music.Key) map[byte]int {
	s := map[byte]int{}
	fifths, _ := Fifths(k)
	if key, _ := parent(k); fifths != 0 {
		for _, letter := range key.Scale() {
			s[letter[0]] = alteration(letter)
		}
	}
	return s
}

// alteration is the accidental of a letter name in semitones.
func alteration(letter string) int {
	return strings.Count(letter[1:], "#") - strings.Count(letter[1:], "b")
}
