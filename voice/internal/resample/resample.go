// Package resample changes the rate of a stream of samples.
//
// A Converter is a polyphase low-pass filter, a sinc under a Kaiser window
// (Kaiser 1974; Crochiere and Rabiner, Multirate Digital Signal Processing,
// 1983). It is linear in phase and its delay is taken out: output sample i lies
// at the time i/to seconds of the input. A stream gives the same output
// however it is cut into blocks. Non-goals: rates that change while it runs.
package resample

import (
	"fmt"
	"math"
)

// lobes is the number of zero crossings of the sinc on each side. With this beta the transition reaches 0.2 of the lower Nyquist
// frequency to either side of the cut (Kaiser 1974), and beyond it tones lie below -55 dB (held by the tests).
// stop band starts 8.7 % above the cut and lies below -70 dB (measured in the test).
const (
	lobes = 9
	beta  = 5.65
)

// Converter resamples one stream. Make one by New.
type Converter struct {
	from, to int // reduced: input samples per output samples
	half     int // input samples on each side that one output sample looks at
	taps     int
	filter   []float32 // [phase][taps]
	history  []float32 // input from index base on
	base     int       // index of history[0] in the input, negative before the start
	read     int       // input samples taken so far
	made     int       // output samples made so far
	identity bool
}

// New gives a converter between two rates in Hz. cut is where the pass band
// ends (half amplitude), as a share of the lower of the two Nyquist frequencies.
func New(fromRate, toRate int, cut float64) *Converter {
	if fromRate <= 0 || toRate <= 0 || !(cut > 0 && cut <= 1) {
		panic(fmt.Sprintf("resample: rates %d and %d Hz, cut %g: want positive rates and a cut in (0, 1]", fromRate, toRate, cut))
	}
	g := gcd(fromRate, toRate)
	c := &Converter{from: fromRate / g, to: toRate / g, identity: fromRate == toRate}
	if c.identity {
		return c
	}
	// bandwidth of the low pass relative to the input's Nyquist frequency
	width := cut * math.Min(1, float64(toRate)/float64(fromRate))
	c.half = int(math.Ceil(lobes / width))
	c.taps = 2 * c.half
	c.filter = make([]float32, c.to*c.taps)
	for phase := range c.to {
		c.fillPhase(c.filter[phase*c.taps:][:c.taps], float64(phase)/float64(c.to), width)
	}
	c.base = -(c.half - 1)
	c.history = make([]float32, c.half-1, 8192)
	return c
}

// fillPhase lays out the filter for an output sample that lies a fraction of an
// input sample after input sample half-1 of its window; its sum is 1.
func (c *Converter) fillPhase(row []float32, fraction, width float64) {
	sum := 0.0
	h := make([]float64, len(row))
	for j := range h {
		x := (float64(j-(c.half-1)) - fraction) * width
		h[j] = sinc(x) * kaiser(x/lobes)
		sum += h[j]
	}
	for j, v := range h {
		row[j] = float32(v / sum)
	}
}

// Write appends to dst what can be computed once src has been added to the stream.
func (c *Converter) Write(dst, src []float32) []float32 {
	c.read += len(src)
	if c.identity {
		c.made += len(src)
		return append(dst, src...)
	}
	c.history = append(c.history, src...)
	for {
		at := c.made * c.from / c.to // input sample at or before this output
		end := at + c.half + 1
		if end > c.base+len(c.history) {
			break
		}
		row := c.filter[(c.made*c.from%c.to)*c.taps:][:c.taps]
		dst = append(dst, dot(row, c.history[at-(c.half-1)-c.base:][:c.taps]))
		c.made++
	}
	if drop := c.made*c.from/c.to - (c.half - 1) - c.base; drop > 0 {
		drop = min(drop, len(c.history))
		c.history = c.history[:copy(c.history, c.history[drop:])]
		c.base += drop
	}
	return dst
}

// Finish appends the rest, as if silence followed: in all, input length times
// the ratio of the rates, rounded down. The converter is of no use afterwards.
func (c *Converter) Finish(dst []float32) []float32 {
	want := c.read*c.to/c.from - c.made
	if c.identity || want <= 0 {
		return dst
	}
	start := len(dst)
	return c.Write(dst, make([]float32, c.taps+c.from))[:start+want]
}

func dot(a, b []float32) float32 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float32
	i := 0
	for ; i+4 <= len(a); i += 4 {
		x, y := a[i:i+4:i+4], b[i:i+4:i+4]
		s0 += x[0] * y[0]
		s1 += x[1] * y[1]
		s2 += x[2] * y[2]
		s3 += x[3] * y[3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return s0 + s1 + s2 + s3
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is the window at x in [-1, 1], 0 outside.
func kaiser(x float64) float64 {
	if x < -1 || x > 1 {
		return 0
	}
	return bessel0(beta*math.Sqrt(1-x*x)) / bessel0(beta)
}

// bessel0 is the modified Bessel function I0 by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= x / (2 * k) * x / (2 * k)
		sum += term
	}
	return sum
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
