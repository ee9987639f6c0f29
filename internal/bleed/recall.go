package bleed

// Bounds within which a stored path still serves.
const (
	recallLags    = 400   // samples, 25 ms around the stored delay in which the take's own lag is looked for: buffers of a stream that was opened anew
	leastRecalled = 0.25  // gain of the take over the stored one, and
	recalledLeak  = 0.005 // power ratio that lag and gain, found beside singing, add to the leak (measured in a simulated living room: 0.004)
	mostRecalled  = 4.0   // at most: beyond, somebody turned the speaker or the microphone, and the path is learned anew
)

// recall takes the path that was given, where the take has too little voice-free backing to learn one from, and sets its lag and gain
// right by the take. It says whether that path is in use. How much it leaves is told by what it left where it was learned.
// Where the take begins at a known time this comes before all other fits: it takes a third of the time of Clean without a path, and where nobody sings is
// seen best in what the whole path leaves.
func (t *cleaning) recall() bool {
	p := t.opt.Path
	if p == nil || !t.found && total(t.mask) >= leastFreeTime*WorkRate {
		return false
	}
	delay, skew := t.at.delay, t.at.skew
	t.at = alignment{skew: p.Skew, delay: p.Delay*WorkRate - leadSamples + t.from*WorkRate}
	if t.opt.StartUnknown {
		t.at.delay = delay
	}
	u := warp(t.x, t.at.skew, t.at.delay, len(t.y))
	predicted := convolve([][]float64{u}, [][]float64{p.Taps})
	lags := windowLags(t.y, predicted, t.w, WorkRate, true, recallLags)
	offset, _, _, ok := robustLine(lags)
	if !ok {
		t.at = alignment{skew: skew, delay: delay}
		return false
	}
	t.at.delay += offset
	t.u = warp(t.x, t.at.skew, t.at.delay, len(t.y))
	predicted = convolve([][]float64{t.u}, [][]float64{p.Taps})
	gain := t.recalledGain(predicted)
	if gain < leastRecalled || gain > mostRecalled {
		t.at = alignment{skew: skew, delay: delay}
		t.u = warp(t.x, skew, delay, len(t.y))
		return false
	}
	h := make([]float64, pathTaps)
	for k, v := range p.Taps {
		h[k] = gain * v
	}
	t.extra, t.h = nil, [][]float64{h}
	t.fixed = convolve([][]float64{t.u}, t.h)
	t.ratio, t.knownLeak, t.recalled = p.Ratio*gain*gain, p.Leak+recalledLeak, true
	if total(t.mask) == 0 {
		t.findQuiet()
	}
	return true
}

// findQuiet looks for the voice-free stretches by what the path in use leaves.
func (t *cleaning) findQuiet() {
	powers := framePowers(subtract(t.y, t.fixed))
	t.setFree(quietStretches(powers, framePowers(t.u)))
	t.w, t.found = steadyWeights(powers, levelFrame, len(t.y)), true
	if total(t.mask) >= leastFreeTime*WorkRate {
		t.w = t.mask
	}
}

// recalledGain is the take's bleed over the predicted one, amplitude ratio: least squares in high frequencies, as the lags are found, weighted
// by one over the power of the take so that singing counts little.
func (t *cleaning) recalledGain(predicted []float64) float64 {
	w := steadyWeights(framePowers(t.y), levelFrame, len(t.y))
	num, den := 0.0, leastPowerVal
	for n := 1; n < len(predicted); n++ {
		dy, dp := t.y[n]-t.y[n-1], predicted[n]-predicted[n-1]
		num += w[n] * dy * dp
		den += w[n] * dp * dp
	}
	return num / den
}
