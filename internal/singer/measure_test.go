package singer

import "math"

// plainPitch measures F0 in Hz by autocorrelation: the first lag whose correlation comes within 3 % of the best one from 50 to 1200 Hz,
// then up to ten of its periods for precision. It knows nothing of the synthesizer.
func plainPitch(x []float32, rate int) float64 {
	shortest, longest := rate/1200, rate/50
	frame := len(x) - longest - 2
	best := 0.0
	r := make([]float64, longest+2)
	for lag := shortest; lag < len(r); lag++ {
		r[lag] = correlation(x, lag, frame)
	}
	for lag := shortest + 1; lag <= longest; lag++ {
		if r[lag] >= r[lag-1] && r[lag] >= r[lag+1] {
			best = math.Max(best, r[lag])
		}
	}
	period := 0.0
	for lag := shortest + 1; lag <= longest && period == 0; lag++ {
		if r[lag] >= r[lag-1] && r[lag] >= r[lag+1] && r[lag] > 0.97*best {
			period = peak(x, lag, frame)
		}
	}
	for k := 2; k <= 10 && float64(k)*period < float64(longest); k++ {
		lag := int(math.Round(float64(k) * period))
		for _, near := range []int{lag - 1, lag + 1} {
			if correlation(x, near, frame) > correlation(x, lag, frame) {
				lag = near
			}
		}
		period = peak(x, lag, frame) / float64(k)
	}
	return float64(rate) / period
}

func correlation(x []float32, lag, n int) float64 {
	xy, xx, yy := 0.0, 0.0, 1e-12
	for i := range n {
		a, b := float64(x[i]), float64(x[i+lag])
		xy, xx, yy = xy+a*b, xx+a*a, yy+b*b
	}
	return xy / math.Sqrt(xx*yy+1e-18)
}

// peak is the place of the maximum by a parabola through three correlations.
func peak(x []float32, lag, n int) float64 {
	a, b, c := correlation(x, lag-1, n), correlation(x, lag, n), correlation(x, lag+1, n)
	return float64(lag) + (a-c)/(2*(a-2*b+c))
}

func centsOff(hz, wanted float64) float64 { return 1200 * math.Log2(hz/wanted) }

// slice returns the samples from one time to another, s.
func slice(x []float32, from, to float64, rate int) []float32 {
	return x[int(from*float64(rate)):int(to*float64(rate))]
}

// levelOf is the RMS level in dBFS.
func levelOf(x []float32) float64 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return 10 * math.Log10(sum/float64(len(x))+1e-14)
}

// rises returns the first time after from at which the level of 10 ms passes the given dBFS upwards, s.
func rises(x []float32, from, level float64, rate int) float64 {
	const window, hop = 0.010, 0.001
	for t := from; t+window < float64(len(x))/float64(rate); t += hop {
		if levelOf(slice(x, t, t+window, rate)) > level {
			return t + window/2
		}
	}
	return math.NaN()
}

// falls is the mirror image of rises.
func falls(x []float32, from, level float64, rate int) float64 {
	const window, hop = 0.010, 0.001
	for t := from; t+window < float64(len(x))/float64(rate); t += hop {
		if levelOf(slice(x, t, t+window, rate)) < level {
			return t + window/2
		}
	}
	return math.NaN()
}
