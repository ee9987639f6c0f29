package screen

import (
	"io"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
)

// styles are the few ways in which text is set off. The colours are two of the terminal's own.
type styles struct {
	asSung lipgloss.Style // what was sung, and what is as sung
	look   lipgloss.Style // look here
	strong lipgloss.Style
	quiet  lipgloss.Style
	colour bool
}

func newStyles(out io.Writer, colour bool) styles {
	const cyan, yellow = lipgloss.Color("6"), lipgloss.Color("3") // of the 16 that every terminal with colour has
	r := lipgloss.NewRenderer(out)
	r.SetColorProfile(termenv.Ascii)
	if colour {
		r.SetColorProfile(termenv.ANSI)
	}
	return styles{
		asSung: r.NewStyle().Foreground(cyan), look: r.NewStyle().Foreground(yellow).Bold(true),
		strong: r.NewStyle().Bold(true), quiet: r.NewStyle().Faint(true), colour: colour,
	}
}
