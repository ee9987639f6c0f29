package report

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"larkhand/internal/progress"
	"larkhand/internal/stats"
)

// ProgressPictures draws how the rounds went over time: the share of known answers, the share of notes right at first touch, the
// response time, and the centre of take 2. Every point has its interval: Wilson's for shares, the quartiles for the rest. A line is drawn only for a
// trend that is claimed. A quantity with fewer than two points has no picture. id begins the ids of the pictures.
func ProgressPictures(g progress.Progress, id string) []Picture {
	var out []Picture
	for _, p := range progressPlots(g) {
		if len(p.points) > 1 {
			out = append(out, p.draw(id+"-"+p.name))
		}
	}
	return out
}

// plotPoint is a value between its bounds.
type plotPoint struct {
	at               time.Time
	low, value, high float64
}

// plot is a quantity over time.
type plot struct {
	name   string // for the id
	title  string
	note   string // what the bars are
	points []plotPoint
	top    float64 // of the scale; 0 lets the values say
	scale  float64 // what is written is the value times this
	unit   string
	trend  *progress.Trend // nil where none is claimed
}

func progressPlots(g progress.Progress) []plot {
	const percent = 100
	shares := func(of func(progress.Point) progress.Share) (points []plotPoint) {
		for _, p := range g.Points {
			if s := of(p); s.Trials > 0 {
				points = append(points, plotPoint{p.From, s.Low, s.Value, s.High})
			}
		}
		return
	}
	spreads := func(of func(progress.Point) stats.Spread) (points []plotPoint) {
		for _, p := range g.Points {
			if s := of(p); s.N > 0 {
				points = append(points, plotPoint{p.From, s.Lower, s.Median, s.Upper})
			}
		}
		return
	}
	const wilson, quartiles = "dots: share; bars: 95 % interval (Wilson)", "dots: median; bars: quartiles"
	return []plot{
		{name: "known", title: "Known answers", note: wilson, unit: "%", scale: percent, top: 1, trend: claimed(g, progress.KnownAnswers),
			points: shares(func(p progress.Point) progress.Share { return p.Known })},
		{name: "first", title: "Notes right at first touch", note: wilson, unit: "%", scale: percent, top: 1, trend: claimed(g, progress.FirstTouches),
			points: shares(func(p progress.Point) progress.Share { return p.FirstTouch })},
		{name: "response", title: "Response time", note: quartiles, unit: "s", scale: 1, trend: claimed(g, progress.ResponseTime),
			points: spreads(func(p progress.Point) stats.Spread { return p.Response })},
		{name: "centre", title: "Distance of take 2 from the centre", note: quartiles, unit: "cents", scale: 1, trend: claimed(g, progress.CentreOfTake2),
			points: spreads(func(p progress.Point) stats.Spread { return p.Takes[1].CentreCents })},
	}
}

func claimed(g progress.Progress, q progress.Quantity) *progress.Trend {
	for i := range g.Trends {
		if t := &g.Trends[i]; t.Quantity == q && t.Claimed {
			return t
		}
	}
	return nil
}

// Measures of a plot, px at full size; own, tuned by eye.
const (
	plotWidth  = 440.0
	plotLeft   = 46.0
	plotRight  = 14.0
	plotTop    = 40.0
	plotHeight = 150.0 // of the field
	plotFoot   = 30.0
)

// plotSheet is a plot in the making.
type plotSheet struct {
	pen
	plot
	from, span float64 // s since 1970
	top        float64 // of the scale
}

func (p plot) draw(id string) Picture {
	s := &plotSheet{plot: p, from: seconds1970(p.points[0].at), top: p.top}
	s.span = math.Max(seconds1970(p.points[len(p.points)-1].at)-s.from, 1)
	if s.top == 0 {
		for _, at := range p.points {
			s.top = math.Max(s.top, at.high)
		}
		s.top = math.Max(s.top*1.08, 1e-3)
	}
	s.text("head", 0, 16, p.title)
	s.text("soft", 0, 31, p.caption())
	s.values()
	s.days()
	s.marks()
	s.trendLine()
	frame := sheet{pen: s.pen, width: plotWidth, y: plotTop + plotHeight + plotFoot}
	return Picture{Markup: frame.element(id, p.title, p.description(), ""), Width: plotWidth}
}

func seconds1970(t time.Time) float64 { return float64(t.UnixMilli()) / 1000 }

