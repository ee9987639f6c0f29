package music

import (
	"fmt"
	"strconv"
)

// Numbering tells which notes have plain numbers.
type Numbering int

const (
	// ScaleNumbers counts the key's own scale: in C minor Eb is 3 and Ab is 6, and E is #3.
	ScaleNumbers Numbering = iota
	// AlteredNumbers counts the major scale on the key's tonic: in C minor Eb is b3 and Ab is b6, and E is 3.
	AlteredNumbers
)

// ParseNumbering reads "scale" or "altered".
func ParseNumbering(s string) (Numbering, error) {
	for _, n := range []Numbering{ScaleNumbers, AlteredNumbers} {
		if s == n.String() {
			return n, nil
		}
	}
	return 0, fmt.Errorf("%q is no numbering: write %q (numbers count the key's own scale) or %q (numbers count the major scale)",
		s, ScaleNumbers, AlteredNumbers)
}

// String gives the word that ParseNumbering reads.
func (n Numbering) String() string {
	switch n {
	case ScaleNumbers:
		return "scale"
	case AlteredNumbers:
		return "altered"
	}
	return "Numbering(" + strconv.Itoa(int(n)) + ")"
}

// Degree is the number of a MIDI note number in the key, with accidentals before it: "1", "b3", "#4".
// Every pitch class has one degree, every degree given out means one pitch class, and its letter is that of [Key.Letter].
func (k Key) Degree(midi int, n Numbering) string {
	semis := k.above(midi)
	step := k.scale.step(semis)
	return accidentals(semis-k.plain(n)[step]) + strconv.Itoa(step+1)
}

// plain holds the semitones above the tonic of the seven degrees that have plain numbers.
func (k Key) plain(n Numbering) [steps]int {
	if n == AlteredNumbers {
		return major
	}
	return scales[k.scale].home
}

// Pitch is the MIDI note number of a degree in the key, in the octave where it lies closest to near (of two that lie six
// semitones away, the lower one). The degree is up to two # or b and a number from 1 to 7; it need not be one that Degree gives out.
func (k Key) Pitch(degree string, n Numbering, near int) (int, error) {
	alter, number := readAccidentals(signs.Replace(degree), 2)
	if len(number) != 1 || number[0] < '1' || number[0] > '0'+steps {
		return 0, fmt.Errorf("%q is no degree: write a number from 1 to %d, with # or b before it if needed", degree, steps)
	}
	class := k.tonic.class() + k.plain(n)[number[0]-'1'] + alter
	const half = semitones / 2
	return near - half + mod(class-(near-half), semitones), nil
}
