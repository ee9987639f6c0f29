package synth

// ramp is a gain that moves evenly towards a target, a little each sample, so that changing it never clicks.
type ramp struct {
	now, target float64
	up, down    float64 // the most that it moves in one sample
}

// newRamp makes a ramp that goes from 0 to 1 in rise seconds and back in fall seconds.
func newRamp(rise, fall float64, rate int) ramp {
	return ramp{up: 1 / (rise * float64(rate)), down: 1 / (fall * float64(rate))}
}

// next moves by one sample and gives the gain.
func (r *ramp) next() float64 {
	switch {
	case r.now < r.target:
		r.now = min(r.now+r.up, r.target)
	case r.now > r.target:
		r.now = max(r.now-r.down, r.target)
	}
	return r.now
}
