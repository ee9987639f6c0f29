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
	v.BreathDB = orUsual(v.BreathDB, usualBreathDB)
	return v
}

// Ranges of the voice types, MIDI numbers: common practice of choirs, no source.
var ranges = []struct {
	kind      Kind
	low, high float64
}{
	{Man, 38, 62},   // bass
	{Man, 43, 67},   // baritone
	{Man, 48, 72},   // tenor
	{Woman, 53, 76}, // alto
	{Woman, 57, 81}, // mezzo
	{Woman, 60, 84}, // soprano
	{Child, 57, 79}, // child
}

// RandomVoice draws a healthy amateur or trained singer.
func RandomVoice(rng *rand.Rand) Voice {
	r := ranges[rng.IntN(len(ranges))]
	return Voice{
		Kind:        r.kind,
		TractLength: clamp(1+0.05*rng.NormFloat64(), 0.87, 1.13),
		Low:         r.low,
		High:        r.high,
		LevelDBFS:   between(rng, -32, -16),
		Shape:       between(rng, 0.45, 1.6),
		BreathDB:    between(rng, -42, -20),
		JitterRatio: between(rng, 0.001, 0.007),
		ShimmerDB:   between(rng, 0.05, 0.4),
		Flutter:     between(rng, 2, 9),
		ConsonantDB: between(rng, -10, 3),
		Ring:        max(0, between(rng, -0.6, 0.9)),
	}
}

func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

func clamp(x, low, high float64) float64 { return min(max(x, low), high) }
