package music

import "math/bits"

// Chord is a chord symbol of a lead sheet. Chords can be compared with ==; two spellings of one chord (C-7, Cmin7) give equal
// values. The zero value is N.C., no chord.
//
// The notes that a symbol stands for are chosen as follows (common practice, no source):
//
//   - 9 has the seventh and the 9; 13 has seventh, 9 and 13, and a minor 13 the 11 too; 11 has seventh, 9 and 11, and without
//     sus or minor it leaves the third out, which would rub against the 11.
//   - An altered tension (b9, #9, #11, b13) takes the place of the plain one that the number implies: C13b9 has b9 and 13. b5 and #5
//     take the place of the 5, #11 and b13 do not. "add" only adds.
//   - maj, M and a triangle make the seventh major; sus alone is sus4; alt is 7 with b9 #9 #11 b13 and no 5.
//   - The same key of the instrument is never named twice: beside a seventh 6 is 13 and b6 is b13, without one 13 is 6.
type Chord struct {
	root  name
	bass  name // same as root where the symbol has no slash
	tones toneSet
}

// ChordNote is one note of a chord.
type ChordNote struct {
	Degree     string // number against the root, as [Chord.Degree] gives it
	Letter     string // "Eb", "F#"
	PitchClass int    // 0 to 11
}

// tone is a row of chordTones.
type tone uint8

const (
	tone1 tone = iota
	tone2
	toneFlat3
	tone3
	tone4
	toneFlat5
	tone5
	toneSharp5
	toneFlat6
	tone6
	toneDoubleFlat7
	toneFlat7
	tone7
	toneFlat9
	tone9
	toneSharp9
	tone11
	toneSharp11
	toneFlat13
	tone13
)

// chordTones holds the numbers of a chord: how each is written, on which letter step above the root (0 to 6) and how many semitones above it (0 to 11).
var chordTones = [...]struct {
	degree      string
	step, semis int
}{
	tone1:           {"1", 0, 0},
	tone2:           {"2", 1, 2},
	toneFlat3:       {"b3", 2, 3},
	tone3:           {"3", 2, 4},
	tone4:           {"4", 3, 5},
	toneFlat5:       {"b5", 4, 6},
	tone5:           {"5", 4, 7},
	toneSharp5:      {"#5", 4, 8},
	toneFlat6:       {"b6", 5, 8},
	tone6:           {"6", 5, 9},
	toneDoubleFlat7: {"bb7", 6, 9},
	toneFlat7:       {"b7", 6, 10},
	tone7:           {"7", 6, 11},
	toneFlat9:       {"b9", 1, 1},
	tone9:           {"9", 1, 2},
	toneSharp9:      {"#9", 1, 3},
	tone11:          {"11", 3, 5},
	toneSharp11:     {"#11", 3, 6},
	toneFlat13:      {"b13", 5, 8},
	tone13:          {"13", 5, 9},
}

// toneSet holds one bit for each tone.
type toneSet uint32

func setOf(tones ...tone) (s toneSet) {
	for _, t := range tones {
		s |= 1 << t
	}
	return s
}

// has reports whether any of the tones is in the set.
func (s toneSet) has(tones ...tone) bool {
	return s&setOf(tones...) != 0
}

// list gives the tones of the set in the order of chordTones.
func (s toneSet) list() []tone {
	out := make([]tone, 0, bits.OnesCount32(uint32(s)))
	for t := range tone(len(chordTones)) {
		if s.has(t) {
			out = append(out, t)
		}
	}
	return out
}

// noted is true except for N.C.
func (c Chord) noted() bool {
	return c.tones != 0
}

// Notes gives the chord's notes from the root up, tensions last; none for N.C. A bass note after a slash is not among them unless the chord has it.
func (c Chord) Notes() []ChordNote {
	list := c.tones.list()
	out := make([]ChordNote, len(list))
	for i, t := range list {
		n := c.root.above(chordTones[t].step, chordTones[t].semis)
		out[i] = ChordNote{Degree: chordTones[t].degree, Letter: n.String(), PitchClass: n.class()}
	}
	return out
}

// Root is the letter of the root; "" for N.C.
func (c Chord) Root() string {
	if !c.noted() {
		return ""
	}
	return c.root.String()
}

// Bass is the letter and the pitch class of the lowest note: the one after the slash, or the root. For N.C. ok is false.
func (c Chord) Bass() (letter string, pitchClass int, ok bool) {
	if !c.noted() {
		return "", 0, false
	}
	return c.bass.String(), c.bass.class(), true
}

// Degree is the number of a MIDI note number against the chord's root, by the names of lead sheets: notes of the chord as the symbol
// means them, all others as tensions. From the root up it is one of 1, b9, 9 or 2, #9 or b3, 3, 11 or 4, #11 or b5, 5, b13, b6 or #5,
// 13, 6 or bb7, b7, 7; for N.C. it is "". The same key of the instrument is named by the chord: over C7 Eb is #9, over Cm7 it is b3; over C7 F is 11, over
// Csus4 and C5 it is 4; over C7 A is 13, over C6 and over a plain triad it is 6, over Cdim7 it is bb7; over Cm7b5 Gb is b5, over C7 F# is #11.
func (c Chord) Degree(midi int) string {
	if !c.noted() {
		return ""
	}
	return chordTones[c.tones.name(mod(midi-c.root.class(), semitones))].degree
}

// Letter spells a MIDI note number by its number against the chord. For N.C. ok is false.
func (c Chord) Letter(midi int) (s Spelling, ok bool) {
	if !c.noted() {
		return Spelling{}, false
	}
	semis := mod(midi-c.root.class(), semitones)
	return spell(c.root.above(chordTones[c.tones.name(semis)].step, semis), midi), true
}

// name is the tone by which a note so many semitones (0 to 11) above the root is called over a chord of these tones.
func (s toneSet) name(semis int) tone {
	for _, t := range s.list() {
		if chordTones[t].semis == semis {
			return t
		}
	}
	return s.foreign(semis)
}

// foreign names a note that is not in the chord.
func (s toneSet) foreign(semis int) tone {
	seventh := s.has(toneDoubleFlat7, toneFlat7, tone7)
	majorThird := s.has(tone3) || s.has(tone11) && !s.has(toneFlat3)
	choose := func(cond bool, yes, no tone) tone {
		if cond {
			return yes
		}
		return no
	}
	switch semis {
	case 1:
		return toneFlat9
	case 2:
		return tone9
	case 3:
		return choose(majorThird, toneSharp9, toneFlat3)
	case 4:
		return tone3
	case 5:
		return choose(s.has(toneFlat3, tone3), tone11, tone4)
	case 6:
		return toneSharp11
	case 7:
		return tone5
	case 8:
		return choose(seventh, toneFlat13, toneFlat6)
	case 9:
		return choose(seventh, tone13, tone6)
	case 10:
		return toneFlat7
	case 11:
		return tone7
	}
	return tone1
}
