package music

import (
	"strconv"
	"strings"
)

const (
	semitones = 12 // in an octave
	steps     = 7  // letters in an octave
)

// letters are the note letters from C up; their order numbers the steps of a name.
const letters = "CDEFGAB"

// major holds the semitones above the tonic of the major scale's seven degrees. They are also the pitch classes of the
// natural letters from C up.
var major = [steps]int{0, 2, 4, 5, 7, 9, 11}

// signs turns the typographic accidentals into the ASCII ones.
var signs = strings.NewReplacer("♯", "#", "♭", "b", "𝄪", "##", "𝄫", "bb")

// name is a letter with its accidentals, without an octave. The zero value is C.
type name struct {
	step  int8 // 0 to 6, C to B
	alter int8 // semitones: 1 is #, -2 is bb
}

func (n name) String() string {
	return letters[n.step:n.step+1] + accidentals(int(n.alter))
}

// class is the pitch class, 0 to 11.
func (n name) class() int {
	return mod(major[n.step]+int(n.alter), semitones)
}

// above is the name that lies the given letter steps (0 to 6) and semitones above n.
func (n name) above(step, semis int) name {
	to := (int(n.step) + step) % steps
	octave := (int(n.step) + step) / steps
	natural := major[to] + semitones*octave - major[n.step]
	return name{step: int8(to), alter: int8(semis + int(n.alter) - natural)}
}

// accidentals writes n semitones as sharps or, if negative, as flats.
func accidentals(n int) string {
	if n < 0 {
		return strings.Repeat("b", -n)
	}
	return strings.Repeat("#", n)
}

// readAccidentals counts the leading sharps or flats of s (never a mixture), at most limit, and returns what follows them.
func readAccidentals(s string, limit int) (alter int, rest string) {
	if limit == 0 || s == "" || s[0] != '#' && s[0] != 'b' {
		return 0, s
	}
	n := 1
	for n < len(s) && n < limit && s[n] == s[0] {
		n++
	}
	if s[0] == 'b' {
		return -n, s[n:]
	}
	return n, s[n:]
}

// mod is the remainder of a/b that is never negative; b must be positive.
func mod(a, b int) int {
	return (a%b + b) % b
}

// Spelling is a written note: a letter with its accidentals, and the octave that the letter stands in.
type Spelling struct {
	Letter string // "C", "Eb", "F##"
	Octave int    // MIDI note 60 is C4; the octave changes between B and C of the letters, so note 60 as B# is B#3
}

// String writes letter and octave together: "Eb4".
func (s Spelling) String() string {
	return s.Letter + strconv.Itoa(s.Octave)
}

// spell places the name n at MIDI note number midi, which must be of n's pitch class.
func spell(n name, midi int) Spelling {
	natural := midi - int(n.alter)
	return Spelling{Letter: n.String(), Octave: (natural-mod(natural, semitones))/semitones - 1}
}
