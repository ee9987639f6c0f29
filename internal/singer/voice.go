package singer

import "math/rand/v2"

// Kind is the kind of a vocal tract; it indexes the formant tables.
type Kind int

// The kinds.
const (
	Man Kind = iota
	Woman
	Child
)

// Voice is one singer.
type Voice struct {
	Kind        Kind
	TractLength float64 // length of the vocal tract relative to the kind's average, 0.85 to 1.15; 0: 1
	Low, High   float64 // MIDI numbers, the range in which Phrase places notes
	LevelDBFS   float64 // RMS level of a vowel at LevelDB 0; 0: -20 dBFS

	Shape       float64 // Rd of the LF model at LevelDB 0: 0.4 pressed, 1 modal, 2.5 breathy; 0: 0.8
	BreathDB    float64 // level of breath noise in the open phase relative to the glottal source; 0: -32 dB
	ConsonantDB float64 // level of friction and bursts relative to the usual
	JitterRatio float64 // standard deviation of the length of single periods, as a ratio of the period (healthy: 0.002 to 0.01)
	ShimmerDB   float64 // standard deviation of the level of single periods (healthy: 0.1 to 0.4)
	Flutter     float64 // cents, standard deviation of fast pitch unsteadiness (about 5 to 10 Hz)
	Slur        float64 // length of the formant movements relative to the usual; 0: 1
	Ring        float64 // 0 to 1: how far F3 to F5 close up to the singer's formant (Sundberg, JASA 55 (1974) 838)
}

// Usual values of a Voice; common practice, no source.
const (
	usualLevelDBFS = -20.0
	usualShape     = 0.8
	usualBreathDB  = -32.0
)

func (v Voice) withUsual() Voice {
	v.TractLength = orUsual(v.TractLength, 1)
	v.LevelDBFS = orUsual(v.LevelDBFS, usualLevelDBFS)
	v.Shape = orUsual(v.Shape, usualShape)
	v.Slur = orUsual(v.Slur, 1)
	v.BreathDB = orUsual(v.BreathDB, usualBreathDB)
	return v
}

// The voice types with their usual ranges: common practice of choirs, no source.
var (
	Bass     = Voice{Kind: Man, Low: 36, High: 62}
	Baritone = Voice{Kind: Man, Low: 43, High: 67}
	Tenor    = Voice{Kind: Man, Low: 48, High: 72}
	Alto     = Voice{Kind: Woman, Low: 53, High: 76}
	Mezzo    = Voice{Kind: Woman, Low: 57, High: 81}
	Soprano  = Voice{Kind: Woman, Low: 60, High: 84}
	Treble   = Voice{Kind: Child, Low: 57, High: 79}
)

var types = []Voice{Bass, Baritone, Tenor, Alto, Mezzo, Soprano, Treble}

// RandomVoice draws a healthy amateur or trained singer: jitter and shimmer in the healthy ranges, the rest own, to be varied.
func RandomVoice(rng *rand.Rand) Voice {
	v := pick(rng, types)
	v.TractLength = clamp(1+0.05*rng.NormFloat64(), 0.87, 1.13)
	v.LevelDBFS = between(rng, -32, -16)
	v.Shape = between(rng, 0.45, 1.6)
	v.BreathDB = between(rng, -42, -20)
	v.JitterRatio = between(rng, 0.001, 0.007)
	v.ShimmerDB = between(rng, 0.05, 0.4)
	v.Flutter = between(rng, 2, 9)
	v.ConsonantDB = between(rng, -10, 3)
	v.Slur = between(rng, 0.7, 2.4)
	v.Ring = max(0, between(rng, -0.6, 0.9))
	return v
}

func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

func clamp(x, low, high float64) float64 { return min(max(x, low), high) }
