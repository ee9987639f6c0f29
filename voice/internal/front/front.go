// Package front turns a stream of samples into frames of measurements: pitch
// candidates, levels and a coarse spectrum, every 10 ms.
//
// Conventions: frame n is centred at n*Hop seconds of the input; levels are in
// dBFS (mean square of a full-scale square wave = 0) and never below -100;
// pitches are MIDI numbers. A stream gives the same frames however it is cut
// into blocks. Non-goals: deciding which candidate is the pitch (package
// track) or where notes begin (packages marks and segment).
package front

import (
	"math"

	"larkhand/internal/fft"
	"larkhand/internal/resample"
)

// Hop is the time between frames in seconds.
const Hop = 0.01

// Pitch range that is looked for, in Hz.
const (
	MinHz = 60.0
	MaxHz = 1100.0
)

// Candidates is how many pitch candidates a frame keeps. High voices lose the
// true one with six (measured on sight-singing: .949 of mid-note frames right with 6, .957 with 10).
const Candidates = 10

// Bands is the number of mel bands.
const Bands = 12

const (
	chunk   = 4096          // samples at most that are taken in at once: bounds the work space
	rate    = 16000         // Hz, for levels and spectrum
	hop     = rate / 100    // samples
	low     = rate / 2      // Hz, for pitch
	lowHop  = hop / 2       // samples
	winLow  = 512           // samples at the low rate: 64 ms, three periods of a low bass note
	nLow    = 1024          // transform of the zero-padded pitch window
	winMel  = 512           // samples: 32 ms
	win20   = 320           // samples: 20 ms, for the sharp level
	floor   = 1e-10         // power, -100 dBFS
	hannPow = 0.375         // mean square of a Hann window
	melLow  = 80.0          // Hz
	melHigh = 7600.0        // Hz
	maxLag  = low/60 + 2    // samples: MinHz and a little more
	minLag  = low/1100 - 1  // samples: MaxHz and a little more
	lags    = maxLag + 16   // of the autocorrelation that are computed: maxLag and what the interpolation after it needs
	bins    = 2*1100/8 + 16 // spectrum bins that are kept: up to the second harmonic of MaxHz
	binHz   = low * 1.0 / nLow
)

// Candidate is one possible pitch of a frame.
type Candidate struct {
	Pitch       float32 // MIDI number
	Periodicity float32 // height of the autocorrelation's maximum, at most about 1
	Score       float32 // mean of Periodicity and harmonic comb, at most about 1
}

// Frame is what was measured around one moment.
type Frame struct {
	Candidate  [Candidates]Candidate // the first Count of them
	Count      int
	Level      float32        // dBFS over 64 ms
	SharpLevel float32        // dBFS over 20 ms
	Mel        [Bands]float32 // dBFS
	power      []float32      // spectrum of the pitch window, bins long
}

// HarmonicLevel is the level in dBFS of the spectrum at a frequency, three bins wide.
func (f *Frame) HarmonicLevel(hz float64) float32 {
	j := min(max(int(math.Round(hz/binHz)), 2), bins-2)
	p := float64(f.power[j-1] + f.power[j] + f.power[j+1])
	return float32(10 * math.Log10(p/(hannPow*winLow*winLow/4)+floor))
}

// Analyser makes frames of one stream.
type Analyser struct {
	toRate *resample.Converter[float32, float32]
	toLow  *resample.Converter[float32, float32]
	high   highPass

	x, y         []float32 // samples at rate and at the low rate, from index baseX, baseY on
	baseX, baseY int
	readX        int // samples at rate so far, without padding
	frames       []Frame
	room         []float32 // for the spectra of frames to come

	block                  []float32
	fftLow, fftHalf        *fft.Real // of the pitch window, and its cosine transform back
	fftMel                 *fft.Real
	windowLow, windowMel   []float64
	correct                []float64 // takes the window's own autocorrelation out, at every quarter lag
	mel                    [][]band
	in, powerLow, acf, mag []float64
	magScale               float64
	inMel, powerMel        []float64
}

// band is one spectrum bin's share in a mel band.
type band struct {
	bin    int
	weight float64
}

// New prepares the analysis of a stream at a rate in Hz, 16000 to 96000.
func New(inputRate int) *Analyser {
	// Cuts: up to 5.8 kHz passes unharmed, nothing above 9 kHz folds back below 7 kHz; likewise half of these at the low rate.
	const cut = 0.93
	a := &Analyser{
		toRate: resample.New[float32, float32](inputRate, rate, cut, resample.Short, chunk),
		toLow:  resample.New[float32, float32](rate, low, cut, resample.Short, chunk),
		high:   newHighPass(50, rate),
		fftLow: fft.NewReal(nLow), fftHalf: fft.NewReal(nLow / 2), fftMel: fft.NewReal(winMel),
		windowLow: hann(winLow), windowMel: hann(winMel),
		in: make([]float64, nLow), powerLow: make([]float64, nLow/2+1), acf: make([]float64, lags), mag: make([]float64, nLow/2+1),
		inMel: make([]float64, winMel), powerMel: make([]float64, winMel/2+1),
		mel: melBands(),
	}
	a.correct = correction(a.windowLow)
	// Frame 0 is centred on the first sample: half a window of silence lies before it.
	a.x, a.baseX = make([]float32, winMel/2), -winMel/2
	a.y, a.baseY = make([]float32, winLow/2), -winLow/2
	return a
}

// Write takes in samples (full scale 1) and makes the frames that they complete.
func (a *Analyser) Write(samples []float32) {
	for len(samples) > 0 {
		k := min(chunk, len(samples))
		a.block = a.toRate.Write(a.block[:0], samples[:k])
		a.take(a.block)
		samples = samples[k:]
	}
}

