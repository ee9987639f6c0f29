package progress

import (
	"math"
	"time"

	"larkhand/internal/stats"
)

// Quantity is what a trend is about.
type Quantity string

// The quantities.
const (
	KnownAnswers  Quantity = "known answers"
	FirstTouches  Quantity = "notes at first touch"
	ResponseTime  Quantity = "response time"
	CentreOfTake2 Quantity = "centre of take 2"
	SpreadOfTake2 Quantity = "spread of take 2"
)

// Trend is how a quantity moves over time.
type Trend struct {
	Quantity Quantity
	Points   int     // with enough rounds to have a say
	PerMonth float64 // Theil-Sen slope in 28 days: share 0 to 1, s or cents; NaN where fewer than two points
	Z, P     float64 // Mann-Kendall
	Claimed  bool    // there are points enough and chance is no good explanation
}

// When a trend is claimed. Own: the normal approximation of the test wants ten points; a point wants a handful of values,
// so that one bad round is not a bad session; five trends at 1 % give a false claim to one player in twenty.
const (
	trendPoints   = 10
	trendP        = 0.01
	valuesAPoint  = 5
	monthOfTrends = 28 * 24 * time.Hour
)

// trends of all quantities; points are in order of time.
func trends(points []Point) []Trend {
	return []Trend{
		trendOf(KnownAnswers, points, func(p Point) (float64, int) { return p.Known.Value, p.Known.Trials }),
		trendOf(FirstTouches, points, func(p Point) (float64, int) { return p.FirstTouch.Value, p.FirstTouch.Trials }),
		trendOf(ResponseTime, points, func(p Point) (float64, int) { return p.Response.Median, p.Response.N }),
		trendOf(CentreOfTake2, points, func(p Point) (float64, int) { return p.Takes[1].CentreCents.Median, p.Takes[1].CentreCents.N }),
		trendOf(SpreadOfTake2, points, func(p Point) (float64, int) { return p.Takes[1].SpreadCents.Median, p.Takes[1].SpreadCents.N }),
	}
}

func trendOf(q Quantity, points []Point, value func(Point) (v float64, n int)) Trend {
	var months, values []float64
	rounds := 0
	for _, p := range points {
		v, n := value(p)
		if n < valuesAPoint {
			continue
		}
		months = append(months, p.From.Sub(points[0].From).Hours()/monthOfTrends.Hours())
		values = append(values, v)
		rounds += p.Rounds
	}
	t := Trend{Quantity: q, Points: len(values), PerMonth: math.NaN(), P: 1}
	if len(values) < 2 {
		return t
	}
	t.PerMonth = stats.TheilSen(months, values).Slope
	test := stats.MannKendall(values)
	t.Z, t.P = test.Z, test.P
	t.Claimed = t.Points >= trendPoints && rounds >= Least && t.P < trendP
	return t
}
