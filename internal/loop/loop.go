package loop

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"larkhand/internal/music"
)

// Tempos that a loop can have, quarter notes a minute. Beyond them a typing mistake is likelier than music (own choice).
const (
	MinTempo = 20.0
	MaxTempo = 400.0
)

// boundary is how close before a bar or part of one a moment counts as its start, in bars. It is far above the rounding error of a
// float64 in a session of days, and far below anything audible: 0.25 microseconds in a bar of 2.5 s.
const boundary = 1e-7

// tooManyBars is how many bars a loop is followed: beyond, a float64 cannot tell moments apart that lie a boundary apart.
const tooManyBars = 1e8

const secondsPerMinute = 60

// Loop is a chart that is played round and round at one tempo. Make one with New.
type Loop struct {
	Chart  music.Chart
	Tempo  float64 // quarter notes a minute, MinTempo to MaxTempo
	Starts float64 // s on the clock when bar 1 of the first time through starts
}

// Position is a moment counted as musicians count: everything starts at 1.
type Position struct {
	Chorus int     // time through the chart
	Bar    int     // bar of the chart
	Beat   float64 // 1 up to but not including Beats+1 of the meter; 2.5 is half way from beat 2 to beat 3
}

// New checks its parts and makes a loop.
func New(chart music.Chart, tempo, starts float64) (Loop, error) {
	switch {
	case len(chart.Bars) == 0:
		return Loop{}, errors.New("a loop needs a chart of at least one bar")
	case slices.ContainsFunc(chart.Bars, func(b music.Bar) bool { return len(b.Chords) == 0 }):
		return Loop{}, errors.New("a bar of the loop is empty; give it a chord, or N.C. for none")
	case !chart.Meter.Valid():
		return Loop{}, fmt.Errorf("a loop cannot be in %s; 4/4 or 3/4 would work", chart.Meter)
	case !(tempo >= MinTempo && tempo <= MaxTempo):
		return Loop{}, fmt.Errorf("a tempo of %g does not work; give %g to %g quarter notes a minute", tempo, MinTempo, MaxTempo)
	case math.IsNaN(starts) || math.IsInf(starts, 0):
		return Loop{}, errors.New("the start of a loop must be a time in seconds, such as 0")
	}
	return Loop{Chart: chart, Tempo: tempo, Starts: starts}, nil
}

// BarLength is the length of one bar in s.
func (l Loop) BarLength() float64 {
	return l.Chart.Meter.Quarters() * secondsPerMinute / l.Tempo
}

// Length is the length of once through the chart in s.
func (l Loop) Length() float64 {
	return l.BarLength() * float64(len(l.Chart.Bars))
}

// ChordAt is the chord that sounds at t. Before the loop starts ok is false; in a bar of N.C. ok is true and the chord is N.C.
func (l Loop) ChordAt(t float64) (chord music.Chord, ok bool) {
	bar, part, ok := l.split(t)
	if !ok {
		return music.Chord{}, false
	}
	return l.Chart.Bars[bar%len(l.Chart.Bars)].At(part + boundary), true
}

// BarBeat is the chorus, bar and beat at t. Before the loop starts ok is false.
func (l Loop) BarBeat(t float64) (p Position, ok bool) {
	bar, part, ok := l.split(t)
	if !ok {
		return Position{}, false
	}
	bars := len(l.Chart.Bars)
	return Position{Chorus: bar/bars + 1, Bar: bar%bars + 1, Beat: 1 + part*float64(l.Chart.Meter.Beats)}, true
}

// NextBar is the first start of a bar at or after t, in s on the clock: t itself where a bar starts just then, Starts for every
// time before it. NextBar(t) - t is the wait that the loop imposes on a player who comes in on the bar. An undefined t gives NaN.
func (l Loop) NextBar(t float64) float64 {
	if t <= l.Starts {
		return l.Starts
	}
	return l.Starts + math.Ceil((t-l.Starts)/l.BarLength()-boundary)*l.BarLength()
}

// split gives the number of bars, from 0, that are over at t and the part, 0 up to 1, of the bar being played.
func (l Loop) split(t float64) (bar int, part float64, ok bool) {
	bars := (t - l.Starts) / l.BarLength()
	if !(bars > -boundary && bars < tooManyBars) {
		return 0, 0, false
	}
	whole := math.Floor(bars + boundary)
	return int(whole), math.Max(bars-whole, 0), true
}

// BarStart is when a bar starts, in s on the clock. Bars are counted from 0 at the start of the loop and go on through all times through the chart;
// the bars of a count-in have negative numbers.
func (l Loop) BarStart(bar int) float64 {
	return l.Starts + float64(bar)*l.BarLength()
}

// NextChord is the first chord after t that differs from the one at t, and when it begins; before the start of the loop, its first chord. Where the chart has one
// chord only ok is false.
func (l Loop) NextChord(t float64) (chord music.Chord, at float64, ok bool) {
	bar, part, started := l.split(t)
	if !started {
		return l.Chart.Bars[0].Chords[0], l.Starts, t < l.Starts
	}
	now := l.Chart.Bars[bar%len(l.Chart.Bars)].At(part + boundary)
	for i := bar; i <= bar+len(l.Chart.Bars); i++ {
		chords := l.Chart.Bars[i%len(l.Chart.Bars)].Chords
		for j, c := range chords {
			begins := float64(j) / float64(len(chords))
			if c != now && (i > bar || begins > part+boundary) {
				return c, l.BarStart(i) + begins*l.BarLength(), true
			}
		}
	}
	return music.Chord{}, 0, false
}
