package singer

import "math"

// Tone makes an exact harmonic tone: harmonic k (from 1) has amplitude levels[k-1] relative to full scale and lies at k times f0(t) Hz. The
// phase is the integral of f0 by Simpson's rule over each sample, so glides and vibrato are exact to rounding; harmonics
// fade out between 0.42 and 0.46 of the rate. Nil levels: 8 harmonics of amplitude 0.2/k. rate is in Hz, seconds is the length.
func Tone(f0 func(t float64) float64, seconds float64, rate int, levels ...float64) []float32 {
	if len(levels) == 0 {
		for k := 1; k <= 8; k++ {
			levels = append(levels, 0.2/float64(k))
		}
	}
	const fadeFrom, fadeTo = 0.42, 0.46
	step := 1 / float64(rate)
	dst := make([]float32, int(math.Round(seconds*float64(rate))))
	cycles := 0.0
	here := f0(0)
	for i := range dst {
		x := 0.0
		for k, level := range levels {
			hz := float64(k+1) * here
			fade := clamp((fadeTo-hz*step)/(fadeTo-fadeFrom), 0, 1)
			if fade == 0 {
				break
			}
			x += level * fade * math.Sin(2*math.Pi*math.Mod(float64(k+1)*cycles, 1))
		}
		dst[i] = float32(x)
		t := float64(i) * step
		next := f0(t + step)
		cycles += step / 6 * (here + 4*f0(t+step/2) + next)
		here = next
	}
	return dst
}
