package render

// vowel is a set of five formants: Hz, dB below the voice, bandwidth Hz.
type vowel struct {
	hz, db, width [formants]float64
}

const formants = 5

// Formants after the tables for fof in the csound manual (appendix "Formant Values", tenor a, e, i, o, u, from memory and
// rounded); consonants are own.
var (
	openA   = vowel{[5]float64{650, 1080, 2650, 2900, 3250}, [5]float64{0, -6, -7, -8, -22}, [5]float64{80, 90, 120, 130, 140}}
	midE    = vowel{[5]float64{400, 1700, 2600, 3200, 3580}, [5]float64{0, -14, -12, -14, -20}, [5]float64{70, 80, 100, 120, 120}}
	closeI  = vowel{[5]float64{290, 1870, 2800, 3250, 3540}, [5]float64{0, -15, -18, -20, -30}, [5]float64{40, 90, 100, 120, 120}}
	midO    = vowel{[5]float64{400, 800, 2600, 2800, 3000}, [5]float64{0, -10, -12, -12, -26}, [5]float64{70, 80, 100, 130, 135}}
	closeU  = vowel{[5]float64{350, 600, 2700, 2900, 3300}, [5]float64{0, -20, -17, -14, -26}, [5]float64{40, 60, 100, 120, 120}}
	nasalM  = vowel{[5]float64{250, 1000, 2200, 2900, 3300}, [5]float64{0, -22, -28, -34, -40}, [5]float64{60, 120, 150, 180, 200}}
	nasalN  = vowel{[5]float64{250, 1400, 2300, 2900, 3300}, [5]float64{0, -24, -28, -34, -40}, [5]float64{60, 120, 150, 180, 200}}
	liquidL = vowel{[5]float64{350, 1100, 2600, 2900, 3300}, [5]float64{0, -12, -18, -22, -30}, [5]float64{60, 100, 140, 150, 160}}
	lips    = vowel{[5]float64{400, 800, 2200, 2900, 3300}, [5]float64{0, -16, -24, -30, -36}, [5]float64{200, 150, 150, 180, 200}}
	tongue  = vowel{[5]float64{400, 1700, 2600, 3000, 3300}, [5]float64{0, -16, -20, -26, -34}, [5]float64{200, 150, 150, 180, 200}}
)

// mix lies between two vowels; share 0 is a, 1 is b.
func mix(a, b vowel, share float64) vowel {
	var m vowel
	for k := range formants {
		m.hz[k] = a.hz[k] + share*(b.hz[k]-a.hz[k])
		m.db[k] = a.db[k] + share*(b.db[k]-a.db[k])
		m.width[k] = a.width[k] + share*(b.width[k]-a.width[k])
	}
	return m
}

// Lengths of formant movements; own.
const (
	openSeconds = 0.03 // s from the consonant into the vowel
	closeShare  = 0.5  // of a note: a moving vowel starts to move here
)

// vowelAt are the formants at time t.
func vowelAt(notes []Note, t float64) vowel {
	i := noteAt(notes, t)
	first := i
	for first > 0 && notes[first].Syllable == "" {
		first--
	}
	s := syllables[notes[first].Syllable]
	if t < notes[first].Onset {
		return s.from
	}
	v := mix(s.from, s.to, ease((t-notes[first].Onset)/openSeconds))
	last := first
	for last+1 < len(notes) && notes[last+1].Syllable == "" {
		last++
	}
	half := notes[last].Onset + closeShare*(notes[last].Offset-notes[last].Onset)
	if t > half {
		v = mix(v, s.toward, ease((t-half)/(voiceEnd(notes, last)-half)))
	}
	return v
}
