package loop

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"larkhand/internal/music"
)

// Options says how a loop is played.
type Options struct {
	Feel    Feel
	CountIn int      // bars of clicks before the loop starts, 0 to MaxCountIn
	Bass    BassLine // zero: walking with a swing feel, else root and fifth
}

// MaxCountIn is how many bars a count-in can have (own choice).
const MaxCountIn = 8

// Backing is a loop with the notes that accompany it. Make one with Arrange. It does not change, so several goroutines can read it.
type Backing struct {
	Loop    Loop
	Options Options
	bars    [][]planned // of the chart, each in the order of time
	countIn []planned   // of one bar
	longest float64     // duration of the longest event, s
}

// planned is a note of a bar before it is laid on the clock.
type planned struct {
	at, long float64 // quarter notes from the start of the bar, and length, both on even eighth notes: the feel moves them later
	key      int
	velocity int
	part     Part
}

// Arrange works out what each bar of the loop plays.
func Arrange(l Loop, o Options) (*Backing, error) {
	if _, err := New(l.Chart, l.Tempo, l.Starts); err != nil {
		return nil, err
	}
	switch {
	case !o.Feel.valid():
		return nil, fmt.Errorf("a swing ratio of %g does not work; give %g (straight) to %g", o.Feel.Ratio, StraightRatio, MaxSwingRatio)
	case o.CountIn < 0 || o.CountIn > MaxCountIn:
		return nil, fmt.Errorf("a count-in of %d bars does not work; give 0 to %d", o.CountIn, MaxCountIn)
	case o.Bass > RootFifth:
		return nil, errors.New("the bass plays a walking line or root and fifth")
	}
	if !swings(l.Chart.Meter) {
		o.Feel = Feel{Ratio: StraightRatio}
	}
	b := &Backing{Loop: l, Options: o, countIn: click(l.Chart.Meter)}
	b.bars = plan(l.Chart, o)
	b.longest = b.longestEvent()
	return b, nil
}

// Retime is the same backing at another tempo and start, for instance from the next bar on: b.Retime(120, b.Loop.NextBar(t)). The count-in, if there is one, comes
// before the new start. The feel stays; at another tempo another one may be wanted, then Arrange anew.
func (b *Backing) Retime(tempo, starts float64) (*Backing, error) {
	l, err := New(b.Loop.Chart, tempo, starts)
	if err != nil {
		return nil, err
	}
	c := *b
	c.Loop = l
	c.longest = c.longestEvent()
	return &c, nil
}

// plan works out the notes of every bar.
func plan(chart music.Chart, o Options) [][]planned {
	segments := segmentsOf(chart)
	bass, comping := planBass(chart.Meter, segments, o), planComping(chart.Meter, segments, o.Feel)
	drums := slices.Concat(click(chart.Meter), hiHat(chart.Meter, o.Feel))
	bars := make([][]planned, len(chart.Bars))
	for i := range bars {
		bars[i] = slices.Concat(drums, comping[i], bass[i])
		slices.SortStableFunc(bars[i], func(x, y planned) int {
			if x.at != y.at {
				return cmpFloat(x.at, y.at)
			}
			if x.part != y.part {
				return int(x.part) - int(y.part)
			}
			return x.key - y.key
		})
	}
	return bars
}

func cmpFloat(x, y float64) int {
	if x < y {
		return -1
	}
	return 1
}

// segment is a part of a bar in which one chord sounds.
type segment struct {
	bar      int     // of the chart, from 0
	from, to float64 // quarter notes from the start of the bar
	chord    music.Chord
}

// segmentsOf cuts the chart at every change of chord and at every bar line.
func segmentsOf(chart music.Chart) (out []segment) {
	quarters := chart.Meter.Quarters()
	for i, bar := range chart.Bars {
		for j, chord := range bar.Chords {
			if j > 0 && chord == bar.Chords[j-1] {
				out[len(out)-1].to = quarters * float64(j+1) / float64(len(bar.Chords))
				continue
			}
			out = append(out, segment{
				bar: i, chord: chord,
				from: quarters * float64(j) / float64(len(bar.Chords)),
				to:   quarters * float64(j+1) / float64(len(bar.Chords)),
			})
		}
	}
	return out
}

// sounds reports whether the segment has a chord.
func (s segment) sounds() bool {
	_, _, ok := s.chord.Bass()
	return ok
}

// Events gives the notes that begin in the window from `from` up to but not including `to`, in s on the clock, in the order of time; the parts of one
// moment in the order of the constants. Windows that touch give together what one window over both gives.
func (b *Backing) Events(from, to float64) []Event {
	return b.AppendEvents(nil, from, to)
}

// AppendEvents appends the same notes to dst. It allocates only where dst is too small. The audio callback may call it.
func (b *Backing) AppendEvents(dst []Event, from, to float64) []Event {
	length := b.Loop.BarLength()
	first, last := (from-b.Loop.Starts)/length, (to-b.Loop.Starts)/length
	if !(first < last && first > -tooManyBars && last < tooManyBars) {
		return dst
	}
	// One bar more on either side, since the division rounds; the comparison of times decides.
	start := max(int(math.Floor(first))-1, -b.Options.CountIn)
	for bar := start; bar <= int(math.Floor(last))+1; bar++ {
		dst = b.appendBar(dst, bar, from, to)
	}
	return dst
}

// appendBar appends what begins within the window of one bar, counted from the start of the loop; the count-in has negative numbers.
func (b *Backing) appendBar(dst []Event, bar int, from, to float64) []Event {
	notes := b.countIn
	if bar >= 0 {
		notes = b.bars[bar%len(b.bars)]
	}
	for i := range notes {
		if e := b.lay(&notes[i], bar); e.Time >= from && e.Time < to {
			dst = append(dst, e)
		}
	}
	return dst
}

// lay puts a note on the clock.
func (b *Backing) lay(n *planned, bar int) Event {
	quarter := secondsPerMinute / b.Loop.Tempo
	at, end := b.Options.Feel.swung(n.at), b.Options.Feel.swung(n.at+n.long)
	return Event{
		Time:     b.Loop.BarStart(bar) + at*quarter,
		Duration: (end - at) * quarter,
		Key:      n.key,
		Velocity: n.velocity,
		Part:     n.part,
		Channel:  voices[n.part].channel,
		Program:  voices[n.part].program,
	}
}

// Longest is the duration of the longest note in s: what began longer ago than this does not sound any more.
func (b *Backing) Longest() float64 {
	return b.longest
}

func (b *Backing) longestEvent() (longest float64) {
	for _, bar := range b.bars {
		for i := range bar {
			longest = math.Max(longest, b.lay(&bar[i], 0).Duration)
		}
	}
	return longest
}
