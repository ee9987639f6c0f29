package screen

import (
	"math"

	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
	"larkhand/midiin"
)

// paper is the page that a take or an answer is written on: time runs from left to right once, a row is a semitone, and the
// degrees of the key have lines. It is drawn anew for every snapshot from the same data, so nothing on it moves.
type paper struct {
	key       music.Key
	numbering music.Numbering
	columns   int     // of the page, without the labels
	rows      int     //
	seconds   float64 // that the page is long
	from      float64 // s at its left edge
	bar       float64 // s from one bar line to the next; 0 for none
	firstBar  float64 // s of a bar line
	top       int     // MIDI note number of the upper row
	cells     [][]rune
	written   [][]bool // what is sung or played, as against the lines
	bare      bool     // without the lines of the key and their names
}

// Page measures (own choices).
const (
	labelColumns  = 8    // "b3 Eb4  "
	freePage      = 12.0 // s of a page where the part has no bars; then the next page begins
	settle        = 5    // points that a voice must be off the page before the page moves: 50 ms, longer than a wrong octave lasts
	usualMiddle   = 60   // MIDI note number in the middle of a page on which nothing is written yet
	dotsAcross    = 2    // dots of a cell, by the Braille patterns of Unicode
	dotsDown      = 4
	brailleBlank  = '\u2800'
	brailleBlocks = 0x100
)

// brailleDots are the bits of a cell's dots by row and column (The Unicode Standard, Braille Patterns).
var brailleDots = [dotsDown][dotsAcross]rune{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}

// keyOf is the key whose lines are drawn: C major where it is not known yet, as on blank paper.
func keyOf(v round.View) music.Key {
	if v.Key != nil {
		return *v.Key
	}
	return music.Key{}
}

// newPaper rules a page for a view. elapsed is where the writing has come to, s; lead is how long before the part's first bar line its clock began.
func newPaper(v round.View, setup round.Setup, columns, rows int, elapsed, lead float64) *paper {
	p := &paper{key: keyOf(v), numbering: setup.Numbering, columns: max(1, columns-labelColumns), rows: max(1, rows), seconds: freePage}
	if setup.Timing == round.OnForm && v.Tempo > 0 {
		const secondsPerMinute = 60
		p.bar = setup.Chart.Meter.Quarters() * secondsPerMinute / v.Tempo
		p.seconds = float64(setup.TakeBars) * p.bar
		p.from, p.firstBar = lead, lead
	}
	if over := elapsed - p.from; over >= p.seconds && setup.Timing != round.OnForm {
		p.from += math.Floor(over/p.seconds) * p.seconds
	}
	return p
}

// moveFor is the upper row of a page with so many rows that holds the pitches: the first lies in the middle, and the page moves as little as it must.
func moveFor(pitches []float64, rows, middle int) (top int) {
	top = middle + rows/2
	begun, off := false, 0
	for _, x := range pitches {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			continue
		}
		pitch := int(math.Round(x))
		if !begun {
			top, begun = pitch+rows/2, true
			continue
		}
		if pitch <= top && pitch > top-rows {
			off = 0
			continue
		}
		if off++; off < settle {
			continue
		}
		off = 0
		if pitch > top {
			top = pitch
		} else {
			top = pitch + rows - 1
		}
	}
	return top
}

// pitches are those of trails.
func pitches(trails ...[]practice.Point) []float64 {
	var out []float64
	for _, trail := range trails {
		for _, p := range trail {
			out = append(out, p.Pitch)
		}
	}
	return out
}

// rule draws the lines.
func (p *paper) rule() {
	p.cells, p.written = make([][]rune, p.rows), make([][]bool, p.rows)
	for y := range p.cells {
		p.cells[y], p.written[y] = make([]rune, p.columns), make([]bool, p.columns)
		line := ' '
		if p.inKey(p.top-y) && !p.bare {
			line = '·'
			if p.key.Degree(p.top-y, p.numbering) == "1" {
				line = '─'
			}
		}
		for x := range p.cells[y] {
			p.cells[y][x] = line
		}
	}
	if p.bar <= 0 {
		return
	}
	for t := p.firstBar + p.bar; ; t += p.bar {
		x, ok := p.column(t)
		if !ok {
			return
		}
		for y := range p.cells {
			p.cells[y][x] = '│'
		}
	}
}

func (p *paper) inKey(midi int) bool {
	class := ((midi % 12) + 12) % 12
	for _, c := range p.key.PitchClasses() {
		if c == class {
			return true
		}
	}
	return false
}

// column is where a time lies.
func (p *paper) column(t float64) (x int, ok bool) {
	x = int(math.Floor((t - p.from) / p.seconds * float64(p.columns)))
	return x, t >= p.from && x < p.columns
}

// sing writes a trail as a line of dots.
func (p *paper) sing(trail []practice.Point) {
	for _, point := range trail {
		if math.IsNaN(point.Pitch) || math.IsInf(point.Pitch, 0) || point.Time < p.from {
			continue
		}
		across := int((point.Time - p.from) / p.seconds * float64(p.columns*dotsAcross))
		down := int(math.Floor((float64(p.top) + 0.5 - point.Pitch) * dotsDown))
		if across >= p.columns*dotsAcross || down < 0 || down >= p.rows*dotsDown {
			continue
		}
		x, y := across/dotsAcross, down/dotsDown
		if c := p.cells[y][x]; c < brailleBlank || c >= brailleBlank+brailleBlocks {
			p.cells[y][x] = brailleBlank
		}
		p.cells[y][x] |= brailleDots[down%dotsDown][across%dotsAcross]
		p.written[y][x] = true
	}
}

// play writes played notes as strokes, each with its letter. Notes that are held last until now.
func (p *paper) play(notes []midiin.Note) {
	for _, n := range notes {
		y := p.top - int(math.Round(n.Pitch))
		x, ok := p.column(n.Onset)
		if !ok || y < 0 || y >= p.rows {
			continue
		}
		end, ok := p.column(n.Offset)
		if !ok {
			end = p.columns - 1
		}
		for i := x; i <= max(x, end-1) && i < p.columns; i++ {
			p.cells[y][i], p.written[y][i] = '▬', true
		}
		for i, r := range p.key.Letter(int(math.Round(n.Pitch))).Letter {
			if x+i < p.columns {
				p.cells[y][x+i], p.written[y][x+i] = r, true
			}
		}
	}
}

// lines are the rows of the page with the degrees and letters of the key before them.
func (p *paper) lines(st draw.Styles) []string {
	out := make([]string, p.rows)
	for y := range out {
		label := ""
		if midi := p.top - y; p.inKey(midi) && !p.bare {
			label = draw.Pad(p.key.Degree(midi, p.numbering), 3) + p.key.Letter(midi).String()
		}
		out[y] = st.Quiet.Render(draw.Pad(label, labelColumns))
		for x := 0; x < p.columns; {
			end := x + 1
			for end < p.columns && p.written[y][end] == p.written[y][x] {
				end++
			}
			style := st.Quiet
			if p.written[y][x] {
				style = st.AsSung
			}
			out[y] += style.Render(string(p.cells[y][x:end]))
			x = end
		}
	}
	return out
}
