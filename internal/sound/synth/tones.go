package synth

import "math"

// Tone is a plain tone that is held evenly.
type Tone struct {
	Onset, Offset float64 // s
	Pitch         float64 // MIDI note number
}

// tonePartials are the amplitudes of a tone's partials: enough of the second and third for small speakers to carry a low one (own).
var tonePartials = [...]float64{0.7, 0.2, 0.1}

// toneFade is the length of a tone's rise and of its fall, s: no click (own).
const toneFade = 0.02

// AddTones adds tones to samples at a rate in Hz, of which the first lies at 0 s. Each peaks at no more than level. What lies outside of the samples is left out.
func AddTones(samples []float32, rate int, level float64, tones ...Tone) {
	for _, t := range tones {
		if !(t.Offset > t.Onset) || math.IsNaN(t.Pitch) {
			continue
		}
		hz := 440 * math.Exp2((t.Pitch-69)/12)
		from, to := max(0, int(math.Ceil(t.Onset*float64(rate)))), min(len(samples), int(t.Offset*float64(rate)))
		fade := math.Min(toneFade, (t.Offset-t.Onset)/2)
		for i := from; i < to; i++ {
			at := float64(i)/float64(rate) - t.Onset
			left := t.Offset - t.Onset - at
			samples[i] += float32(level * smooth(math.Min(1, math.Min(at, left)/fade)) * partials(hz, at, rate))
		}
	}
}

// partials is a tone at s seconds from its start, as far as the rate carries it.
func partials(hz, s float64, rate int) (sum float64) {
	for k, amplitude := range tonePartials {
		if f := hz * float64(k+1); f < mostIndex*float64(rate) {
			sum += amplitude * math.Sin(fullTurn*f*s)
		}
	}
	return sum
}
