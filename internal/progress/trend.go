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
	rounds   int     // in those points
}

// FailureOf is the share of rounds in which a link fails.
func FailureOf(l LinkName) Quantity { return Quantity(string(l) + " failed") }

// When a trend is claimed. Own: the normal approximation of the test wants ten points; a point wants a handful of values,
// so that one bad round is not a bad session; all trends that are looked at together give a false claim to one player in twenty (Bonferroni).
const (
	trendPoints   = 10
	trendsP       = 0.05
	valuesAPoint  = 5
	monthOfTrends = 28 * 24 * time.Hour
)

// trends of all quantities; points are in order of time.
func trends(points []Point) []Trend {
	list := []Trend{
		trendOf(KnownAnswers, points, func(p Point) (float64, int) { return p.Known.Value, p.Known.Trials }),
		trendOf(FirstTouches, points, func(p Point) (float64, int) { return p.FirstTouch.Value, p.FirstTouch.Trials }),
		trendOf(ResponseTime, points, func(p Point) (float64, int) { return p.Response.Median, p.Response.N }),
		trendOf(CentreOfTake2, points, func(p Point) (float64, int) { return p.Takes[1].CentreCents.Median, p.Takes[1].CentreCents.N }),
		trendOf(SpreadOfTake2, points, func(p Point) (float64, int) { return p.Takes[1].SpreadCents.Median, p.Takes[1].SpreadCents.N }),
	}
	for i, name := range LinkNames {
		t := trendOf(FailureOf(name), points, func(p Point) (float64, int) { return p.Links[i].Value, p.Links[i].Trials })
		if t.Points > 0 {
			list = append(list, t)
		}
	}
	for i := range list {
		t := &list[i]
		t.Claimed = t.Points >= trendPoints && t.rounds >= Least && t.P < trendsP/float64(len(list))
	}
	return list
}

func trendOf(q Quantity, points []Point, value func(Point) (v float64, n int)) Trend {
	var months, values []float64
	t := Trend{Quantity: q, PerMonth: math.NaN(), P: 1}
	for _, p := range points {
		v, n := value(p)
		if n < valuesAPoint {
			continue
		}
		months = append(months, p.From.Sub(points[0].From).Hours()/monthOfTrends.Hours())
		values = append(values, v)
		t.rounds += p.Rounds
	}
	t.Points = len(values)
	if len(values) < 2 {
		return t
	}
	t.PerMonth = stats.TheilSen(months, values).Slope
	test := stats.MannKendall(values)
	t.Z, t.P = test.Z, test.P
	return t
}
