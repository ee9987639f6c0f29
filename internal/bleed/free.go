package bleed

import "math"

// Constants of the search for voice-free stretches; own choices, checked on simulated takes.
const (
	searchTaps     = 2048
	searchRounds   = 3
	searchSteps    = 15
	freeSkewRounds = 2     // more find no more voice-free stretches; the skew is refined on them afterwards
	weightFrame    = 320   // samples
	weightFloor    = 1e-3  // of the mean frame power; below, frames count no more
	quietDB        = 22.0  // what is left lies that far below the voice where nobody sings
	voiceShare     = 0.9   // quantile of the frame power that stands for the voice
	guardFrames    = 5     // 0.1 s next to singing counts as singing
	leastStretch   = 25    // frames, 0.5 s: shorter stretches are breaths
	heardPower     = 1e-10 // of the backing below which nothing sounds, -100 dBFS
)

// findFree looks for stretches in which the backing sounds and nobody sings: a short path is fitted with weights of one over
// the power of what is left (iteratively reweighted least squares, the likelihood of noise that changes its level), and what
// is left is quiet there. The alignment improves on the way. The last weights are returned.
func (t *cleaning) findFree() []float64 {
	w := steadyWeights(t.y)
	t.at = refineAlignment(t.y, t.x, w, t.at, t.opt.SkewKnown, freeSkewRounds)
	u := warp(t.x, t.at.skew, t.at.delay, len(t.y))
	left := t.y
	for range searchRounds {
		h := fitPath([][]float64{u}, t.y, w, searchTaps, searchSteps)
		left = subtract(t.y, convolve([][]float64{u}, h))
		w = steadyWeights(left)
	}
	t.setFree(quietStretches(left, u))
	return w
}

// steadyWeights are one over the frame power, so that soft stretches count as much as loud ones.
func steadyWeights(y []float64) []float64 {
	powers := framePowers(y)
	floor := weightFloor*total(powers)/math.Max(1, float64(len(powers))) + leastPowerVal
	w := make([]float64, len(y))
	for n := range w {
		p := floor
		if i := n / weightFrame; i < len(powers) {
			p += powers[i]
		}
		w[n] = floor / p
	}
	return w
}

// quietStretches are where what is left of the take lies well below the voice while the backing sounds.
func quietStretches(left, u []float64) []Span {
	powers, heard := framePowers(left), framePowers(u)
	limit := quantile(powers, voiceShare) * fromDB(-quietDB)
	quiet := make([]bool, len(powers))
	for i := range quiet {
		quiet[i] = true
		for j := max(0, i-guardFrames); j <= min(len(powers)-1, i+guardFrames); j++ {
			quiet[i] = quiet[i] && powers[j] <= limit
		}
		quiet[i] = quiet[i] && heard[i] > heardPower
	}
	var out []Span
	for i := 0; i < len(quiet); i++ {
		start := i
		for i < len(quiet) && quiet[i] {
			i++
		}
		if i-start >= leastStretch {
			const frame = float64(levelFrame) / WorkRate
			out = append(out, Span{float64(start) * frame, float64(i) * frame})
		}
	}
	return out
}

func subtract(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range out {
		out[i] = a[i] - b[i]
	}
	return out
}
