package draw

import (
	"math"
	"strings"

	"github.com/charmbracelet/lipgloss"
)

// Ink is how a cell of a canvas is set off.
type Ink uint8

// The inks. A later one covers an earlier one where both are written in one cell.
const (
	Ruled  Ink = iota // lines of the page
	Voiced            // what was sung, and what is as sung
	Marked            // look here
)

// Dots of a cell, by the Braille patterns of Unicode.
const (
	dotsAcross   = 2
	dotsDown     = 4
	brailleBlank = '\u2800'
	brailleCells = 0x100
)

// brailleDots are the bits of a cell's dots by row and column (The Unicode Standard, Braille Patterns).
var brailleDots = [dotsDown][dotsAcross]rune{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}

// Canvas is a block of cells, each of one column, that is written on.
type Canvas struct {
	columns, rows int
	cells         [][]rune
	inks          [][]Ink
}

// NewCanvas makes an empty canvas of at least one cell.
func NewCanvas(columns, rows int) *Canvas {
	c := &Canvas{columns: max(1, columns), rows: max(1, rows)}
	c.cells, c.inks = make([][]rune, c.rows), make([][]Ink, c.rows)
	for y := range c.cells {
		c.cells[y], c.inks[y] = []rune(strings.Repeat(" ", c.columns)), make([]Ink, c.columns)
	}
	return c
}

// Put writes text from a cell to the right; what lies outside is left out. Its characters are one column wide each.
func (c *Canvas) Put(x, y int, text string, ink Ink) {
	if y < 0 || y >= c.rows {
		return
	}
	for _, r := range text {
		if x >= 0 && x < c.columns {
			c.cells[y][x], c.inks[y][x] = r, ink
		}
		x++
	}
}

// Dot writes a dot at a place in columns and rows from the upper left corner; a cell has room for two dots across and four down. What lies
// outside, or is no number, is left out.
func (c *Canvas) Dot(x, y float64, ink Ink) {
	if !(x >= 0 && x < float64(c.columns) && y >= 0 && y < float64(c.rows)) {
		return
	}
	across, down := int(x*dotsAcross), int(y*dotsDown)
	cell := &c.cells[down/dotsDown][across/dotsAcross]
	if *cell < brailleBlank || *cell >= brailleBlank+brailleCells {
		*cell = brailleBlank
	}
	*cell |= brailleDots[down%dotsDown][across%dotsAcross]
	if at := &c.inks[down/dotsDown][across/dotsAcross]; *at < ink {
		*at = ink
	}
}

// Stroke writes dots from one place to the next, close enough to be a line.
func (c *Canvas) Stroke(x1, y1, x2, y2 float64, ink Ink) {
	steps := math.Ceil(max(math.Abs(x2-x1)*dotsAcross, math.Abs(y2-y1)*dotsDown, 1))
	if !(steps <= float64(dotsDown*(c.rows+c.columns))) { // longer than the canvas, or no number
		return
	}
	for i := 0.0; i <= steps; i++ {
		c.Dot(x1+(x2-x1)*i/steps, y1+(y2-y1)*i/steps, ink)
	}
}

// Lines are the rows of the canvas.
func (c *Canvas) Lines(st Styles) []string {
	styles := [...]lipgloss.Style{Ruled: st.Quiet, Voiced: st.AsSung, Marked: st.Look}
	out := make([]string, c.rows)
	for y := range out {
		var line strings.Builder
		for x := 0; x < c.columns; {
			end := x + 1
			for end < c.columns && c.inks[y][end] == c.inks[y][x] {
				end++
			}
			line.WriteString(styles[c.inks[y][x]].Render(string(c.cells[y][x:end])))
			x = end
		}
		out[y] = line.String()
	}
	return out
}
