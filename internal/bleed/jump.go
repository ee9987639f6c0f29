package bleed

import "math"

// Constants of the search for lost samples.
const (
	jumpLags  = 700 // samples, 44 ms: longer gaps are not mended
	leastJump = 1.5 // samples; the lag of a moving microphone creeps, 1.5 samples are 3 cm
	jumpAgree = 0.5 // samples within which the lags after the jump lie together
	jumpShare = 0.6 // of the weight after the jump must agree
	jumpTail  = 0.3 // part of the take's end from which the lag after the jump is read
)

// rejoin looks for one place where the recording lost or gained samples, as it does in a dropout: all lags after it agree on
// another value. It moves the reference from there on, keeps the path, and says whether that was so.
func (t *cleaning) rejoin() bool {
	lags := windowLags(t.y, t.fixed, t.w, WorkRate, true, jumpLags)
	lag, ok := tailLag(lags, float64(len(t.y))*(1-jumpTail))
	if !ok || math.Abs(lag) < leastJump {
		return false
	}
	later := warp(t.x, t.at.skew, t.at.delay+lag, len(t.y))
	refs := [][]float64{later}
	if len(t.extra) > 0 {
		refs = append(refs, speakerPowers(later)...)
	}
	after := convolve(refs, t.h)
	at := bestSplit(t.y, t.fixed, after)
	t.fixed = splice(t.fixed, after, at)
	t.u = splice(t.u, later, at)
	for i := range t.extra {
		t.extra[i] = splice(t.extra[i], refs[i+1], at)
	}
	return true
}

// tailLag is the lag on which the windows after a moment agree.
func tailLag(lags []windowLag, from float64) (lag float64, ok bool) {
	var tail []windowLag
	sum := 0.0
	for _, l := range lags {
		if l.at >= from {
			tail = append(tail, l)
			sum += l.weight
		}
	}
	if sum == 0 {
		return 0, false
	}
	lag = weightedMedian(tail, func(l windowLag) float64 { return l.lag })
	agree := 0.0
	for _, l := range tail {
		if math.Abs(l.lag-lag) < jumpAgree {
			agree += l.weight
		}
	}
	return lag, agree >= jumpShare*sum
}

// bestSplit is the sample from which on the second prediction fits better, by least squares.
func bestSplit(y, before, after []float64) int {
	best, at, gain := 0.0, 0, 0.0
	for n := range y {
		a, b := y[n]-before[n], y[n]-after[n]
		gain += b*b - a*a
		if gain > best {
			best, at = gain, n+1
		}
	}
	return at
}

// splice is a up to sample at and b from there on.
func splice(a, b []float64, at int) []float64 {
	out := make([]float64, len(a))
	copy(out, a[:at])
	copy(out[at:], b[at:])
	return out
}
