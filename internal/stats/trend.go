package stats

import (
	"fmt"
	"math"
	"slices"
)

// Line is y = Intercept + Slope x.
type Line struct{ Slope, Intercept float64 }

// TheilSen is the line whose slope is the median of the slopes between all pairs of points with different x, and whose
// intercept is the median of y - slope x. Up to 29.3 % of the points may be anything. Both are NaN where no two x
// differ. It panics where x and y differ in length.
func TheilSen(x, y []float64) Line {
	if len(x) != len(y) {
		panic(fmt.Sprintf("stats: %d x and %d y", len(x), len(y)))
	}
	var slopes []float64
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	if len(slopes) == 0 {
		return Line{math.NaN(), math.NaN()}
	}
	slices.Sort(slopes)
	slope := Quantile(slopes, 0.5)
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - slope*x[i]
	}
	return Line{slope, Median(rest)}
}

// Trend is what the rank test for a trend says of values in the order of time.
type Trend struct {
	S int     // pairs that rise less pairs that fall
	Z float64 // S, corrected for continuity, in standard deviations of S without a trend; 0 where all values are equal
	P float64 // two-sided: how often values without a trend look at least this much like one
}

// MannKendall tests values for a trend. The normal approximation is good from ten values on (Kendall 1975).
func MannKendall(values []float64) Trend {
	n := len(values)
	s := 0
	for i := range values {
		for j := range i {
			switch {
			case values[i] > values[j]:
				s++
			case values[i] < values[j]:
				s--
			}
		}
	}
	variance := pairVariance(n)
	sorted := slices.Sorted(slices.Values(values))
	for from := 0; from < n; {
		to := from
		for to < n && sorted[to] == sorted[from] {
			to++
		}
		variance -= pairVariance(to - from)
		from = to
	}
	t := Trend{S: s, P: 1}
	if s == 0 || variance <= 0 {
		return t
	}
	t.Z = (float64(s) - math.Copysign(1, float64(s))) / math.Sqrt(variance)
	t.P = math.Erfc(math.Abs(t.Z) / math.Sqrt2)
	return t
}

// pairVariance is the variance of S among n values without ties, and what n tied ones take away from it.
func pairVariance(n int) float64 {
	f := float64(n)
	return f * (f - 1) * (2*f + 5) / 18
}
