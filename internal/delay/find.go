package delay

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Arrival is one delay that was found.
type Arrival struct {
	Seconds    float64 // the delay; NaN where none was found
	Confidence float64 // how sure it is that this is no noise, 0 to 1
}

// missing is an arrival that was not found.
var missing = Arrival{Seconds: math.NaN()}

const (
	// sure is the least confidence with which an arrival counts: one false one in a thousand.
	sure = 0.999
	// firstWithin is how long before the strongest arrival the first may lie, s (own choice: 7 m more of air).
	firstWithin = 0.02
	// firstLevel is the envelope of the first arrival against the strongest, at least: -6 dB. The chirp's own side lobes are below -30 dB.
	firstLevel = 0.5
)

// Find looks for the chirp in what was recorded: sent says at which samples the chirps would begin there if there were no delay. It gives one arrival for each.
func Find(recorded []float32, rate int, sent []int) []Arrival {
	f := newFilter(rate)
	out := make([]Arrival, len(sent))
	for i, at := range sent {
		out[i] = missing
		if at >= 0 && at+f.window <= len(recorded) {
			out[i] = f.find(recorded[at : at+f.window])
		}
	}
	return out
}

// filter is a matched filter for the chirp.
type filter struct {
	rate   int
	lags   int // samples
	window int // samples that a search needs
	fft    *fourier.CmplxFFT
	chirp  []complex128 // conjugate of the spectrum of the analytic chirp
	buffer []complex128
}

func newFilter(rate int) *filter {
	n := int(chirpSeconds * float64(rate))
	f := &filter{rate: rate, lags: int(MostDelay * float64(rate))}
	f.window = f.lags + n
	size := 1
	for size < f.window+n {
		size *= 2
	}
	f.fft = fourier.NewCmplxFFT(size)
	f.buffer = make([]complex128, size)
	for i := range n {
		window, phase := chirpAt(i, n, rate)
		f.buffer[i] = cmplx.Rect(window, phase)
	}
	f.chirp = f.fft.Coefficients(nil, f.buffer)
	for i, c := range f.chirp {
		f.chirp[i] = cmplx.Conj(c)
	}
	return f
}

// find searches one window.
func (f *filter) find(recorded []float32) Arrival {
	envelope := f.envelope(recorded)
	best := 0
	for i, x := range envelope {
		if x > envelope[best] {
			best = i
		}
	}
	peak := envelope[best]
	if !(peak > 0) || math.IsInf(peak, 0) {
		return missing
	}
	first := best
	for i := max(0, best-int(firstWithin*float64(f.rate))); i < best; i++ {
		if rising := i == 0 || envelope[i] >= envelope[i-1]; rising && envelope[i] >= firstLevel*peak && envelope[i] > envelope[i+1] {
			first = i
			break
		}
	}
	a := Arrival{Seconds: (float64(first) + top(envelope, first)) / float64(f.rate), Confidence: f.confidence(envelope, peak)}
	if a.Confidence < sure {
		a.Seconds = math.NaN()
	}
	return a
}

// envelope is the filter's output for every lag.
func (f *filter) envelope(recorded []float32) []float64 {
	clear(f.buffer)
	for i, x := range recorded {
		f.buffer[i] = complex(float64(x), 0)
	}
	spectrum := f.fft.Coefficients(nil, f.buffer)
	for i := range spectrum {
		spectrum[i] *= f.chirp[i]
	}
	correlation := f.fft.Sequence(nil, spectrum)
	out := make([]float64, f.lags)
	for i := range out {
		out[i] = cmplx.Abs(correlation[i])
	}
	return out
}

// confidence is the chance that the largest of the envelopes of noise stays below peak. The envelope of noise is Rayleigh distributed with the median
// s sqrt(2 ln 2), and there are as many independent values as the band is wide.
func (f *filter) confidence(envelope []float64, peak float64) float64 {
	sorted := slices.Clone(envelope)
	slices.Sort(sorted)
	median := sorted[len(sorted)/2]
	if median == 0 {
		return 1
	}
	independent := (chirpTo - chirpFrom) * MostDelay
	ratio := peak / median
	below := -math.Exp(-ratio * ratio * math.Ln2)
	return math.Exp(independent * math.Log1p(below))
}

// top is where between its neighbours the peak at i lies, in samples from -0.5 to 0.5, by a parabola.
func top(y []float64, i int) float64 {
	if i == 0 || i == len(y)-1 {
		return 0
	}
	curve := y[i-1] - 2*y[i] + y[i+1]
	if curve >= 0 {
		return 0
	}
	return max(-0.5, min(0.5, 0.5*(y[i-1]-y[i+1])/curve))
}
