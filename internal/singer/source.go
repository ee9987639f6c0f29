package singer

import (
	"math"
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

// pulses returns the stored periods, each one sample longer than pulseLength so that reading between samples needs no wrap.
var pulses = sync.OnceValue(func() *[pulseCount][pulseLength + 1]float64 {
	var table [pulseCount][pulseLength + 1]float64
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

// pulseAt reads the source at phase 0 to 1 of the period, for Rd between the stored ones.
func pulseAt(table *[pulseCount][pulseLength + 1]float64, phase, rd float64) float64 {
	row := clamp((rd-pulseLowest)/pulseStep, 0, pulseCount-1.001)
	r := int(row)
	x := phase * pulseLength
	i := int(x)
	if i >= pulseLength {
		i = pulseLength - 1
	}
	f := x - float64(i)
	lower, upper := &table[r], &table[r+1]
	low := lower[i] + f*(lower[i+1]-lower[i])
	high := upper[i] + f*(upper[i+1]-upper[i])
	return low + (row-float64(r))*(high-low)
}