// Finish makes the remaining frames, as if silence followed, and returns all:
// one for each full 10 ms of the input.
func (a *Analyser) Finish() []Frame {
	a.take(a.toRate.Finish(a.block[:0]))
	want := a.readX / hop
	for len(a.frames) < want {
		a.addFrames(make([]float32, rate/10))
	}
	return a.frames[:want]
}

// Frames returns the frames made so far; the slice is valid until the next Write.
func (a *Analyser) Frames() []Frame { return a.frames }

func (a *Analyser) take(x []float32) {
	for i, v := range x {
		x[i] = a.high.next(v)
	}
	a.readX += len(x)
	a.addFrames(x)
}

func (a *Analyser) addFrames(x []float32) {
	a.x = append(a.x, x...)
	a.y = a.toLow.Write(a.y, x)
	for {
		n := len(a.frames)
		atX, atY := n*hop-winMel/2-a.baseX, n*lowHop-winLow/2-a.baseY
		if atX+winMel > len(a.x) || atY+winLow > len(a.y) {
			break
		}
		a.frames = append(a.frames, Frame{})
		a.measure(&a.frames[n], a.x[atX:][:winMel], a.y[atY:][:winLow])
	}
	next := len(a.frames)
	a.x, a.baseX = dropBefore(a.x, a.baseX, next*hop-winMel/2)
	a.y, a.baseY = dropBefore(a.y, a.baseY, next*lowHop-winLow/2)
}

func dropBefore(s []float32, base, index int) ([]float32, int) {
	k := min(max(index-base, 0), len(s))
	if k < 8192 { // seldom, so that moving the rest costs nothing
		return s, base
	}
	return s[:copy(s, s[k:])], base + k
}

func (a *Analyser) measure(f *Frame, x, y []float32) {
	f.SharpLevel = level(x[winMel/2-win20/2:][:win20])
	a.measureMel(f, x)
	r0 := a.autocorrelation(y)
	f.Level = float32(10 * math.Log10(max(r0/(hannPow*winLow), floor)))
	f.power = a.nextPower()
	for i := range f.power {
		f.power[i] = float32(a.powerLow[i])
	}
	a.candidates(f, r0)
}

// nextPower gives room for one frame's spectrum. It comes from large blocks, so that the list of frames can grow without moving the spectra.
func (a *Analyser) nextPower() []float32 {
	const framesPerBlock = 512
	if len(a.room) < bins {
		a.room = make([]float32, framesPerBlock*bins)
	}
	p := a.room[:bins:bins]
	a.room = a.room[bins:]
	return p
}

func level(x []float32) float32 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return float32(10 * math.Log10(sum/float64(len(x))+floor))
}

func (a *Analyser) measureMel(f *Frame, x []float32) {
	for i, w := range a.windowMel {
		a.inMel[i] = float64(x[i]) * w
	}
	a.fftMel.Power(a.powerMel, a.inMel)
	for m, bs := range a.mel {
		sum := 0.0
		for _, b := range bs {
			sum += a.powerMel[b.bin] * b.weight
		}
		f.Mel[m] = float32(10 * math.Log10(sum/(hannPow*winMel*winMel)+floor))
	}
}

// autocorrelation fills powerLow and acf (lags 0 to lags-1 in samples, unnormalised) and returns lag 0.
func (a *Analyser) autocorrelation(y []float32) float64 {
	mean := 0.0
	for _, v := range y {
		mean += float64(v)
	}
	mean /= float64(len(y))
	for i, w := range a.windowLow {
		a.in[i] = (float64(y[i]) - mean) * w
	}
	a.fftLow.Power(a.powerLow, a.in)
	// The power spectrum is even, so its cosine transform is the autocorrelation (Wiener-Khinchin).
	a.fftHalf.Cosine(a.acf, a.powerLow)
	for i := range a.acf {
		a.acf[i] /= nLow
	}
	return a.acf[0]
}

func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i+1)/float64(n+1))
	}
	return w
}

// melBands lays Bands overlapping filters over melLow to melHigh: each is the
// mean of two neighbouring triangles of a 24-band bank (O'Shaughnessy 1987 scale, 2595 log10(1+f/700)).
func melBands() [][]band {
	const n = 2 * Bands
	scale := func(hz float64) float64 { return 2595 * math.Log10(1+hz/700) }
	step := (scale(melHigh) - scale(melLow)) / (n + 1)
	out := make([][]band, Bands)
	for b := range n {
		left := scale(melLow) + float64(b)*step
		var tri []band
		sum := 0.0
		for bin := range winMel/2 + 1 {
			q := (scale(float64(bin)*rate/winMel) - left) / step
			if w := min(q, 2-q); w > 0 {
				tri = append(tri, band{bin, w})
				sum += w
			}
		}
		for _, t := range tri {
			out[b/2] = append(out[b/2], band{t.bin, t.weight / sum / 2})
		}
	}
	return out
}

// highPass is a second-order Butterworth filter (bilinear transform), against rumble and DC.
type highPass struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func newHighPass(hz, rate float64) highPass {
	k := math.Tan(math.Pi * hz / rate)
	n := 1 / (1 + math.Sqrt2*k + k*k)
	return highPass{b0: n, b1: -2 * n, b2: n, a1: 2 * (k*k - 1) * n, a2: (1 - math.Sqrt2*k + k*k) * n}
}

func (h *highPass) next(v float32) float32 {
	x := float64(v)
	y := h.b0*x + h.z1
	h.z1 = h.b1*x - h.a1*y + h.z2
	h.z2 = h.b2*x - h.a2*y
	return float32(y)
}
