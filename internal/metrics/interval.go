package metrics

import "math"

// z95 is the normal quantile of a two-sided 95 % interval.
const z95 = 1.959963984540054

// Wilson is the 95 % interval of a share of hits among trials (Wilson 1927; preferred for small numbers by Newcombe 1998).
// Without trials it is 0 to 1.
func Wilson(hits, trials int) (low, high float64) {
	if trials == 0 {
		return 0, 1
	}
	n := float64(trials)
	p := float64(hits) / n
	z2 := z95 * z95
	centre := (p + z2/(2*n)) / (1 + z2/n)
	half := z95 * math.Sqrt(p*(1-p)/n+z2/(4*n*n)) / (1 + z2/n)
	return math.Max(0, centre-half), math.Min(1, centre+half)
}
