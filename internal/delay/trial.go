package delay

import (
	"fmt"
	"math"
	"slices"
)

const (
	// Agreement is within how many seconds two series must agree.
	Agreement = 0.002
	// strikesAgree is the same within a series of strikes: fingers and keys differ (own choice).
	strikesAgree = 0.008
	// enough is the share of a series that must agree (own choice: two thirds).
	enough = 2.0 / 3
	// mostSeries is how often it is tried (own choice).
	mostSeries = 5
	// inARow is how many series in a row must agree, or fail for one reason for which going on does not help.
	inARow = 2
	// silentLevel is the level, dBFS, below which no open microphone lies (as in package practice).
	silentLevel = -75.0
	// clipLevel and clipRun tell clipped sound (as in package soundfile).
	clipLevel = 0.999
	clipRun   = 3 // samples
)

// Fault is why a series gives no delay.
type Fault int

// The faults.
const (
	None     Fault = iota
	Silent         // the microphone gives next to nothing
	Unheard        // too few were heard
	Clipped        // too few were heard, and the sound is clipped
	Unsteady       // those that were heard do not agree
)

// Series is what one series of chirps or strikes gave.
type Series struct {
	Arrivals []Arrival
	Within   float64 // s; so close must they lie together
	Level    float64 // dBFS of the whole recording
	Clipped  bool
}

// ListenForChirps looks for a series of chirps, as Find does.
func ListenForChirps(recorded []float32, rate int, sent []int) Series {
	return heard(recorded, Find(recorded, rate, sent), Agreement)
}

// ListenForStrikes looks for a series of strikes, as Strikes does.
func ListenForStrikes(recorded []float32, rate int, messages []float64) Series {
	return heard(recorded, Strikes(recorded, rate, messages), strikesAgree)
}

func heard(recorded []float32, arrivals []Arrival, within float64) Series {
	s := Series{Arrivals: arrivals, Within: within}
	sum, run := 0.0, 0
	for i, x := range recorded {
		sum += float64(x) * float64(x)
		if math.Abs(float64(x)) < clipLevel {
			run = 0
			continue
		}
		if i > 0 && x != recorded[i-1] {
			run = 0
		}
		run++
		s.Clipped = s.Clipped || run >= clipRun
	}
	s.Level = 10 * math.Log10(sum/math.Max(1, float64(len(recorded)))+1e-12)
	return s
}

// Estimate gives the median of the largest group that lies close enough together, how far that reaches from end to end (s), and how many were heard at all.
func (s Series) Estimate() (seconds, spread float64, heard int, fault Fault) {
	var found []float64
	for _, a := range s.Arrivals {
		if !math.IsNaN(a.Seconds) {
			found = append(found, a.Seconds)
		}
	}
	slices.Sort(found)
	need := int(math.Ceil(enough * float64(len(s.Arrivals))))
	if len(found) < max(need, 1) {
		return math.NaN(), math.NaN(), len(found), s.whyUnheard()
	}
	group := closest(found, s.Within)
	if len(group) < need {
		return math.NaN(), found[len(found)-1] - found[0], len(found), Unsteady
	}
	return median(group), group[len(group)-1] - group[0], len(found), None
}

func (s Series) whyUnheard() Fault {
	switch {
	case s.Level < silentLevel:
		return Silent
	case s.Clipped:
		return Clipped
	}
	return Unheard
}

// closest is the largest group of rising values within a distance; of several the one that is closest together.
func closest(rising []float64, within float64) (best []float64) {
	for i := range rising {
		j := i
		for j < len(rising) && rising[j]-rising[i] <= within {
			j++
		}
		group := rising[i:j]
		if len(group) > len(best) || len(group) == len(best) && group[len(group)-1]-group[0] < best[len(best)-1]-best[0] {
			best = group
		}
	}
	return best
}

func median(rising []float64) float64 {
	n := len(rising)
	return (rising[(n-1)/2] + rising[n/2]) / 2
}

// Result is a delay that was found twice in a row.
type Result struct {
	Seconds float64 // the delay
	Spread  float64 // s from the least to the largest of those that agree, over both series
	Series  int     // that it took
}

// Trial gathers series until two in a row agree.
type Trial struct {
	series []Series
	result Result
	ok     bool
}

// Add takes a series and says whether the trial is over.
func (t *Trial) Add(s Series) (over bool) {
	t.series = append(t.series, s)
	if n := len(t.series); n >= inARow {
		before := t.series[n-inARow]
		t.ok = t.agree(before, s)
		return t.ok || n >= mostSeries || hopeless(before, s)
	}
	return false
}

// agree judges two series together.
func (t *Trial) agree(a, b Series) bool {
	x, spreadX, _, faultX := a.Estimate()
	y, spreadY, _, faultY := b.Estimate()
	if faultX != None || faultY != None || math.Abs(x-y) > Agreement {
		return false
	}
	apart := math.Abs(x - y)
	t.result = Result{Seconds: (x + y) / 2, Spread: math.Max(apart, math.Max(spreadX, spreadY)), Series: len(t.series)}
	return true
}

// hopeless says whether two series failed for a reason that another series does not mend.
func hopeless(a, b Series) bool {
	_, _, _, x := a.Estimate()
	_, _, _, y := b.Estimate()
	return x == y && (x == Silent || x == Unheard || x == Clipped)
}

// Result gives the delay; ok is false where there is none.
func (t *Trial) Result() (r Result, ok bool) { return t.result, t.ok }

// Series gives the series so far.
func (t *Trial) Series() []Series { return t.series }

// Why says in one sentence why there is no delay and what would help; "" where there is one or nothing was tried. what is that which was listened for: "clicks".
func (t *Trial) Why(what string) string {
	if t.ok || len(t.series) == 0 {
		return ""
	}
	last := t.series[len(t.series)-1]
	_, spread, heard, fault := last.Estimate()
	switch fault {
	case Silent:
		return fmt.Sprintf("the microphone is silent (%.0f dBFS): switch it on, choose another, or turn its input level up", last.Level)
	case Unheard:
		return fmt.Sprintf("only %d of %d %s were heard: bring the microphone nearer, turn both up a little, or wait until the room is quiet", heard, len(last.Arrivals), what)
	case Clipped:
		return fmt.Sprintf("the microphone is clipped and only %d of %d %s were heard: turn its input level down", heard, len(last.Arrivals), what)
	case Unsteady:
		return fmt.Sprintf("the %s were heard at delays that lie %.0f ms apart: the sound system drops or repeats sound, or something else in the room makes such sounds; end other programs that use it and try again", what, 1000*spread)
	}
	return fmt.Sprintf("the delay did not stay the same within %.0f ms from one series to the next (%s): wireless devices do that; try a cable", 1000*Agreement, t.estimates())
}

// estimates lists what the series gave.
func (t *Trial) estimates() (text string) {
	for i, s := range t.series {
		if i > 0 {
			text += ", "
		}
		if seconds, _, _, fault := s.Estimate(); fault == None {
			text += fmt.Sprintf("%.1f ms", 1000*seconds)
		} else {
			text += "none"
		}
	}
	return text
}
