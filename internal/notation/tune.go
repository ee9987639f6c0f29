package notation

import "math"

// TicksPerQuarter is how many ticks a quarter note has: 6 a sixteenth, 8 an eighth of a triplet.
const TicksPerQuarter = 24

const (
	ticksPerWhole    = 4 * TicksPerQuarter
	secondsPerMinute = 60.0
)

// Note is one note to be written.
type Note struct {
	Onset, Offset float64 // s
	Semitone      int     // MIDI number
}

// Time says where the beats lie.
type Time struct {
	Beats, Unit int     // time signature, such as 3 and 4
	Tempo       float64 // quarter notes a minute, above 0
	Bar         float64 // s: a bar begins here
}

// ticks is where a moment lies, in ticks after Bar.
func (t Time) ticks(seconds float64) float64 {
	return (seconds - t.Bar) * t.Tempo / secondsPerMinute * TicksPerQuarter
}

// seconds is the length of so many ticks.
func (t Time) seconds(ticks int) float64 {
	return float64(ticks) / TicksPerQuarter * secondsPerMinute / t.Tempo
}

// Tune is a written melody.
type Tune struct {
	Beats, Unit int
	Tempo       float64 // quarter notes a minute
	First       int     // number of the first bar, counted from the one that begins at Time.Bar; negative before it
	Bars        []Bar
}

// Bar is one bar; its symbols fill it without gaps.
type Bar struct{ Symbols []Symbol }

// Symbol is one written value: a note, a part of a note that is tied, or a rest.
type Symbol struct {
	Semitone      int // MIDI number; 0 for a rest
	Rest          bool
	Start, Length int  // ticks in the bar
	Value         int  // 1 a whole note, 2 a half, 4 a quarter and so on to 32
	Dots          int  // 0 or 1
	Triplet       bool // three stand for two: a triplet fills one quarter note
	TiedTo        bool // the next symbol goes on with the same note
	TiedFrom      bool // goes on with the note of the symbol before
	Source        int  // index of the note it belongs to; -1 for a rest
}

// meter is what a time signature means in ticks.
type meter struct {
	bar      int  // length of a bar
	group    int  // length of what is written under one beam, from the start of the bar
	cell     int  // the shortest value
	triplets bool // whether groups may be triplets
}

const (
	sixteenth    = TicksPerQuarter / 4
	thirtySecond = TicksPerQuarter / 8
	tripletCell  = TicksPerQuarter / 3
)

func meterOf(beats, unit int) meter {
	beat := ticksPerWhole / unit
	m := meter{bar: beats * beat, group: TicksPerQuarter, cell: sixteenth, triplets: unit <= 4}
	if compound := unit >= 8 && beats%3 == 0; compound {
		m.group = 3 * beat
	}
	if m.bar%sixteenth != 0 || m.group%sixteenth != 0 {
		m.cell = thirtySecond
	}
	return m
}

// groupAt gives the group in which a tick, counted over all bars, lies.
func (m meter) groupAt(tick float64) (start, end int) {
	bar := int(math.Floor(tick/float64(m.bar))) * m.bar
	start = bar + int((tick-float64(bar))/float64(m.group))*m.group
	return start, min(start+m.group, bar+m.bar)
}
