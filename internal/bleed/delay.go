package bleed

import (
	"math"
	"math/bits"

	"larkhand/internal/fft"
)

// Constants of the delay search.
const (
	maxDelay      = 0.5   // s, longest way from the program through speaker, room and microphone back to it
	phatFloor     = 0.001 // of the mean magnitude, added to every bin's so that empty bins do not shout (measured on simulated rooms)
	phatLowHz     = 200.0 // small speakers play nothing useful below
	phatHighHz    = 7000.0
	leadSamples   = 48  // 3 ms before the strongest arrival: room for the direct sound and the interpolator's early ripples
	sharpPresence = 5.5 // peak over rms of the lags: without bleed at most 4.5, at -30 dB at least 6.3 (simulated rooms)
)

// measuredLags is the number of lags on which sharpPresence was measured.
const measuredLags = maxDelay * WorkRate

// searchPiece is how much of the take is looked for in the backing, and searchChunk how much backing at a time, samples: they bound
// the work space.
const (
	searchPiece = 60 * WorkRate
	searchChunk = 60 * WorkRate
)

// searchDelay is findDelay for long takes and backings: the first minute of y that is not 0 is looked for.
func searchDelay(y, x []float64, first, last int) correlation {
	from := 0
	for from < len(y)-1 && y[from] == 0 {
		from++
	}
	piece := y[from:min(len(y), from+searchPiece)]
	var best correlation
	for low := first; low <= last; low += searchChunk {
		high := min(last, low+searchChunk-1)
		// Sample n of the piece, n+from of the take, hears samples n+from-high to n+from-low of the backing.
		start := from - high
		chunk := make([]float64, len(piece)+high-low)
		cut(chunk, x, start)
		c := findDelay(piece, chunk, low-high, 0)
		if c.sharp > best.sharp || low == first {
			best = correlation{high + c.lag, c.sharp}
		}
	}
	return best
}

// correlation is the outcome of the delay search.
type correlation struct {
	lag   int     // samples by which the take is behind the reference
	sharp float64 // height of the peak over the rms of the lags searched, less what many lags add by chance
}

// findDelay looks for the lag in [first, last] samples by which x must be delayed to fit y, by the generalized
// cross-correlation with phase transform (Knapp and Carter 1976), with the sign of the path left open.
func findDelay(y, x []float64, first, last int) correlation {
	n := powerOfTwo(max(len(y)+len(x), 1024))
	f := fft.NewConvolver(n)
	ys, xs := make([]complex128, n/2), make([]complex128, n/2)
	frame := make([]float64, n)
	copy(frame, y)
	f.Forward(ys, frame)
	clear(frame)
	copy(frame, x)
	f.Forward(xs, frame)
	low, high := int(phatLowHz*float64(n)/WorkRate), int(phatHighHz*float64(n)/WorkRate)
	mean := 0.0
	for i := range ys {
		if k := f.Bin(i); k < low || k > high {
			ys[i] = 0
			continue
		}
		ys[i] *= complex(real(xs[i]), -imag(xs[i]))
		mean += magnitude(ys[i])
	}
	floor := phatFloor * mean / float64(high-low+1)
	for i, v := range ys {
		if m := magnitude(v); m > 0 {
			ys[i] = complex(real(v)/(m+floor), imag(v)/(m+floor))
		}
	}
	f.Inverse(frame, ys)
	best, height, power := first, 0.0, 0.0
	for lag := first; lag <= last; lag++ {
		v := math.Abs(frame[(lag+n)%n])
		power += v * v
		if v > height {
			best, height = lag, v
		}
	}
	if power == 0 {
		return correlation{lag: first}
	}
	// The highest of n normal values grows with n (its mean is near sqrt(2 ln n)); the bound was measured on the lags of half a second.
	lags := float64(last - first + 1)
	grown := math.Sqrt(2*math.Log(math.Max(lags, measuredLags))) - math.Sqrt(2*math.Log(measuredLags))
	return correlation{best, height/math.Sqrt(power/lags) - grown}
}

func magnitude(c complex128) float64 { return math.Sqrt(real(c)*real(c) + imag(c)*imag(c)) }

// powerOfTwo is the least power of two that is not below n.
func powerOfTwo(n int) int { return 1 << bits.Len(uint(n-1)) }