func (s *plotSheet) x(at float64) float64 {
	const air = 8.0 // px left free beside the first and the last point
	return plotLeft + air + (at-s.from)/s.span*(plotWidth-plotLeft-plotRight-2*air)
}

func (s *plotSheet) yOf(value float64) float64 {
	return plotTop + plotHeight*(1-math.Min(math.Max(value/s.top, 0), 1))
}

// values draws the lines of the scale.
func (s *plotSheet) values() {
	step := niceStep(s.top * s.scale / 4)
	for k := 0.0; k*step <= s.top*s.scale*1.0001; k++ {
		y := s.yOf(k * step / s.scale)
		class := "rule"
		if k == 0 {
			class = "tonic"
		}
		s.line(class, plotLeft, y, plotWidth-plotRight, y)
		text := strconv.FormatFloat(float64(rounded(k*step, 3)), 'f', -1, 64)
		s.text("soft end", plotLeft-6, y+4, text+unitOf(s.unit))
	}
}

// caption says what is drawn, with the unit where the scale has none.
func (p plot) caption() string {
	if unitOf(p.unit) == "" {
		return p.note + "; in " + p.unit
	}
	return p.note
}

// unitOf is the unit beside each number of a scale; long ones stand in the caption.
func unitOf(unit string) string {
	const short = 2
	if len(unit) > short {
		return ""
	}
	return " " + unit
}

// niceStep is 1, 2 or 5 times a power of ten, at least x.
func niceStep(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, nice := range []float64{1, 2, 2.5, 5} {
		if nice*power >= x*0.999 {
			return nice * power
		}
	}
	return 10 * power
}

// days writes the days of the first and the last point, and some between.
func (s *plotSheet) days() {
	const labels = 3 // spaces between labels: four fit the width
	zone := s.points[0].at.Location()
	last := ""
	for i := range labels + 1 {
		at := s.from + s.span*float64(i)/labels
		text := time.Unix(int64(at), 0).In(zone).Format("2 Jan 2006")
		if text == last {
			continue
		}
		last = text
		class := "soft mid"
		switch i {
		case 0:
			class = "soft"
		case labels:
			class = "soft end"
		}
		x := s.x(at)
		s.line("tick", x, plotTop+plotHeight, x, plotTop+plotHeight+4)
		s.text(class, x, plotTop+plotHeight+18, text)
	}
}

func (s *plotSheet) marks() {
	const many, small, large = 40, 2.0, 3.2 // points; px
	radius := large
	if len(s.points) > many {
		radius = small
	}
	for _, p := range s.points {
		x := s.x(seconds1970(p.at))
		s.line("range", x, s.yOf(p.low), x, s.yOf(p.high))
	}
	for _, p := range s.points {
		s.circle("dot", s.x(seconds1970(p.at)), s.yOf(p.value), radius)
	}
}

// trendLine draws the claimed slope through the middle of the points: the median of value less slope times time.
func (s *plotSheet) trendLine() {
	if s.trend == nil {
		return
	}
	const month = 28 * 24 * 3600.0 // s; a trend is told in four weeks
	slope := s.trend.PerMonth / month
	var rests []float64
	for _, p := range s.points {
		rests = append(rests, p.value-slope*(seconds1970(p.at)-s.from))
	}
	start := stats.Median(rests)
	s.line("trend", s.x(s.from), s.yOf(start), s.x(s.from+s.span), s.yOf(start+slope*s.span))
}

// description says in words what a plot shows.
func (p plot) description() string {
	first, last := p.points[0], p.points[len(p.points)-1]
	value := func(v float64) string { return fixed(v*p.scale, 1, "") + " " + p.unit }
	text := fmt.Sprintf("%d points from %s to %s; the first %s, the last %s, all between %s and %s.", len(p.points), first.at.Format(dayLayout), last.at.Format(dayLayout),
		value(first.value), value(last.value), value(p.least()), value(p.most()))
	if p.trend != nil {
		text += " A line shows the trend."
	} else {
		text += " No trend is claimed."
	}
	return text
}

func (p plot) least() float64 {
	least := math.Inf(1)
	for _, at := range p.points {
		least = math.Min(least, at.value)
	}
	return least
}

func (p plot) most() float64 {
	most := math.Inf(-1)
	for _, at := range p.points {
		most = math.Max(most, at.value)
	}
	return most
}
