package bleed

import "math"

// WorkRate is the rate in Hz at which bleed is removed and cleaned takes are given back. Voices have their pitch well below 8 kHz.
const WorkRate = 16000

// The resamplers are sincs under a Kaiser window (Kaiser 1974; Crochiere and Rabiner, Multirate Digital Signal Processing, 1983).
const (
	kaiserBeta = 7.0  // stop band below -70 dB
	passShare  = 0.93 // of the lower Nyquist frequency, half amplitude
	rateLobes  = 14   // zero crossings on each side, for a change of rate
	skewLobes  = 20   // zero crossings on each side, for a shift by a part of a sample: flat to 7.2 kHz at 16 kHz
	skewPhases = 1024 // rows of the table between two samples; between rows the filter is interpolated linearly (error below -110 dB)
)

// rateConverter brings one stream to WorkRate. Output sample i lies at i/WorkRate seconds of the input, however the stream
// is cut into blocks. It allocates nothing while blocks are not longer than the one it was made for.
type rateConverter struct {
	from, to int // reduced: from input samples make to output samples
	half     int // input samples on each side that one output sample looks at
	filter   []float64
	history  []float64
	base     int // index in the input of history[0]
	made     int // output samples so far
	identity bool
}

// newRateConverter prepares a stream at rate Hz, given in blocks of at most block samples.
func newRateConverter(rate, block int) *rateConverter {
	g := gcd(rate, WorkRate)
	c := &rateConverter{from: rate / g, to: WorkRate / g, identity: rate == WorkRate}
	if c.identity {
		return c
	}
	width := passShare * math.Min(1, float64(WorkRate)/float64(rate))
	c.half = int(math.Ceil(rateLobes / width))
	taps := 2 * c.half
	c.filter = make([]float64, c.to*taps)
	for phase := range c.to {
		windowedSinc(c.filter[phase*taps:][:taps], float64(phase)/float64(c.to), width, rateLobes)
	}
	c.base = -(c.half - 1)
	c.history = make([]float64, c.half-1, 4*taps+2*block)
	return c
}

// write appends to dst what can be computed once src has been added.
func (c *rateConverter) write(dst []float64, src []float32) []float64 {
	if c.identity {
		for _, v := range src {
			dst = append(dst, float64(v))
		}
		return dst
	}
	for _, v := range src {
		c.history = append(c.history, float64(v))
	}
	taps := 2 * c.half
	for {
		at := c.made * c.from / c.to
		if at+c.half+1 > c.base+len(c.history) {
			break
		}
		row := c.filter[(c.made*c.from%c.to)*taps:][:taps]
		dst = append(dst, dot(row, c.history[at-(c.half-1)-c.base:][:taps]))
		c.made++
	}
	if drop := c.made*c.from/c.to - (c.half - 1) - c.base; drop > 0 {
		drop = min(drop, len(c.history))
		c.history = c.history[:copy(c.history, c.history[drop:])]
		c.base += drop
	}
	return dst
}

// ToWorkRate brings a whole recording at a rate in Hz to WorkRate; the result has its length times the ratio of the rates, rounded down.
func ToWorkRate(samples []float32, rate int) []float64 {
	const piece = 1 << 14
	want := len(samples) * WorkRate / rate
	out := make([]float64, 0, want+piece)
	c := newRateConverter(rate, piece)
	for rest := samples; len(rest) > 0; {
		n := min(piece, len(rest))
		out, rest = c.write(out, rest[:n]), rest[n:]
	}
	for silence := make([]float32, piece); len(out) < want; {
		out = c.write(out, silence)
	}
	return out[:want]
}

// warpTable holds the filters that read a signal between its samples: skewPhases+1 rows of 2*skewLobes taps.
var warpTable = func() []float64 {
	const taps = 2 * skewLobes
	table := make([]float64, (skewPhases+1)*taps)
	for p := range skewPhases + 1 {
		windowedSinc(table[p*taps:][:taps], float64(p)/skewPhases, 1, skewLobes)
	}
	return table
}()

// readAt is x at a place between its samples; outside x it is 0.
func readAt(x []float64, place float64) float64 {
	const taps = 2 * skewLobes
	whole := math.Floor(place)
	start := int(whole) - (skewLobes - 1)
	if start < -taps || start > len(x) {
		return 0
	}
	phase := (place - whole) * skewPhases
	row := int(phase)
	part := phase - float64(row)
	lower, upper := warpTable[row*taps:][:taps], warpTable[min(row+1, skewPhases)*taps:][:taps]
	if start >= 0 && start+taps <= len(x) {
		in := x[start:][:taps]
		return (1-part)*dot(lower, in) + part*dot(upper, in)
	}
	sum := 0.0
	for j := range taps {
		if i := start + j; i >= 0 && i < len(x) {
			sum += ((1-part)*lower[j] + part*upper[j]) * x[i]
		}
	}
	return sum
}

// warp returns n samples: sample i is x at the place (1+skew)*i - delay, in samples.
func warp(x []float64, skew, delay float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = readAt(x, (1+skew)*float64(i)-delay)
	}
	return out
}

// windowedSinc lays out a low pass of a width (1 is the Nyquist frequency) that reads a fraction of a sample after the middle
// of its window, the sample before it being number len(row)/2-1. The taps sum to 1.
func windowedSinc(row []float64, fraction, width float64, lobes int) {
	sum := 0.0
	for j := range row {
		x := (float64(j-(len(row)/2-1)) - fraction) * width
		row[j] = sinc(x) * kaiser(x/float64(lobes))
		sum += row[j]
	}
	for j := range row {
		row[j] /= sum
	}
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
	return bessel0(kaiserBeta*math.Sqrt(1-x*x)) / bessel0(kaiserBeta)
}

// bessel0 is the modified Bessel function I0 by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-14*sum; k++ {
		term *= x / (2 * k) * x / (2 * k)
		sum += term
	}
	return sum
}

func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
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
