package front

import "math"

// Harmonic comb: on the square root of the magnitude spectrum, peak minus mean
// of the two valleys beside it, harmonic k weighted by k^-1/2 (after the
// harmonic template of Camacho and Harris 2008, SWIPE', with all harmonics and for the few candidates only).
const (
	combHarmonics = 8
	combMaxHz     = 3600.0 // below the low-pass of the 8 kHz signal
	combNorm      = 4.0    // the spectrum is scaled to this length, so that the comb of a clean voice is about 1
	combShare     = 0.5    // of the comb in the score; the autocorrelation has the rest
)

var combWeight, combScale = func() (w [combHarmonics + 1]float64, scale float64) {
	sum := 0.0
	for k := 1; k <= combHarmonics; k++ {
		w[k] = 1 / math.Sqrt(float64(k))
		sum += w[k]
	}
	return w, 1 / math.Sqrt(sum)
}()

// Lags between samples are counted in quarters of a sample.
const quarters = 4

// shortLag is how much lower a maximum may be per octave of lag and still rank
// first, when the candidates are chosen (Boersma 1993, eq. 23, octave cost 0.01 there):
// in a clean high tone every multiple of the period is as high as the period itself.
const shortLag = 0.02

// between interpolates a band-limited sequence 0, 1, 2 or 3 quarters after a
// sample: a sinc under a Hann window, six samples on each side.
const lobe = 6

var between = func() (h [quarters][2 * lobe]float64) {
	for q := range h {
		sum := 0.0
		for i := range h[q] {
			x := float64(i-(lobe-1)) - float64(q)/quarters
			h[q][i] = 0.5 + 0.5*math.Cos(math.Pi*x/(lobe+0.5))
			if x != 0 {
				h[q][i] *= math.Sin(math.Pi*x) / (math.Pi * x)
			}
			sum += h[q][i]
		}
		for i := range h[q] {
			h[q][i] /= sum
		}
	}
	return h
}()

// peak is a maximum of the autocorrelation.
type peak struct {
	at           int     // quarter lags
	height, rank float64 // height relative to lag 0; rank orders the candidates
}

// candidates finds the highest maxima of the autocorrelation, divided by the
// window's own (Boersma 1993, eq. 9), and scores each by the comb.
func (a *Analyser) candidates(f *Frame, r0 float64) {
	if r0 < floor*hannPow*winLow {
		return
	}
	var kept [Candidates]peak
	n := 0
	at := func(lag int) float64 { return a.acf[lag] * a.correct[quarters*lag] }
	prev, here := at(minLag-1), at(minLag)
	for lag := minLag; lag < maxLag; lag++ {
		next := at(lag + 1)
		if here > prev && here >= next && here > 0 {
			n = insert(&kept, n, a.climb(lag, here))
		}
		prev, here = here, next
	}
	a.magnitudes()
	for _, p := range kept[:n] {
		period, height := a.refine(p)
		hz := low / period
		if hz < MinHz || hz > MaxHz {
			continue
		}
		h := height / r0
		f.Candidate[f.Count] = Candidate{
			Pitch:       float32(69 + 12*math.Log2(hz/440)),
			Periodicity: float32(h),
			Score:       float32((1-combShare)*h + combShare*a.comb(hz)),
		}
		f.Count++
	}
}

// climb looks half a sample to both sides of a maximum among the samples.
func (a *Analyser) climb(lag int, height float64) peak {
	p := peak{at: quarters * lag, height: height}
	for _, q := range [2]int{quarters*lag - 2, quarters*lag + 2} {
		if v := a.value(q); v > p.height {
			p.at, p.height = q, v
		}
	}
	p.rank = p.height - shortLag*a.acf[0]*lagOctaves[lag]
	return p
}

// lagOctaves[lag] is log2 of the lag.
var lagOctaves = func() (o [maxLag + 1]float64) {
	for lag := 1; lag < len(o); lag++ {
		o[lag] = math.Log2(float64(lag))
	}
	return o
}()

// insert keeps the peaks of the highest rank, highest first.
func insert(kept *[Candidates]peak, n int, p peak) int {
	i := n
	for i > 0 && kept[i-1].rank < p.rank {
		i--
	}
	if i == Candidates {
		return n
	}
	n = min(n+1, Candidates)
	copy(kept[i+1:n], kept[i:n-1])
	kept[i] = p
	return n
}

// refine lays a parabola through the best quarter lag and its neighbours.
func (a *Analyser) refine(p peak) (period, height float64) {
	prev, mid, next := a.value(p.at-1), p.height, a.value(p.at+1)
	at := p.at
	switch {
	case prev > mid && prev >= next:
		prev, mid, next, at = a.value(at-2), prev, mid, at-1
	case next > mid:
		prev, mid, next, at = mid, next, a.value(at+2), at+1
	}
	offset := 0.0
	if bend := prev - 2*mid + next; bend < 0 {
		offset = min(max(0.5*(prev-next)/bend, -0.5), 0.5)
	}
	return (float64(at) + offset) / quarters, mid - 0.25*(prev-next)*offset
}

// value is the corrected autocorrelation at a lag in quarters of a sample.
func (a *Analyser) value(quarter int) float64 {
	lag, h := quarter/quarters, &between[quarter%quarters]
	if quarter%quarters == 0 {
		return a.acf[lag] * a.correct[quarter]
	}
	sum := 0.0
	for i, c := range h {
		l := lag + i - (lobe - 1)
		if l < 0 {
			l = -l // an autocorrelation is even
		}
		sum += c * a.acf[l]
	}
	return sum * a.correct[quarter]
}

// magnitudes fills mag with the square root of the magnitude spectrum; times magScale its length is combNorm.
func (a *Analyser) magnitudes() {
	sum := 0.0
	for i, p := range a.powerLow {
		m := math.Sqrt(p)
		sum += m
		a.mag[i] = math.Sqrt(m)
	}
	a.magScale = combNorm / max(math.Sqrt(sum), 1e-9)
}

func (a *Analyser) comb(hz float64) float64 {
	at := func(bin float64) float64 {
		bin = min(bin, nLow/2-1)
		i := int(bin)
		w := bin - float64(i)
		return a.mag[i]*(1-w) + a.mag[i+1]*w
	}
	step := hz / binHz
	valley := at(step / 2)
	sum := 0.0
	for k := 1; k <= combHarmonics && float64(k)*hz < combMaxHz; k++ {
		next := at((float64(k) + 0.5) * step)
		sum += combWeight[k] * (at(float64(k)*step) - (valley+next)/2)
		valley = next
	}
	return sum * combScale * a.magScale
}

// correction gives 1 over a window's own autocorrelation, relative to lag 0, at
// every quarter lag; between samples it is interpolated linearly, which the smooth window allows.
func correction(w []float64) []float64 {
	r := make([]float64, maxLag+4)
	for lag := range r {
		for i := 0; i+lag < len(w); i++ {
			r[lag] += w[i] * w[i+lag]
		}
	}
	c := make([]float64, quarters*(len(r)-1))
	for q := range c {
		t := float64(q%quarters) / quarters
		c[q] = r[0] / (r[q/quarters]*(1-t) + r[q/quarters+1]*t)
	}
	return c
}
