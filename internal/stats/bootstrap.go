package stats

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Bootstrap is the 95 % percentile interval of a statistic of the values in all clusters. Whole clusters are drawn, with
// replacement, draws times: values of one cluster (rounds of one session) resemble one another, and single ones would
// promise too narrow an interval. The same seed gives the same interval. Both ends are NaN without clusters or draws.
// statistic may reorder the values it is given, and must not keep them.
func Bootstrap(clusters [][]float64, statistic func([]float64) float64, draws int, seed uint64) (low, high float64) {
	if len(clusters) == 0 || draws <= 0 {
		return math.NaN(), math.NaN()
	}
	rng := rand.New(rand.NewPCG(seed, uint64(len(clusters))))
	results := make([]float64, draws)
	var drawn []float64
	for i := range results {
		drawn = drawn[:0]
		for range clusters {
			drawn = append(drawn, clusters[rng.IntN(len(clusters))]...)
		}
		results[i] = statistic(drawn)
	}
	slices.Sort(results)
	const tail = 0.025
	return Quantile(results, tail), Quantile(results, 1-tail)
}
