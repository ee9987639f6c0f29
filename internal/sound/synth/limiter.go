package synth

import "math"

// Ceiling is the highest absolute sample value that leaves a player: 6 dB below full scale, so that speakers and converters keep room (own choice).
const Ceiling = 0.5

// limiterRelease is how fast the limiter lets go, s to 1/e (own choice: slower than a bass period of 25 ms, so that it does not distort it).
const limiterRelease = 0.15

// limiter turns the gain down at once where a sample would pass the ceiling, and lets it return slowly to 1. It never raises above 1.
type limiter struct {
	gain float64
	back float64 // part of the way back to 1 that is left after a sample
}

func newLimiter(rate int) limiter {
	return limiter{gain: 1, back: math.Exp(-1 / (limiterRelease * float64(rate)))}
}

// next limits one sample. What is no number becomes silence.
func (l *limiter) next(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	l.gain = 1 - (1-l.gain)*l.back
	if size := math.Abs(x); size*l.gain > Ceiling {
		l.gain = Ceiling / size
	}
	return min(max(x*l.gain, -Ceiling), Ceiling)
}
