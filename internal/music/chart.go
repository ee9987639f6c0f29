package music

import (
	"fmt"
	"slices"
	"strings"
)

// Chart is a chord progression bar by bar as it is played: repeats, endings and % are unrolled. Bars that ParseChart has unrolled share
// their chords: do not change them in place.
type Chart struct {
	Meter Meter
	Bars  []Bar // 1 to 1024
}

// Bar is one bar of a chart.
type Bar struct {
	// Chords divide the bar into equal parts, 1 to 32 of them, in order: [C F] changes in the middle, [C C C F] in the last quarter.
	Chords []Chord
}

// Meter is a time signature.
type Meter struct {
	Beats int // beats a bar, 1 to 32
	Unit  int // note value of a beat: 1, 2, 4, 8, 16 or 32
}

// CommonTime is 4/4, the meter of a chart that names none.
var CommonTime = Meter{Beats: 4, Unit: 4}

const (
	maxBars      = 1024 // of a chart with its repeats unrolled: more than half an hour at a medium tempo
	maxParts     = 32   // of a bar
	maxUnit      = 32   // note value of a beat
	maxRepeats   = 32   // of one repeated part
	maxChartText = 64 << 10
)

// Valid reports whether the numbers of beats and the note value are in range.
func (m Meter) Valid() bool {
	return m.Beats >= 1 && m.Beats <= maxParts && m.Unit >= 1 && m.Unit <= maxUnit && m.Unit&(m.Unit-1) == 0
}

// Quarters is the length of a bar in quarter notes.
func (m Meter) Quarters() float64 {
	const wholeNote = 4 // quarter notes
	return float64(m.Beats) * wholeNote / float64(m.Unit)
}

// String writes the meter as a fraction: "3/4".
func (m Meter) String() string {
	return fmt.Sprintf("%d/%d", m.Beats, m.Unit)
}

// At is the chord that sounds when the given part of the bar, 0 up to but not including 1, is over. A bar without chords has N.C.
func (b Bar) At(part float64) Chord {
	if len(b.Chords) == 0 {
		return Chord{}
	}
	i := int(part * float64(len(b.Chords)))
	return b.Chords[min(max(i, 0), len(b.Chords)-1)]
}

// reduce gives the bar with the fewest equal parts that say the same.
func (b Bar) reduce() Bar {
	n := len(b.Chords)
	for size := n; size > 1; size-- {
		if n%size != 0 {
			continue
		}
		if parts, ok := merge(b.Chords, size); ok {
			return Bar{Chords: parts}
		}
	}
	return b
}

// merge puts every size chords into one, if they are alike.
func merge(chords []Chord, size int) (parts []Chord, ok bool) {
	for group := range slices.Chunk(chords, size) {
		if slices.ContainsFunc(group, func(c Chord) bool { return c != group[0] }) {
			return nil, false
		}
		parts = append(parts, group[0])
	}
	return parts, true
}

// String writes the chart on one line, with the meter in front unless it is 4/4: "Cm7 | Fm7 Bb7", "3/4: C | G". A chord that goes on
// over a beat of its bar is a slash. ParseChart reads it back to the same chart.
func (c Chart) String() string {
	bars := make([]string, len(c.Bars))
	for i, b := range c.Bars {
		bars[i] = b.write(c.Meter)
	}
	text := strings.Join(bars, " | ")
	if c.Meter != CommonTime {
		text = c.Meter.String() + ": " + text
	}
	return text
}

// write gives the chords of a bar; where the parts are beats, a chord that goes on is a slash.
func (b Bar) write(m Meter) string {
	words := make([]string, len(b.Chords))
	for i, c := range b.Chords {
		if i > 0 && len(b.Chords) == m.Beats && c == b.Chords[i-1] {
			words[i] = "/"
			continue
		}
		words[i] = c.String()
	}
	return strings.Join(words, " ")
}
