package stats_test

import (
	"fmt"

	"larkhand/internal/stats"
)

func Example() {
	low, high := stats.Wilson(8, 10)
	fmt.Printf("8 of 10: %.0f to %.0f %%\n", 100*low, 100*high)
	weeks := []float64{1, 2, 3, 4, 5, 6, 7, 8}
	seconds := []float64{2.4, 2.2, 2.3, 2.0, 1.9, 4.5, 1.7, 1.6}
	line := stats.TheilSen(weeks, seconds)
	fmt.Printf("%+.2f s a week, P = %.3f\n", line.Slope, stats.MannKendall(seconds).P)
	// Output:
	// 8 of 10: 49 to 94 %
	// -0.10 s a week, P = 0.063
}
