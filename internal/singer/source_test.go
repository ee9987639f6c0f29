package singer

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Fant (1995): the level of the first harmonic over the second is about -7.6 + 11.1 Rd dB (from memory). 2 dB: it is a regression.
func TestPulseFollowsFantsRegression(t *testing.T) {
	for _, rd := range []float64{0.6, 1.05, 1.5, 1.95} {
		r, part := row(rd)
		h := func(k int) float64 {
			return 20 * math.Log10(cmplx.Abs(harmonics()[r][k-1]*complex(1-part, 0)+harmonics()[r+1][k-1]*complex(part, 0)))
		}
		if got, want := h(1)-h(2), -7.6+11.1*rd; math.Abs(got-want) > 2 {
			t.Errorf("Rd %g: H1-H2 = %.1f dB, want %.1f", rd, got, want)
		}
	}
}

// The derivative of a flow that starts and ends closed has no mean, starts and ends at 0, and is most negative at the closure
// (at Rd 2.7, where the pulse is almost a sine, 1 % of a period before it).
func TestPulseIsTheDerivativeOfAClosedFlow(t *testing.T) {
	for i, p := range pulses() {
		sum, power, lowest, at := 0.0, 0.0, 0.0, 0
		for j, x := range p[:pulseLength] {
			sum += x
			power += x * x
			if x < lowest {
				lowest, at = x, j
			}
		}
		rd := pulseLowest + pulseStep*float64(i)
		if math.Abs(sum/pulseLength) > 1e-3 || math.Abs(p[0]) > 1e-6 || math.Abs(p[pulseLength]) > 1e-3 {
			t.Errorf("Rd %.2f: mean %g, from %g to %g", rd, sum/pulseLength, p[0], p[pulseLength])
		}
		if math.Abs(power/pulseLength-1) > 1e-9 {
			t.Errorf("Rd %.2f: power %g", rd, power/pulseLength)
		}
		if closure := openPart(rd); math.Abs(float64(at)/pulseLength-closure) > 0.015 {
			t.Errorf("Rd %.2f: steepest at %.3f of the period, closure at %.3f", rd, float64(at)/pulseLength, closure)
		}
	}
}

func TestWhiteNoise(t *testing.T) {
	random := rand.NewPCG(1, 2)
	const n = 200000
	sum, power, lag1 := 0.0, 0.0, 0.0
	before := 0.0
	for range n {
		x := white(random)
		sum += x
		power += x * x
		lag1 += x * before
		before = x
	}
	// Four standard errors of 200,000 samples: 0.009.
	if math.Abs(sum/n) > 0.009 || math.Abs(power/n-1) > 0.009 || math.Abs(lag1/n) > 0.009 {
		t.Errorf("mean %g, power %g, correlation %g", sum/n, power/n, lag1/n)
	}
}
