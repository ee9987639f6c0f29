package screen

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
)

// clip cuts a line to a width in columns; styled text stays styled.
func clip(line string, width int) string {
	return ansi.Truncate(line, max(0, width), "…")
}

// pad fills a line with spaces to a width, and cuts what is longer.
func pad(line string, width int) string {
	line = clip(line, width)
	return line + strings.Repeat(" ", max(0, width-lipgloss.Width(line)))
}

// wrap breaks text into lines of at most width columns, at spaces where there are any.
func wrap(text string, width int) []string {
	return strings.Split(ansi.Wrap(text, width, ""), "\n")
}

// ends puts one text at the left end and one at the right end of a line.
func ends(left, right string, width int) string {
	room := width - lipgloss.Width(right) - 1
	if room < width/2 {
		return clip(left, width)
	}
	return pad(left, room) + " " + right
}

// beside puts two blocks of lines beside each other; the left one is leftWidth columns wide.
func beside(left, right []string, leftWidth, width int) []string {
	lines := make([]string, max(len(left), len(right)))
	for i := range lines {
		l, r := "", ""
		if i < len(left) {
			l = left[i]
		}
		if i < len(right) {
			r = right[i]
		}
		lines[i] = strings.TrimRight(pad(l, leftWidth)+clip(r, width-leftWidth), " ")
	}
	return lines
}

// page is exactly height lines: the body cut or filled up, then the foot.
func page(body, foot []string, width, height int) string {
	room := max(0, height-len(foot))
	lines := make([]string, 0, height)
	for i := range room {
		line := ""
		if i < len(body) {
			line = clip(body[i], width)
		}
		lines = append(lines, line)
	}
	for _, line := range foot {
		lines = append(lines, clip(line, width))
	}
	return strings.Join(lines[:min(height, len(lines))], "\n")
}
