package stats

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

// The first three values are computed from Wilson 1927; the last four are examples of Newcombe 1998 (from memory).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		hits, trials int
		low, high    float64
	}{
		{8, 10, .4902, .9433}, {0, 10, 0, .2775}, {10, 10, .7225, 1},
		{81, 263, .2553, .3662}, {15, 148, .0624, .1605}, {0, 20, 0, .1611}, {1, 29, .0061, .1718}, {0, 0, 0, 1},
	} {
		low, high := Wilson(c.hits, c.trials)
		if !near(low, c.low, 5.1e-5) || !near(high, c.high, 5.1e-5) {
			t.Errorf("%d/%d: %.4f to %.4f, want %.4f to %.4f", c.hits, c.trials, low, high, c.low, c.high)
		}
	}
}

// Wilson's ends solve |p - P| = z sqrt(P(1-P)/n), the equation that he starts from.
func TestWilsonSolvesItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 500).Draw(t, "trials")
		k := rapid.IntRange(0, n).Draw(t, "hits")
		z := rapid.Float64Range(0.5, 4).Draw(t, "z")
		p := float64(k) / float64(n)
		low, high := WilsonAt(z, k, n)
		if low > p || p > high {
			t.Fatalf("%d/%d: %g is not in %g to %g", k, n, p, low, high)
		}
		for _, end := range []float64{low, high} {
			if d := math.Abs(p-end) - z*math.Sqrt(math.Max(0, end*(1-end))/float64(n)); !near(d, 0, 1e-7) {
				t.Fatalf("%d/%d at z %g: end %g is off by %g", k, n, z, end, d)
			}
		}
	})
}

// Example (a) of Newcombe 1998, method 10 (from memory), and its mirror image.
func TestShareDifference(t *testing.T) {
	low, high := ShareDifference(Z95, 56, 70, 48, 80)
	if !near(low, .0524, 5.1e-5) || !near(high, .3339, 5.1e-5) {
		t.Errorf("56/70 less 48/80: %.4f to %.4f, want .0524 to .3339", low, high)
	}
	if l, h := ShareDifference(Z95, 48, 80, 56, 70); !near(l, -high, 1e-12) || !near(h, -low, 1e-12) {
		t.Errorf("the other way round: %g to %g", l, h)
	}
	if l, h := ShareDifference(Z95, 3, 4, 0, 0); l != -1 || h != 1 {
		t.Errorf("without trials: %g to %g", l, h)
	}
}

// Quantiles of the normal distribution from any table: 97.5 % 1.959964, 99.5 % 2.575829, 99.75 % 2.807034.
func TestBonferroniZ(t *testing.T) {
	for n, want := range map[int]float64{0: 1.959964, 1: 1.959964, 5: 2.575829, 10: 2.807034} {
		if z := BonferroniZ(n); !near(z, want, 1e-6) {
			t.Errorf("of %d: %.6f, want %.6f", n, z, want)
		}
	}
}

// By the formula of type 7 in Hyndman and Fan 1996: at (n-1)p.
func TestQuartiles(t *testing.T) {
	for _, c := range []struct {
		values []float64
		want   Spread
	}{
		{[]float64{7}, Spread{1, 7, 7, 7}},
		{[]float64{4, 1, 3, 2}, Spread{4, 1.75, 2.5, 3.25}},
		{[]float64{5, 1, 4, 2, 3}, Spread{5, 2, 3, 4}},
	} {
		given := slices.Clone(c.values)
		if got := Quartiles(c.values); got != c.want {
			t.Errorf("%v: %+v, want %+v", c.values, got, c.want)
		}
		if m := Median(c.values); m != c.want.Median {
			t.Errorf("%v: median %g, want %g", c.values, m, c.want.Median)
		}
		if !slices.Equal(given, c.values) {
			t.Errorf("the values were changed to %v", c.values)
		}
	}
	if s := Quartiles(nil); s.N != 0 || !math.IsNaN(s.Median) || !math.IsNaN(s.Lower) {
		t.Errorf("of nothing: %+v", s)
	}
}

// Values are picked out of a heap of them as if they had been sorted.
func TestQuartilesAreThoseOfSortedValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Map(rapid.IntRange(0, 5), func(i int) float64 { return float64(i) })), 1, 300).Draw(t, "values")
		sorted := slices.Sorted(slices.Values(values))
		want := Spread{len(values), Quantile(sorted, 0.25), Quantile(sorted, 0.5), Quantile(sorted, 0.75)}
		if got := Quartiles(values); got != want {
			t.Fatalf("%+v, want %+v", got, want)
		}
	})
}

// outlier is a rising row with one wild value; its results are computed by hand from Theil 1950, Sen 1968 and Kendall 1975.
var outlier = []float64{.50, .55, .52, .60, .63, .95, .66, .70}

