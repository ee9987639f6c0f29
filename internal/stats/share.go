package stats

import "math"

// Z95 is the normal quantile of a two-sided 95 % interval.
const Z95 = 1.959963984540054

// Wilson is the 95 % interval of a share of hits among trials. Without trials it is 0 to 1.
func Wilson(hits, trials int) (low, high float64) {
	return WilsonAt(Z95, hits, trials)
}

// WilsonAt is [Wilson] for the normal quantile z.
func WilsonAt(z float64, hits, trials int) (low, high float64) {
	if trials == 0 {
		return 0, 1
	}
	n := float64(trials)
	p := float64(hits) / n
	z2 := z * z
	centre := (p + z2/(2*n)) / (1 + z2/n)
	half := z * math.Sqrt(p*(1-p)/n+z2/(4*n*n)) / (1 + z2/n)
	return math.Max(0, math.Min(p, centre-half)), math.Min(1, math.Max(p, centre+half)) // p may stand outside by a rounding error
}

// ShareDifference is the interval, at the normal quantile z, of the first share less the second one. It is -1 to 1 where
// one of them has no trials.
func ShareDifference(z float64, hits1, trials1, hits2, trials2 int) (low, high float64) {
	if trials1 == 0 || trials2 == 0 {
		return -1, 1
	}
	p1, p2 := float64(hits1)/float64(trials1), float64(hits2)/float64(trials2)
	l1, u1 := WilsonAt(z, hits1, trials1)
	l2, u2 := WilsonAt(z, hits2, trials2)
	d := p1 - p2
	return d - math.Hypot(p1-l1, u2-p2), d + math.Hypot(u1-p1, p2-l2)
}

// BonferroniZ is the normal quantile at which each of n two-sided 95 % intervals must stand for all of them to hold
// together with 95 %. n below 1 counts as 1.
func BonferroniZ(n int) float64 {
	const alpha = 0.05
	return math.Sqrt2 * math.Erfinv(1-alpha/float64(max(n, 1)))
}

// MoreThan is the chance, by Fisher's exact test, that of two groups alike the first one has so many hits or more, given the hits of both
// together. It is 1 where one of them has no trials.
func MoreThan(hits1, trials1, hits2, trials2 int) float64 {
	if trials1 == 0 || trials2 == 0 {
		return 1
	}
	hits, trials := hits1+hits2, trials1+trials2
	sum := 0.0
	for k := hits1; k <= min(hits, trials1); k++ {
		sum += math.Exp(logChoose(trials1, k) + logChoose(trials2, hits-k) - logChoose(trials, hits))
	}
	return math.Min(sum, 1)
}

// logChoose is the logarithm of the number of ways to choose k of n; minus infinity where there is none.
func logChoose(n, k int) float64 {
	if k < 0 || k > n {
		return math.Inf(-1)
	}
	factorial := func(n int) float64 { x, _ := math.Lgamma(float64(n + 1)); return x }
	return factorial(n) - factorial(k) - factorial(n-k)
}
