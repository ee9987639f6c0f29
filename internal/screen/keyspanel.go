package screen

import (
	"fmt"

	"larkhand/internal/keyboard"
	"larkhand/internal/music"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// This file is the keys at hand: the panel with the key's letters under its numbers, the scales of the chart's chords and the keyboard.

// Measures of the panel (own choices).
const (
	panelWidth  = 54 // columns beside the page: a bar with seven letters in brackets
	panelBeside = 116
	drawingWide = 42 // columns of keyboard.Text
	drawingGap  = 4
	fewestBars  = 2 // bars that stay as long as the keyboard does
)

// noKeyAtHand is said in place of the panel.
const noKeyAtHand = "The key is guessed from what you sing. Set one in the set-up (esc) to have its letters here."

// turnKeys shows the keys at hand, or puts them away. Where they have the room of something else what was asked for last is seen; a verdict that comes
// has its room first.
func (m *model) turnKeys() {
	l := m.live
	switch {
	case l.verdictStands() && m.width < verdictBeside:
		l.keysAtVerdict = !l.keysAtVerdict
	case m.keys && m.shapeCovers(l.latest.View):
		l.keysOver = true
	default:
		m.keys = !m.keys
		l.keysOver = m.keys
	}
}

// shapeCovers is true where the shape of what is heard takes the room of the keys at hand.
func (m *model) shapeCovers(v round.View) bool {
	return m.shape(v) > 0 && m.width < panelBeside && !(m.keys && m.live.keysOver)
}

// keysPanel draws the keys at hand in at most so many rows. The letters under their numbers and the bar that sounds are always
// there. What does not fit is left out in this order: the keyboard of the chord that sounds, the empty lines between, the bars
// further off, the keyboard of the key.
func (m *model) keysPanel(v round.View, width, rows int) []string {
	key := v.Key
	if key == nil {
		key = m.live.setup.Key
	}
	if key == nil {
		return draw.Wrap(noKeyAtHand, width)
	}
	chart := soundingChart(v, m.live.setup)
	d := report.NewKeysDocument(*key, m.live.setup.Numbering, &chart)
	bars, now := m.barRows(v, d)
	scale, drawing := d.Rows(), keyboard.Text(d.Marks())
	least := func(blocks ...[]string) int {
		n := 0
		for _, b := range blocks {
			n += len(b)
		}
		return n
	}
	if least(scale, drawing)+min(len(bars), fewestBars) > rows {
		drawing = nil
	}
	over := m.chordDrawing(v, d)
	switch room := rows - least(scale, bars, drawing) - 2; {
	case drawing == nil || over == nil || room < 0:
	case width >= 2*drawingWide+drawingGap && v.HasLoop:
		drawing = draw.Beside(drawing, over, drawingWide+drawingGap, width)
	case room >= len(over)+1:
		drawing = append(append(drawing, ""), over...)
	}
	out := scale
	gap := rows > least(scale, bars, drawing)+1 && len(drawing)+len(bars) > 0
	for _, block := range [][]string{drawing, window(bars, now, rows-least(scale, drawing))} {
		if len(block) == 0 {
			continue
		}
		if gap {
			out = append(out, "")
		}
		out = append(out, block...)
	}
	for i := range out {
		out[i] = draw.Clip(out[i], width)
	}
	return out[:min(len(out), rows)]
}

// barRows are the chart's chords with their scales, and which of them sounds; -1 for none.
func (m *model) barRows(v round.View, d report.KeysDocument) (rows []string, now int) {
	now = -1
	for i, bar := range d.Bars {
		for k, line := range bar.Lines() {
			line = "  " + line
			if v.HasLoop && i+1 == v.Bar && k == m.soundingChord(v) {
				line, now = m.styles.Strong.Render("> "+line[len("> "):]), len(rows)
			}
			rows = append(rows, line)
		}
	}
	return rows, now
}

// soundingChord is which chord of its bar sounds, those that go on counted once, from 0.
func (m *model) soundingChord(v round.View) int {
	chords := m.live.setup.Chart.Bars[v.Bar-1].Chords
	through := 0.0
	if v.Beats > 0 {
		through = (float64(v.Beat-1) + v.Through) / float64(v.Beats)
	}
	at := max(0, min(len(chords)-1, int(through*float64(len(chords)))))
	n := 0
	for i := 1; i <= at; i++ {
		if chords[i] != chords[i-1] {
			n++
		}
	}
	return n
}

// chordDrawing is the keyboard of the chord that sounds, over its name; nil where none does.
func (m *model) chordDrawing(v round.View, d report.KeysDocument) []string {
	if !v.HasLoop || v.Bar < 1 || v.Bar > len(d.Bars) || len(d.Bars[v.Bar-1].Chords) == 0 {
		return nil
	}
	c := d.Bars[v.Bar-1].Chords[m.soundingChord(v)]
	return append(keyboard.Text(c.Marks()), m.styles.Quiet.Render(fmt.Sprintf("over %s; in brackets: notes of the chord", c.Symbol)))
}

// window is the page of so many rows on which one lies: rows stand still until the page turns.
func window(rows []string, now, size int) []string {
	if size <= 0 {
		return nil
	}
	from := max(0, now) / size * size
	return rows[from:min(len(rows), from+size)]
}

// soundingChart is the chart of the set-up in the key of this round.
func soundingChart(v round.View, setup round.Setup) music.Chart {
	if v.Key == nil || setup.Key == nil {
		return setup.Chart
	}
	return round.TransposedChart(setup.Chart, v.Key, v.Key.PitchClasses()[0]-setup.Key.PitchClasses()[0])
}
