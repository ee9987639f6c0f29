// Package keyboard draws where notes lie on a piano keyboard, as text and as SVG: one octave from C to B, or more.
//
// A drawing has black keys above and white ones below. A note has its letter on the key, and its number with it; a key without a note
// shows a dot.
//
// # Conventions
//
// Pitch classes are 0 (C) to 11 (B). The drawing is own.
//
// # Non-goals
//
// No fingering, no staff, no sound.
package keyboard

import (
	"fmt"
	"html"
	"io"
	"strings"
)

// Note is one note to be shown.
type Note struct {
	Class  int    // pitch class
	Letter string // "Eb"
	Number string // "b3"; may be empty
}

// whites are the pitch classes of the white keys; blacks those of the black ones with the white key that each lies behind.
var (
	whites = [...]int{0, 2, 4, 5, 7, 9, 11}
	blacks = [...]struct{ class, after int }{{1, 0}, {3, 1}, {6, 3}, {8, 4}, {10, 5}}
)

// cell is the width of a white key in characters.
const cell = 6

// Text draws one octave in four lines of 42 characters: the black keys' letters and numbers, then the white keys'. A drawing of
// letters alone has two lines.
func Text(notes []Note) []string {
	at := byClass(notes)
	width := cell * len(whites)
	black, white := [2][]rune{blank(width), blank(width)}, [2][]rune{blank(width), blank(width)}
	numbered := false
	put := func(lines [2][]rune, middle, class int) {
		n, ok := at[class]
		if !ok {
			lines[0][middle] = '·'
			return
		}
		numbered = numbered || n.Number != ""
		for i, text := range []string{n.Letter, n.Number} {
			start := middle - (len([]rune(text))-1)/2
			for k, r := range []rune(text) {
				if start+k < width {
					lines[i][start+k] = r
				}
			}
		}
	}
	for i, class := range whites {
		put(white, cell*i+cell/2-1, class)
	}
	for _, b := range blacks {
		put(black, cell*(b.after+1)-1, b.class)
	}
	lines := [][]rune{black[0], black[1], white[0], white[1]}
	if !numbered {
		lines = [][]rune{black[0], white[0]}
	}
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = strings.TrimRight(string(l), " ")
	}
	return out
}

func byClass(notes []Note) map[int]Note {
	at := map[int]Note{}
	for _, n := range notes {
		if _, taken := at[n.Class]; !taken {
			at[n.Class] = n
		}
	}
	return at
}

func blank(width int) []rune { return []rune(strings.Repeat(" ", width)) }

// Sizes of the drawing, pixels.
const (
	whiteWide, whiteTall = 44.0, 130.0
	blackWide, blackTall = 28.0, 80.0
	lineTall             = 15.0
)

// SVG draws octaves one beside the other; label says in words what the drawing shows, for those who do not see it. Colours come from
// the CSS variables --paper, --ink, --rule and --same where the page sets them.
func SVG(w io.Writer, notes []Note, octaves int, label string) error {
	at := byClass(notes)
	var b strings.Builder
	width := whiteWide * float64(len(whites)*octaves)
	fmt.Fprintf(&b, `<svg class="keyboard" xmlns="http://www.w3.org/2000/svg" viewBox="-1 -1 %g %g" role="img" aria-label="%s" font-family="sans-serif" font-size="13" text-anchor="middle">`,
		width+2, whiteTall+2, html.EscapeString(label))
	for o := range octaves {
		left := whiteWide * float64(len(whites)*o)
		for i, class := range whites {
			x := left + whiteWide*float64(i)
			fmt.Fprintf(&b, `<rect x="%g" y="0" width="%g" height="%g" rx="3" fill="var(--raised,#fffefb)" stroke="var(--soft,#5f6365)"/>`, x, whiteWide, whiteTall)
			mark(&b, at, class, x+whiteWide/2, whiteTall-28, "var(--ink,#23282d)")
		}
		for _, k := range blacks {
			x := left + whiteWide*float64(k.after+1) - blackWide/2
			fmt.Fprintf(&b, `<rect x="%g" y="0" width="%g" height="%g" rx="2" fill="#2d3338" stroke="var(--soft,#5f6365)"/>`, x, blackWide, blackTall)
			mark(&b, at, k.class, x+blackWide/2, blackTall-28, "#fffefb")
		}
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// mark writes the letter and number of a key.
func mark(b *strings.Builder, at map[int]Note, class int, x, y float64, ink string) {
	n, ok := at[class]
	if !ok {
		return
	}
	fmt.Fprintf(b, `<text x="%g" y="%g" font-weight="600" fill="%s">%s</text>`, x, y, ink, html.EscapeString(n.Letter))
	if n.Number != "" {
		fmt.Fprintf(b, `<text x="%g" y="%g" font-size="12" fill="%s">%s</text>`, x, y+lineTall, ink, html.EscapeString(n.Number))
	}
}
