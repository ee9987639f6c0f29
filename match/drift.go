package match

import "math"

// The moving reference. The voice has already removed most of it; what is left is followed as a random walk, judged at
// each note from its neighbours only, so that a single wrong note never explains itself.
const (
	driftWalk  = 0.12 // semitones per note, SD: the step of the voice's own reference model
	driftNoise = 0.25 // semitones, SD of one sung pitch around it (Mauch et al. 2014: median error 19 cents)
	driftStart = 0.1  // semitones, SD before the first note; the take's tuning has been removed
	driftGate  = 0.6  // semitones; an answer further from the prediction is a wrong note, no drift. Own

	// A drift below driftLeast is left to the voice; from driftFull on the note's pitch is read anew; between, both
	// are mixed. semitones, own.
	driftLeast = 0.2
	driftFull  = 0.4
)

// belief is a normal distribution of the reference, in semitones.
type belief struct{ mean, variance float64 }

// observe returns b after a note whose answer lay distance semitones from its sung pitch.
func (b belief) observe(distance float64) belief {
	if math.Abs(distance-b.mean) > driftGate {
		return b
	}
	gain := b.variance / (b.variance + driftNoise*driftNoise)
	return belief{b.mean + gain*(distance-b.mean), b.variance * (1 - gain)}
}

// drifts returns, for each source, how many semitones the targets lie above the sung pitches around it (two Kalman
// filters, one from either side, joined without the note itself).
func (l *lattice) drifts(mate []int, shift int) []float64 {
	n := len(l.sources)
	before := make([]belief, n)
	b := belief{0, driftStart * driftStart}
	walk := func(i int) belief {
		now := belief{b.mean, b.variance + driftWalk*driftWalk}
		b = now
		if j := mate[i]; j != None {
			b = now.observe(l.targets[j].pitch - float64(shift) - l.sources[i].pitch)
		}
		return now
	}
	for i := range n {
		before[i] = walk(i)
	}
	drift := make([]float64, n)
	b = belief{b.mean, 1} // the end starts from where the forward pass ended, within a semitone
	for i := n - 1; i >= 0; i-- {
		after := walk(i)
		drift[i] = (before[i].mean*after.variance + after.mean*before[i].variance) / (before[i].variance + after.variance)
	}
	return drift
}

// follow reads the chances of the sources anew where the reference has moved and reports whether any has changed.
func (l *lattice) follow(drift []float64) bool {
	changed := false
	for i, d := range drift {
		share := ramp(math.Abs(d), driftLeast, driftFull)
		s := &l.sources[i]
		if share == 0 || math.Abs(s.pitch-float64(s.semitone)) > 1.5 {
			continue
		}
		changed = true
		heard := heardChance(s.pitch + d - float64(s.semitone))
		for k := range s.chance {
			s.chance[k] = (1-share)*s.chance[k] + share*heard[k]
		}
		s.prepare()
	}
	return changed
}

// heardChance returns the probabilities of -1, 0 and +1 semitones for a pitch x semitones above the middle one.
func heardChance(x float64) [3]float64 {
	var p [3]float64
	for k := range p {
		off := (x - float64(k-1)) / driftNoise
		p[k] = math.Exp(-off * off / 2)
	}
	return cleanChance(p)
}

// ramp is 0 up to a, 1 from b on, and straight between.
func ramp(x, a, b float64) float64 { return math.Min(math.Max((x-a)/(b-a), 0), 1) }
