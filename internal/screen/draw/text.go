package draw

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
)

// Clip cuts a line to a width in columns; styled text stays styled.
func Clip(line string, width int) string {
	return ansi.Truncate(line, max(0, width), "…")
}

// Pad fills a line with spaces to a width, and cuts what is longer.
func Pad(line string, width int) string {
	line = Clip(line, width)
	return line + strings.Repeat(" ", max(0, width-lipgloss.Width(line)))
}

// Wrap breaks text into lines of at most width columns, at spaces where there are any.
func Wrap(text string, width int) []string {
	wrapped := ansi.Wrap(text, width, "") // lets a word after leading spaces stand out by a column
	return strings.Split(ansi.Hardwrap(wrapped, width, true), "\n")
}

// Ends puts one text at the left end and one at the right end of a line.
func Ends(left, right string, width int) string {
	room := width - lipgloss.Width(right) - 1
	if room < width/2 {
		return Clip(left, width)
	}
	return Pad(left, room) + " " + right
}

// Beside puts two blocks of lines beside each other; the left one is leftWidth columns wide.
func Beside(left, right []string, leftWidth, width int) []string {
	lines := make([]string, max(len(left), len(right)))
	for i := range lines {
		l, r := "", ""
		if i < len(left) {
			l = left[i]
		}
		if i < len(right) {
			r = right[i]
		}
		lines[i] = strings.TrimRight(Pad(l, leftWidth)+Clip(r, width-leftWidth), " ")
	}
	return lines
}

// Fill cuts lines to so many, or adds empty ones.
func Fill(lines []string, rows int) []string {
	out := make([]string, rows)
	copy(out, lines)
	return out
}

// Around are so many lines with the one at a place among them, in the middle where there are others on both sides.
func Around(lines []string, at, rows int) []string {
	from := max(0, min(at-rows/2, len(lines)-rows))
	return lines[from:min(len(lines), from+max(0, rows))]
}

// Page is exactly height lines: the body cut or filled up, then the foot.
func Page(body, foot []string, width, height int) string {
	room := max(0, height-len(foot))
	lines := make([]string, 0, height)
	for i := range room {
		line := ""
		if i < len(body) {
			line = Clip(body[i], width)
		}
		lines = append(lines, line)
	}
	for _, line := range foot {
		lines = append(lines, Clip(line, width))
	}
	return strings.Join(lines[:min(height, len(lines))], "\n")
}