func TestTheilSen(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6, 7, 8}
	l := TheilSen(x, outlier)
	if !near(l.Slope, .029286, 5e-7) || !near(l.Intercept, .476786, 5e-7) {
		t.Errorf("%.6f + %.6f x, want .476786 + .029286 x", l.Intercept, l.Slope)
	}
	for _, x := range [][]float64{nil, {3}, {3, 3, 3}} {
		if l := TheilSen(x, make([]float64, len(x))); !math.IsNaN(l.Slope) || !math.IsNaN(l.Intercept) {
			t.Errorf("x = %v gives the line %+v", x, l)
		}
	}
}

// A straight line keeps its slope while more than half of the pairs are untouched, wherever the other points go.
func TestTheilSenWithstandsOutliers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 30).Draw(t, "points")
		slope := rapid.Float64Range(-5, 5).Draw(t, "slope")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], y[i] = float64(i), slope*float64(i)+2
		}
		moved := 0
		for (n-moved-1)*(n-moved-2) > n*(n-1)/2 {
			moved++
		}
		for i := range moved {
			y[(i*7)%n] = rapid.Float64Range(-1e3, 1e3).Draw(t, "wild")
		}
		if l := TheilSen(x, y); !near(l.Slope, slope, 1e-9) {
			t.Fatalf("slope %g, want %g", l.Slope, slope)
		}
	})
}

func TestMannKendall(t *testing.T) {
	for _, c := range []struct {
		values []float64
		s      int
		z      float64
	}{
		{outlier, 22, 2.598},
		{[]float64{1, 1, 1, 1}, 0, 0},
		{nil, 0, 0},
		{[]float64{1}, 0, 0},
		// n = 4 with one pair of ties: variance (4*3*13 - 2*1*9)/18 = 7.667, Z = (5-1)/2.769.
		{[]float64{1, 2, 2, 3}, 5, 1.4446},
	} {
		got := MannKendall(c.values)
		if got.S != c.s || !near(got.Z, c.z, 6e-4) {
			t.Errorf("%v: S %d, Z %.4f; want %d, %.4f", c.values, got.S, got.Z, c.s, c.z)
		}
	}
	// Two-sided P of Z = 2.598 from a table of the normal distribution: 2 (1 - .99531) = .0094.
	if p := MannKendall(outlier).P; !near(p, .0094, 5e-5) {
		t.Errorf("P %.5f, want .0094", p)
	}
}

func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

// The bootstrap distribution of the mean of n single values has the standard error sqrt(sum (x-m)^2)/n, and is nearly
// normal for 200 of them; so its interval is 1.96 of these either side. 4,000 draws place an end of it to about 5 %.
func TestBootstrapOfAMean(t *testing.T) {
	var clusters [][]float64
	var values []float64
	for i := range 200 {
		v := math.Sin(float64(i)) * float64(i%7)
		values = append(values, v)
		clusters = append(clusters, []float64{v})
	}
	m, squares := mean(values), 0.0
	for _, v := range values {
		squares += (v - m) * (v - m)
	}
	half := Z95 * math.Sqrt(squares) / float64(len(values))
	low, high := Bootstrap(clusters, mean, 4000, 1)
	if !near(low, m-half, 0.07*half) || !near(high, m+half, 0.07*half) {
		t.Errorf("%g to %g, want %g to %g", low, high, m-half, m+half)
	}
	if l, h := Bootstrap(clusters, mean, 4000, 1); l != low || h != high {
		t.Error("the same seed gives another interval")
	}
}

// Ten clusters of twenty equal values each hold ten values' worth of knowledge: the interval is as wide as that of ten.
func TestBootstrapDrawsClusters(t *testing.T) {
	var alike, single [][]float64
	for i := range 10 {
		v := float64(i)
		alike = append(alike, slices.Repeat([]float64{v}, 20))
		single = append(single, []float64{v})
	}
	l1, h1 := Bootstrap(alike, mean, 2000, 3)
	l2, h2 := Bootstrap(single, mean, 2000, 3)
	if !near(l1, l2, 1e-9) || !near(h1, h2, 1e-9) {
		t.Errorf("clusters %g to %g, single values %g to %g", l1, h1, l2, h2)
	}
	if l, h := Bootstrap(nil, mean, 100, 1); !math.IsNaN(l) || !math.IsNaN(h) {
		t.Errorf("of nothing: %g to %g", l, h)
	}
}

// Fisher's tea tasting (The Design of Experiments, 1935): 3 of 4 cups right by chance or better in 17 of 70 ways, all of them in 1 of 70.
func TestMoreThan(t *testing.T) {
	for _, c := range []struct {
		hits1, trials1, hits2, trials2 int
		want                           float64
	}{{3, 4, 1, 4, 17.0 / 70}, {4, 4, 0, 4, 1.0 / 70}, {0, 4, 4, 4, 1}, {2, 0, 1, 5, 1}, {2, 5, 1, 0, 1}, {0, 5, 0, 5, 1}} {
		if got := MoreThan(c.hits1, c.trials1, c.hits2, c.trials2); !near(got, c.want, 1e-12) {
			t.Errorf("%d/%d against %d/%d: %g, want %g", c.hits1, c.trials1, c.hits2, c.trials2, got, c.want)
		}
	}
}
