package music

// stem is the part of a chord symbol before its alterations: quality, number and sus.
type stem struct {
	quality quality
	major   bool   // the seventh is major
	number  string // "", "5", "6", "6/9", "7", "9", "11", "13"
	sus     tone   // tone2, tone4, or tone1 for none
}

// quality holds the third and fifth of a chord, and the seventh that a number of 7 or more brings.
type quality struct{ third, fifth, seventh tone }

var (
	qualityMajor      = quality{tone3, tone5, toneFlat7}
	qualityMinor      = quality{toneFlat3, tone5, toneFlat7}
	qualityDiminished = quality{toneFlat3, toneFlat5, toneDoubleFlat7}
	qualityHalfDim    = quality{toneFlat3, toneFlat5, toneFlat7}
	qualityAugmented  = quality{tone3, toneSharp5, toneFlat7}
)

// alteration is one tone written after the stem.
type alteration struct {
	tone tone
	add  bool // only added: nothing makes room for it
}

// stacks holds the tensions that a number brings beside the seventh.
var stacks = map[string]toneSet{
	"7":  0,
	"9":  setOf(tone9),
	"11": setOf(tone9, tone11),
	"13": setOf(tone9, tone13),
}

// replaced holds the plain tone for which an altered one is put.
var replaced = map[tone]tone{
	toneFlat5: tone5, toneSharp5: tone5,
	toneFlat9: tone9, toneSharp9: tone9,
	toneSharp11: tone11,
	toneFlat13:  tone13,
}

// altered holds the tones of 7alt.
var altered = setOf(tone1, tone3, toneFlat7, toneFlat9, toneSharp9, toneSharp11, toneFlat13)

// build gives the tones of a stem with its alterations; ok is false where the stem contradicts itself.
func build(s stem, alterations []alteration) (set toneSet, ok bool) {
	if set, ok = s.tones(); !ok {
		return 0, false
	}
	var more toneSet
	for _, a := range alterations {
		more |= setOf(a.tone)
		if plain, known := replaced[a.tone]; known && !a.add {
			set &^= setOf(plain)
		}
	}
	if s.number == "11" && set.has(tone3) && set.has(tone11) {
		set &^= setOf(tone3)
	}
	return simplify(set | more), true
}

// tones gives the tones of the stem alone.
func (s stem) tones() (set toneSet, ok bool) {
	set = setOf(tone1, s.quality.third, s.quality.fifth)
	stack, stacked := stacks[s.number]
	switch {
	case s.major && !stacked:
		return 0, false
	case stacked:
		set |= stack | setOf(s.seventh())
		if s.number == "13" && s.quality.third == toneFlat3 {
			set |= setOf(tone11)
		}
	case s.number == "6/9":
		set |= setOf(tone6, tone9)
	case s.number == "6":
		set |= setOf(tone6)
	case s.number == "5":
		if s.quality != qualityMajor || s.sus != tone1 {
			return 0, false
		}
		set &^= setOf(tone3)
	}
	if s.sus != tone1 {
		if !set.has(tone3) {
			return 0, false
		}
		set = set&^setOf(tone3) | setOf(s.sus)
	}
	return set, true
}

func (s stem) seventh() tone {
	if s.major {
		return tone7
	}
	return s.quality.seventh
}

// simplify leaves one name for each key of the instrument.
func simplify(s toneSet) toneSet {
	rename := func(from, to tone) {
		if s.has(from) {
			s = s&^setOf(from) | setOf(to)
		}
	}
	if s.has(toneFlat7, tone7) {
		rename(tone6, tone13)
		rename(toneFlat6, toneFlat13)
	} else if !s.has(toneDoubleFlat7) {
		rename(tone13, tone6)
		rename(toneFlat13, toneFlat6)
	}
	for _, pair := range [][2]tone{
		{tone2, tone9}, {toneFlat3, toneSharp9}, {tone4, tone11}, {toneFlat5, toneSharp11},
		{toneSharp5, toneFlat6}, {toneSharp5, toneFlat13}, {toneFlat6, toneFlat13},
		{toneDoubleFlat7, tone6}, {toneDoubleFlat7, tone13},
	} {
		if s.has(pair[0]) {
			s &^= setOf(pair[1])
		}
	}
	return s
}
