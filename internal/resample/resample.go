// Package resample changes the rate of a stream of samples, and reads signals between their samples.
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
	"slices"
)

// Sample is what signals are made of. Filters are kept and sums are taken in the type of the output.
type Sample interface{ float32 | float64 }

// Kernel is the sinc under its window.
type Kernel struct {
	// Lobes is the number of zero crossings of the sinc on each side: the more, the narrower the transition.
	Lobes int
	// Beta of the Kaiser window: the higher, the deeper the stop band and the wider the transition.
	Beta float64
}

// The kernels in use.
var (
	// Short: the transition reaches 0.2 of the lower Nyquist frequency to either side of the cut (Kaiser 1974), and beyond it tones lie
	// below -55 dB (held by the tests).
	Short = Kernel{Lobes: 9, Beta: 5.65}
	// Long has its stop band below -70 dB.
	Long = Kernel{Lobes: 14, Beta: 7}
)

// Converter resamples one stream. Make one by New.
type Converter[In, Out Sample] struct {
	from, to int // reduced: input samples per output samples
	half     int // input samples on each side that one output sample looks at
	taps     int
	filter   []Out // [phase][taps]
	history  []Out // input from index base on
	base     int   // index of history[0] in the input, negative before the start
	read     int   // input samples taken so far
	made     int   // output samples made so far
	identity bool
}

// New gives a converter between two rates in Hz. cut is where the pass band
// ends (half amplitude), as a share of the lower of the two Nyquist frequencies. A stream in blocks of at most block samples is
// converted without allocation.
func New[In, Out Sample](fromRate, toRate int, cut float64, kernel Kernel, block int) *Converter[In, Out] {
	if fromRate <= 0 || toRate <= 0 || !(cut > 0 && cut <= 1) || block < 1 {
		panic(fmt.Sprintf("resample: rates %d and %d Hz, cut %g, blocks of %d: want positive rates and blocks and a cut in (0, 1]", fromRate, toRate, cut, block))
	}
	g := gcd(fromRate, toRate)
	c := &Converter[In, Out]{from: fromRate / g, to: toRate / g, identity: fromRate == toRate}
	if c.identity {
		return c
	}
	// bandwidth of the low pass relative to the input's Nyquist frequency
	width := cut * math.Min(1, float64(toRate)/float64(fromRate))
	c.half = int(math.Ceil(float64(kernel.Lobes) / width))
	c.taps = 2 * c.half
	c.filter = make([]Out, c.to*c.taps)
	row := make([]float64, c.taps)
	for phase := range c.to {
		kernel.fill(row, float64(phase)/float64(c.to), width)
		for j, v := range row {
			c.filter[phase*c.taps+j] = Out(v)
		}
	}
	c.base = -(c.half - 1)
	c.history = make([]Out, c.half-1, 2*c.taps+c.from+2*block)
	return c
}

// Write appends to dst what can be computed once src has been added to the stream.
func (c *Converter[In, Out]) Write(dst []Out, src []In) []Out {
	c.read += len(src)
	if c.identity {
		c.made += len(src)
		for _, v := range src {
			dst = append(dst, Out(v))
		}
		return dst
	}
	n := len(c.history)
	c.history = slices.Grow(c.history, len(src))[:n+len(src)]
	for i, v := range src {
		c.history[n+i] = Out(v)
	}
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
func (c *Converter[In, Out]) Finish(dst []Out) []Out {
	want := c.read*c.to/c.from - c.made
	if c.identity || want <= 0 {
		return dst
	}
	start := len(dst)
	return c.Write(dst, make([]In, c.taps+c.from))[:start+want]
}

// Whole converts a whole recording.
func Whole[In, Out Sample](samples []In, fromRate, toRate int, cut float64, kernel Kernel) []Out {
	const piece = 1 << 14
	c := New[In, Out](fromRate, toRate, cut, kernel, piece)
	out := make([]Out, 0, len(samples)*c.to/c.from+piece)
	for len(samples) > 0 {
		n := min(piece, len(samples))
		out, samples = c.Write(out, samples[:n]), samples[n:]
	}
	return c.Finish(out)
}

// fill lays out a low pass of a width (1 is the Nyquist frequency) that reads a fraction of a sample after the middle
// of its window, the sample before it being number len(row)/2-1. The taps sum to 1.
func (k Kernel) fill(row []float64, fraction, width float64) {
	sum := 0.0
	for j := range row {
		x := (float64(j-(len(row)/2-1)) - fraction) * width
		row[j] = Sinc(x) * k.window(x/float64(k.Lobes))
		sum += row[j]
	}
	for j := range row {
		row[j] /= sum
	}
}

// Sinc is sin(pi x)/(pi x), and 1 at 0.
func Sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// window is the Kaiser window at x in [-1, 1], 0 outside.
func (k Kernel) window(x float64) float64 {
	if x < -1 || x > 1 {
		return 0
	}
	return bessel0(k.Beta*math.Sqrt(1-x*x)) / bessel0(k.Beta)
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

func dot[T Sample](a, b []T) T {
	b = b[:len(a)]
	var s0, s1, s2, s3 T
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

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
