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
	own := slices.Clone(values)
	return Spread{N: len(own), Lower: quantileOf(own, 0.25), Median: quantileOf(own, 0.5), Upper: quantileOf(own, 0.75)}
}

// Median is the middle value, or the mean of the two middle ones; NaN of none.
func Median(values []float64) float64 { return quantileOf(slices.Clone(values), 0.5) }

// quantileOf is Quantile of values in any order, which it reorders. It takes time in proportion to their number: sorting hundreds
// of thousands takes ten times as long.
func quantileOf(values []float64, p float64) float64 {
	n := len(values)
	if n == 0 {
		return math.NaN()
	}
	at := p * float64(n-1)
	i := int(at)
	place(values, i)
	if i == n-1 {
		return values[i]
	}
	return values[i] + (at-float64(i))*(slices.Min(values[i+1:])-values[i])
}

// place reorders values so that the one at k is where sorting would put it, smaller ones stand before it and larger ones behind it:
// Hoare's selection (1961, Communications of the ACM 4, 321), the pivot the middle one of three.
func place(values []float64, k int) {
	const few = 12 // below, sorting is faster
	low, high := 0, len(values)-1
	for high-low > few {
		pivot := middle(values[low], values[low+(high-low)/2], values[high])
		i, j := low, high
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return
		}
	}
	slices.Sort(values[low : high+1])
}

// middle is the middle one of three.
func middle(a, b, c float64) float64 {
	return max(min(a, b), min(max(a, b), c))
}
