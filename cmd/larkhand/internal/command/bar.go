package command

import (
	"fmt"
	"io"
	"strings"
)

// bar draws itself on a terminal and nothing elsewhere.
type bar struct {
	w     io.Writer // nil where there is no terminal
	total int
}

// barWidth is the length of the bar in characters.
const barWidth = 40

func newBar(w io.Writer, total int) bar {
	if !isTerminal(w) {
		return bar{}
	}
	p := bar{w, total}
	p.show(0)
	return p
}

// show draws the bar on the current line. What the terminal does with it is of no consequence, so errors are not looked at.
func (p bar) show(done int) {
	if p.w == nil {
		return
	}
	full := barWidth * done / p.total
	fmt.Fprintf(p.w, "\r[%s%s] %d of %d rounds", strings.Repeat("=", full), strings.Repeat(" ", barWidth-full), done, p.total)
}

// clear wipes the bar, so that a line can be written in its place.
func (p bar) clear() {
	if p.w != nil {
		fmt.Fprint(p.w, "\r\x1b[K") // to the first column, erase to the end of the line (ECMA-48)
	}
}
