package stats

import (
	"math"
	"slices"
)

// Quantile is the value below which a share p, 0 to 1, of the values lies: between two neighbours it is drawn straight
// (type 7). sorted must rise. It is NaN of no values.
func Quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	if n == 0 {
		return math.NaN()
	}
	at := math.Min(math.Max(p, 0), 1) * float64(n-1)
	i := int(at)
	if i == n-1 {
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// Spread is the middle of a list of values and the bounds of its middle half.
type Spread struct {
	N                    int     // how many values
	Lower, Median, Upper float64 // quartiles; NaN where N is 0
}

// Quartiles are those of the values, in any order.
func Quartiles(values []float64) Spread {
	sorted := slices.Sorted(slices.Values(values))
	return Spread{N: len(sorted), Lower: Quantile(sorted, 0.25), Median: Quantile(sorted, 0.5), Upper: Quantile(sorted, 0.75)}
}

// Median is the middle value, or the mean of the two middle ones; NaN of none.
func Median(values []float64) float64 {
	return Quantile(slices.Sorted(slices.Values(values)), 0.5)
}
