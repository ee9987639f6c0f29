package draw

import (
	"io"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
)

// Styles are the few ways in which text is set off. The colours are two of the terminal's own.
type Styles struct {
	AsSung lipgloss.Style // what was sung, and what is as sung
	Look   lipgloss.Style // look here
	Strong lipgloss.Style
	Quiet  lipgloss.Style
	Colour bool
}

// NewStyles makes the styles for a terminal; without colour all text is plain.
func NewStyles(out io.Writer, colour bool) Styles {
	const cyan, yellow = lipgloss.Color("6"), lipgloss.Color("3") // of the 16 that every terminal with colour has
	r := lipgloss.NewRenderer(out)
	r.SetColorProfile(termenv.Ascii)
	if colour {
		r.SetColorProfile(termenv.ANSI)
	}
	return Styles{
		AsSung: r.NewStyle().Foreground(cyan), Look: r.NewStyle().Foreground(yellow).Bold(true),
		Strong: r.NewStyle().Bold(true), Quiet: r.NewStyle().Faint(true), Colour: colour,
	}
}
