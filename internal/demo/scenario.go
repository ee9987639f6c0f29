package demo

import "larkhand/internal/singer"

// The scenario: what was meant, what each take makes of it, and what the hands do. Times are in beats of the loop or in s; the whole
// table is invented.
const (
	key       = "C minor"
	chart     = "Cm7 | Fm7 | G7b9 | Cm7"
	tempo     = 96.0 // quarter notes a minute
	loopStart = 0.25 // s, the recordings begin a little before the loop
	sampled   = 44100

	story = "Miravel sings over four bars in C minor and enters on the third beat of the Fm7 bar: C D Eb F Ab, down to B, home to C. " +
		"In the first take she slides into the Eb, sits low on the Ab, and comes late on the F. The second take is better centred and in time, " +
		"but its F lands half way to the next key, so only the first take tells what it was meant to be. Tobrin answers on the piano an octave " +
		"higher. He starts after about 1.4 seconds, strikes E before he finds the Eb, and waits before the leap down to B."
)

// step is one note of the phrase as it was meant.
type step struct {
	beat, length float64 // quarter notes since the start of the loop; sounding length
	pitch        float64 // MIDI number
	syllable     singer.Syllable
}

// The phrase: 1 2 3 4 6 #7 1 in C minor; the leap from Ab down to B is the hard place, on G7b9 its b9 and its third.
var phrase = []step{
	{6.0, 0.90, 60, "du"},
	{7.0, 0.45, 62, "ba"},
	{7.5, 0.90, 63, "da"},
	{8.5, 0.90, 65, "du"},
	{9.5, 0.85, 68, "ya"},
	{10.5, 1.30, 59, "ba"},
	{12.0, 1.70, 60, "du"},
}

// manner is how one note of a take departs from what was meant.
type manner struct {
	late   float64 // beats
	detune float64 // cents
	change func(*singer.Note)
}

// Tuning of the takes as a whole, and how unsteady their notes are, cents.
const (
	firstTuning  = -12.0
	secondTuning = 5.0
	firstWobble  = 13.0
	secondWobble = 7.0
)

var firstTake = []manner{
	{detune: 8, change: func(n *singer.Note) { n.SlopeCents = -25 }},
	{late: 0.03, detune: -12},
	{detune: 6, change: func(n *singer.Note) { n.ScoopCents, n.ScoopSeconds = 180, 0.14 }},
	{late: 0.22, detune: 11},
	{late: 0.05, detune: -30},
	{late: -0.10, detune: 15},
	{late: 0.04, detune: -6, change: vibrato},
}

var secondTake = []manner{
	{detune: 3},
	{late: 0.01, detune: -5},
	{late: 0.02, detune: 4},
	{late: 0.02, detune: 50 - secondTuning}, // half way between two keys of the piano
	{detune: -7},
	{late: -0.02, detune: 6},
	{detune: 2, change: vibrato},
}

func vibrato(n *singer.Note) {
	n.VibratoHz, n.VibratoCents, n.VibratoDelay = 5.6, 35, 0.3
}

// stroke is one key of the answer.
type stroke struct {
	late     float64 // s behind the time of the sung note at the answer's own tempo
	step     int     // which note of the phrase stands here
	off      int     // semitones beside it: 0 is right
	length   float64 // s
	velocity int     // 1 to 127
}

const (
	octaveUp     = 12
	answerTempo  = 1.06  // played seconds per meant second
	firstStroke  = 0.350 // s from the answer's zero to the first stroke
	responseTime = 1.40  // s from the end of the last sung note to the first stroke
	tryTime      = 0.300 // s from the wrong key to the right one
	waitTime     = 0.700 // s of hesitation before the leap
)

// The answer. Lateness adds up: what was lost by trying and waiting is not caught up. Small departures are those of a hand.
var strokes = []stroke{
	{0, 0, 0, 0.58, 70},
	{0.008, 1, 0, 0.30, 66},
	{-0.006, 2, 1, 0.24, 62},
	{tryTime - 0.006, 2, 0, 0.60, 74},
	{tryTime + 0.012, 3, 0, 0.57, 71},
	{tryTime - 0.009, 4, 0, 0.60, 76},
	{tryTime + waitTime + 0.004, 5, 0, 0.86, 68},
	{tryTime + waitTime - 0.011, 6, 0, 1.10, 64},
}
