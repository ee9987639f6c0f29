package singer

import (
	"math"
	"math/rand/v2"
	"sync"
)

// The glottal source: the derivative of glottal flow over one period, by the LF model (Fant, Liljencrants and Lin 1985), for a
// ladder of values of Rd (Fant 1995, equations 2 to 4: Ra, Rk, Rg from Rd; from memory).
const (
	pulseLength = 2048 // samples of a stored period: the seventh of a return phase at Rd 0.3 still has 9
	pulseLowest = 0.3  // Rd of the first stored pulse
	pulseStep   = 0.15 // Rd between stored pulses
	pulseCount  = 17   // up to Rd 2.7, the end of Fant's range
)

// pulseTable holds the stored periods, each one sample longer than pulseLength so that reading between samples needs no wrap.
type pulseTable [pulseCount][pulseLength + 1]float64

// pulses returns the stored periods.
var pulses = sync.OnceValue(func() *pulseTable {
	var table pulseTable
	for i := range table {
		fillPulse(table[i][:], pulseLowest+pulseStep*float64(i))
	}
	return &table
})

// openPart is the part of a period in which the glottis is open, te of the LF model, by Rd.
func openPart(rd float64) float64 {
	_, rk, rg := shapeParameters(rd)
	return (1 + rk) / (2 * rg)
}

// shapeParameters returns Ra, Rk and Rg of Fant (1995) for Rd.
func shapeParameters(rd float64) (ra, rk, rg float64) {
	ra = (-1 + 4.8*rd) / 100
	rk = (22.4 + 11.8*rd) / 100
	rg = rk / (4 * (0.11*rd/(0.5+1.2*rk) - ra))
	return ra, rk, rg
}

// fillPulse writes one period, scaled to unit RMS.
func fillPulse(dst []float64, rd float64) {
	ra, _, rg := shapeParameters(rd)
	te := openPart(rd)
	w := 2 * math.Pi * rg
	rest := 1 - te
	// The return phase meets zero at the end of the period: epsilon*ta = 1 - exp(-epsilon*(1-te)).
	eps := 1 / ra
	for range 100 {
		eps = (1 - math.Exp(-eps*rest)) / ra
	}
	floor := math.Exp(-eps * rest)
	returned := -1 / (eps * ra) * ((1-floor)/eps - rest*floor)
	// The flow comes back to zero: bisect the growth so that both parts cancel.
	growth := func(a float64) float64 {
		open := ((a*math.Sin(w*te) - w*math.Cos(w*te)) + w*math.Exp(-a*te)) / (a*a + w*w)
		return -open/math.Sin(w*te) + returned
	}
	low, high := -50.0, 200.0
	for range 80 {
		middle := (low + high) / 2
		if growth(middle)*growth(high) <= 0 {
			low = middle
		} else {
			high = middle
		}
	}
	a := (low + high) / 2
	power := 0.0
	n := len(dst) - 1
	for i := range dst {
		t := float64(i) / float64(n)
		if t <= te {
			dst[i] = -math.Exp(a*(t-te)) * math.Sin(w*t) / math.Sin(w*te)
		} else {
			dst[i] = -1 / (eps * ra) * (math.Exp(-eps*(t-te)) - floor)
		}
		if i < n {
			power += dst[i] * dst[i]
		}
	}
	scale := 1 / math.Sqrt(power/float64(n))
	for i := range dst {
		dst[i] *= scale
	}
}

// row returns the stored pulse below Rd and how far Rd lies towards the next one.
func row(rd float64) (int, float64) {
	x := clamp((rd-pulseLowest)/pulseStep, 0, pulseCount-1.001)
	return int(x), x - math.Floor(x)
}

// at reads the source at phase 0 to 1 of the period, between two stored pulses.
func (p *pulseTable) at(phase float64, r int, part float64) float64 {
	x := phase * pulseLength
	i := min(int(x), pulseLength-1)
	f := x - float64(i)
	lower, upper := &p[r], &p[r+1]
	low := lower[i] + f*(lower[i+1]-lower[i])
	high := upper[i] + f*(upper[i+1]-upper[i])
	return low + part*(high-low)
}

// harmonicCount is how many harmonics count for the level: at 41 Hz they reach 5.2 kHz.
const harmonicCount = 128

