package notation

import (
	"math"
	"slices"
)

// Write lays notes on the beats. They must be in order of onset; no notes give a tune without bars. Notes after bar 2000 of the tune are
// left out.
func Write(notes []Note, t Time) Tune {
	spans, g := quantise(notes, t)
	return draw(notes, spans, g, t)
}

// draw cuts spans into symbols and fills the bars.
func draw(notes []Note, spans []span, g grid, t Time) Tune {
	tune := Tune{Beats: t.Beats, Unit: t.Unit, Tempo: t.Tempo}
	if len(spans) == 0 {
		return tune
	}
	tune.First = int(math.Floor(float64(spans[0].start) / float64(g.bar)))
	d := drawer{grid: g, tune: &tune, at: tune.First * g.bar}
	limit := d.at + mostBars*g.bar
	for i, s := range spans {
		if s.start >= limit {
			break
		}
		d.fill(s.start, Symbol{Rest: true, Source: -1})
		d.fill(min(s.end, limit), Symbol{Semitone: notes[i].Semitone, Source: i})
	}
	if over := (d.at - tune.First*g.bar) % g.bar; over > 0 {
		d.fill(d.at+g.bar-over, Symbol{Rest: true, Source: -1})
	}
	return tune
}

// drawer writes a tune from left to right.
type drawer struct {
	grid
	tune *Tune
	at   int // tick up to which all is written
}

// fill writes one note or rest up to a tick.
func (d *drawer) fill(end int, like Symbol) {
	for first := true; d.at < end; first = false {
		s := like
		s.Start = d.at - d.barStart()
		s.Length, s.Triplet = d.next(end, s.Rest)
		s.Value, s.Dots = valueOf(s.Length, s.Triplet)
		s.TiedFrom = !first && !s.Rest
		s.TiedTo = d.at+s.Length < end && !s.Rest
		if s.Start == 0 {
			d.tune.Bars = append(d.tune.Bars, Bar{})
		}
		bar := &d.tune.Bars[len(d.tune.Bars)-1]
		bar.Symbols = append(bar.Symbols, s)
		d.at += s.Length
	}
}

func (d *drawer) barStart() int {
	return int(math.Floor(float64(d.at)/float64(d.bar))) * d.bar
}

// next is how long the next symbol may be, for something that goes on until end.
func (d *drawer) next(end int, rest bool) (length int, triplet bool) {
	start, groupEnd := d.groupAt(float64(d.at))
	if d.triplet[start] {
		length = min(end, groupEnd) - d.at
		return length, length < TicksPerQuarter
	}
	end = min(end, d.barStart()+d.bar)
	for at := groupEnd; at < end; { // what goes on into a triplet ends before it
		if d.triplet[at] {
			end = at
			break
		}
		_, at = d.groupAt(float64(at))
	}
	for _, v := range values {
		if v.length <= end-d.at && d.readable(d.at-d.barStart(), v.length) && (!rest || d.calm(d.at-d.barStart(), v.length)) {
			return v.length, false
		}
	}
	return d.cell, false
}

// values are the lengths that one symbol can have, the longest first.
var values = []struct{ length, value, dots int }{
	{96, 1, 0}, {72, 2, 1}, {48, 2, 0}, {36, 4, 1}, {24, 4, 0}, {18, 8, 1}, {12, 8, 0}, {9, 16, 1}, {6, 16, 0}, {3, 32, 0},
}

// valueOf is how a length is written.
func valueOf(length int, triplet bool) (value, dots int) {
	if triplet {
		length = length * 3 / 2
	}
	i := slices.IndexFunc(values, func(v struct{ length, value, dots int }) bool { return v.length == length })
	return values[i].value, values[i].dots
}

// readable says whether a symbol that begins so far into the bar may have a length: the beats, and the middle of a bar of four, must
// stay visible (common practice, no source).
func (m meter) readable(start, length int) bool {
	in := start % m.group
	switch {
	case length <= m.group-in: // inside a group
		return true
	case m.group != TicksPerQuarter: // compound meter: whole groups
		return in == 0 && length%m.group == 0
	case length == TicksPerQuarter && in == TicksPerQuarter/2: // a quarter off the beat
		return !m.crossesMiddle(start, length)
	case in != 0:
		return false
	case length == ticksPerWhole:
		return start == 0
	}
	return !m.crossesMiddle(start, length) || start == 0 && length == ticksPerWhole*3/4
}

// calm says whether a rest may have a length: it hides no beat, and has no dot but in compound meters (common practice, no source).
func (m meter) calm(start, length int) bool {
	in := start % m.group
	return length <= m.group-in || in == 0 && (m.group != TicksPerQuarter || dotless(length))
}

// crossesMiddle says whether a symbol hides the middle of a bar of four quarters.
func (m meter) crossesMiddle(start, length int) bool {
	const middle = ticksPerWhole / 2
	return m.bar == ticksPerWhole && start < middle && start+length > middle
}

// dotless says whether a length is written without a dot.
func dotless(length int) bool {
	_, dots := valueOf(length, false)
	return dots == 0
}
