package match

// Sung is one sung note, as far as matching needs it.
type Sung struct {
	Onset, Offset float64    // s on the take's clock
	Pitch         float64    // MIDI number on the take's own tuning (Semitone + centre/100)
	Semitone      int        // likeliest tempered pitch, MIDI number
	Chance        [3]float64 // probability of Semitone-1, Semitone, Semitone+1
	Confidence    float64    // 0 to 1: that this is one note of its own and was meant as Semitone
	Unclear       bool       // the voice does not decide; such a note can never make an answer wrong
}

// Played is one played note of the answer.
type Played struct {
	Onset, Offset float64 // s on the answer's clock
	Pitch         float64 // MIDI number as it sounded (pitch bend included)
	Velocity      int     // 1 to 127
	Channel       int     // 0 to 15
}

// Verdict says what became of one sung note, or that a played note was added.
type Verdict string

// The verdicts.
const (
	Same      Verdict = "same"
	Different Verdict = "different"
	Unclear   Verdict = "unclear"
	LeftOut   Verdict = "left out"
	Added     Verdict = "added"
)

// None stands in a Pair for "no note on this side".
const None = -1

// Pair joins a sung note with the played note that answers it. Indices are into the slices given to Align.
type Pair struct {
	Sung, Played int // None where there is none
	Verdict      Verdict
}

// Alignment is the answer laid beside the phrase. A sung note of Semitone s is answered as sung by the pitch
// s + 12*Octaves + Transposition + TuningShift.
type Alignment struct {
	Octaves       int // whole octaves that the answer lies above the voice (negative: below)
	Transposition int // semitones, -6 to +6, that the whole answer lies above the phrase after Octaves; 0 is as sung
	// TuningShift is -1, 0 or +1 semitone: the voice lay between the keys, so its semitones were all read one too high
	// (-1) or too low (+1). It is about the voice's tuning and no fault of the answer. It needs Options.TuningCents.
	TuningShift int
	VoiceCents  float64 // how far the voice lay above the instrument, cents: Options.TuningCents - 100*TuningShift
	TempoRatio  float64 // played seconds per sung second; 1 where it cannot be told
	Pairs       []Pair  // in time order; each sung and each played note stands in exactly one
}

// Semitones returns how many semitones the answer lies above the sung Semitones in all.
func (a Alignment) Semitones() int { return 12*a.Octaves + a.Transposition + a.TuningShift }