// harmonics returns the Fourier coefficients of the stored pulses: [Rd][k-1] is the complex amplitude of harmonic k.
var harmonics = sync.OnceValue(func() *[pulseCount][harmonicCount]complex128 {
	var turn [pulseLength]complex128
	for i := range turn {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / pulseLength)
		turn[i] = complex(cos, -sin)
	}
	var table [pulseCount][harmonicCount]complex128
	for r := range table {
		for k := range table[r] {
			sum := complex128(0)
			for i, x := range pulses()[r][:pulseLength] {
				sum += complex(x, 0) * turn[(k+1)*i%pulseLength]
			}
			table[r][k] = sum * complex(2.0/pulseLength, 0)
		}
	}
	return &table
})

// effort is what the singer does at one moment.
type effort struct {
	hz       float64 // fundamental
	voice    float64 // amplitude of the glottal source
	rd       float64 // shape of the pulse
	breath   float64 // amplitude of aspiration, as a source
	friction float64 // RMS of friction, as sound
	centreHz float64 // of friction
	bandHz   float64 // of friction
}

// Noise of the source.
const (
	noiseRate     = 16000.0 // Hz, noise has unit variance in half of this bandwidth, whatever the rate
	breathClosed  = 0.25    // level of breath noise while the glottis is closed, relative to the open peak; own
	largestJitter = 3.0     // standard deviations
)

// noiseScale makes white noise of the same density at each rate.
func noiseScale(rate float64) float64 { return math.Sqrt(rate / noiseRate) }

// white returns uniform noise of unit variance.
func white(random *rand.PCG) float64 {
	const unit = 1.7320508075688772 / (1 << 52) // sqrt(3): uniform on -sqrt(3) to sqrt(3) has variance 1
	return (float64(random.Uint64()>>11) - (1 << 52)) * unit
}

// glottis makes the source: pulses with jitter and shimmer, and breath noise.
type glottis struct {
	rate                  float64
	table                 *pulseTable
	phase, stretch, swell float64 // of the running period: phase 0 to 1, speed and level factors
	jitter, shimmerDB     float64
	breathRatio           float64
	random                *rand.PCG
	normal                *rand.Rand
}

func newGlottis(v Voice, rate float64, random *rand.PCG) *glottis {
	return &glottis{rate: rate, table: pulses(), stretch: 1, swell: 1, jitter: v.JitterRatio, shimmerDB: v.ShimmerDB,
		breathRatio: fromDB(v.BreathDB), random: random, normal: rand.New(random)}
}

// run fills dst while the effort moves in a straight line from one moment to the next, a tick later.
func (g *glottis) run(dst []float64, from, to effort) {
	open := openPart(from.rd)
	r, part := row(from.rd)
	scale := noiseScale(g.rate)
	e, n := from, tick*g.rate
	hzStep, voiceStep, breathStep := (to.hz-from.hz)/n, (to.voice-from.voice)/n, (to.breath-from.breath)/n
	for i := range dst {
		g.phase += e.hz / g.rate * g.stretch
		if g.phase >= 1 {
			g.phase--
			g.newPeriod()
		}
		x := e.voice * g.swell * g.table.at(g.phase, r, part)
		if e.voice > 0 || e.breath > 0 {
			x += (e.voice*g.breathRatio*breathPart(g.phase, open) + e.breath) * scale * white(g.random)
		}
		dst[i] = x
		e.hz += hzStep
		e.voice += voiceStep
		e.breath += breathStep
	}
}

// newPeriod draws the length and level of the next glottal period.
func (g *glottis) newPeriod() {
	if g.jitter > 0 {
		g.stretch = 1 / (1 + g.jitter*clamp(g.normal.NormFloat64(), -largestJitter, largestJitter))
	}
	if g.shimmerDB > 0 {
		g.swell = fromDB(g.shimmerDB * clamp(g.normal.NormFloat64(), -largestJitter, largestJitter))
	}
}

// breathPart is the level of breath noise at a phase: a parabola over the open part of the period.
func breathPart(phase, open float64) float64 {
	if phase >= open {
		return breathClosed
	}
	x := phase / open
	return breathClosed + (1-breathClosed)*4*x*(1-x)
}
