package bleed

import (
	"math"

	"larkhand/internal/resample"
)

// Constants of the search for voice-free stretches; own choices, checked on simulated takes.
const (
	searchRate     = WorkRate / 2 // Hz: voices are loud below 4 kHz, and half the samples take half the time
	searchFrame    = levelFrame * searchRate / WorkRate
	searchTaps     = 2048 * searchRate / WorkRate // 0.13 s
	searchRounds   = 3
	searchSteps    = 15
	freeSkewRounds = 2     // more find no more voice-free stretches; the skew is refined on them afterwards
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
	y, x := atSearchRate(t.y), atSearchRate(t.x)
	w := steadyWeights(powersOf(y, searchFrame), searchFrame, len(y))
	const down = float64(searchRate) / WorkRate
	at := refineAlignment(y, x, w, searchRate, alignment{t.at.skew, t.at.delay * down}, t.opt.SkewKnown, freeSkewRounds)
	t.at = alignment{at.skew, at.delay / down}
	u := warp(x, at.skew, at.delay, len(y))
	var powers []float64
	var h [][]float64
	for range searchRounds {
		h = fitPath([][]float64{u}, y, w, h, searchTaps, searchSteps)
		powers = powersOf(subtract(y, convolve([][]float64{u}, h)), searchFrame)
		w = steadyWeights(powers, searchFrame, len(y))
	}
	t.setFree(quietStretches(powers, powersOf(u, searchFrame)))
	return steadyWeights(powers, levelFrame, len(t.y))
}

// atSearchRate brings a signal from WorkRate to searchRate.
func atSearchRate(x []float64) []float64 {
	return resample.Whole[float64, float64](x, WorkRate, searchRate, passShare, resample.Short)
}

// steadyWeights are one over the power of frames of some samples, for n samples, so that soft stretches count as much as loud ones.
func steadyWeights(powers []float64, frame, n int) []float64 {
	floor := weightFloor*total(powers)/math.Max(1, float64(len(powers))) + leastPowerVal
	w := make([]float64, n)
	for n := range w {
		p := floor
		if i := n / frame; i < len(powers) {
			p += powers[i]
		}
		w[n] = floor / p
	}
	return w
}

// quietStretches are where what is left of the take lies well below the voice while the backing sounds, by the powers of their frames.
func quietStretches(powers, heard []float64) []Span {
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
			out = append(out, Span{float64(start) * LeftFrame, float64(i) * LeftFrame})
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
