package midiin

import (
	"cmp"
	"slices"
)

// defaultUsQuarter is the tempo before the first tempo mark: 500,000 microseconds a quarter note, 120 a minute (Standard MIDI Files 1.0).
const defaultUsQuarter = 500_000

const (
	usPerSecond = 1e6
	usPerMinute = 60e6
)

// clock turns ticks into seconds. Ticks must not go back.
type clock struct {
	tempi          []tickTempo // still to come, in tick order; empty for SMPTE division
	secondsPerUnit float64     // s a tick for SMPTE; for quarter notes, s a tick and microsecond of tempo
	usQuarter      uint32      // 1 for SMPTE
	baseTick       int64
	base           float64 // s at baseTick
}

func newClock(d Division, tempi []tickTempo) clock {
	if d.TicksPerQuarter > 0 {
		return clock{tempi: tempi, secondsPerUnit: 1 / (usPerSecond * float64(d.TicksPerQuarter)), usQuarter: defaultUsQuarter}
	}
	return clock{secondsPerUnit: 1 / (d.FramesPerSecond * float64(d.TicksPerFrame)), usQuarter: 1}
}

// seconds is the time of a tick: the sum over the tempo's steps of ticks * microseconds a quarter / ticks a quarter.
func (c *clock) seconds(tick int64) float64 {
	for len(c.tempi) > 0 && c.tempi[0].tick <= tick {
		c.base = c.at(c.tempi[0].tick)
		c.baseTick, c.usQuarter = c.tempi[0].tick, c.tempi[0].usQuarter
		c.tempi = c.tempi[1:]
	}
	return c.at(tick)
}

func (c *clock) at(tick int64) float64 {
	return c.base + float64(tick-c.baseTick)*float64(c.usQuarter)*c.secondsPerUnit
}

// file merges the tracks and turns ticks into seconds. The tempo map is shared by all tracks, whichever track it stands in.
func (p *parser) file() File {
	slices.SortFunc(p.events, func(a, b tickEvent) int {
		if c := cmp.Compare(a.tick, b.tick); c != 0 {
			return c
		}
		return cmp.Compare(a.seq, b.seq)
	})
	slices.SortStableFunc(p.tempi, func(a, b tickTempo) int { return cmp.Compare(a.tick, b.tick) })
	f := File{
		Format:     p.format,
		Division:   p.division,
		TrackNames: p.names,
		Events:     make([]Event, len(p.events)),
	}
	c := newClock(p.division, p.tempi)
	for i, e := range p.events {
		f.Events[i] = Event{c.seconds(e.tick), e.status, e.data1, e.data2}
	}
	f.End = c.seconds(p.end)
	if p.division.TicksPerQuarter > 0 {
		f.Tempi = tempoMap(p.division, p.tempi)
	}
	p.closingRemarks()
	f.Remarks = p.remarks.all()
	return f
}

// tempoMap lists the tempi in seconds; of several marks at one tick the last counts.
func tempoMap(d Division, tempi []tickTempo) []Tempo {
	c := newClock(d, tempi)
	list := make([]Tempo, 1, len(tempi)+1)
	list[0] = Tempo{0, usPerMinute / float64(defaultUsQuarter)}
	last := int64(0)
	for _, t := range tempi {
		step := Tempo{c.seconds(t.tick), usPerMinute / float64(t.usQuarter)}
		if t.tick == last {
			list[len(list)-1] = step
		} else {
			list = append(list, step)
		}
		last = t.tick
	}
	return list
}

// closingRemarks says what only the whole file shows.
func (p *parser) closingRemarks() {
	if read := len(p.names); p.promised >= 0 && read != p.promised {
		p.remarks.add("The header promises %s, the file has %d.", counted(p.promised, "track"), read)
	}
	if p.others > 0 {
		p.remarks.add("The file holds independent sequences (format 2); the first with notes was read and %d more left out.", p.others)
	}
}
