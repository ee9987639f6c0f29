package screen

import "strings"

// sameGlyph are characters that are written large as another is.
var sameGlyph = strings.NewReplacer("♭", "b", "♯", "#")

// placed is where a rune lies in large letters, in dots.
type placed struct{ row, x, width int }

// layOut breaks runes into rows of at most width dots, at spaces where it can. After the last rune comes the place of the cursor
// at the end. ok is false where a character cannot be written large.
func layOut(text []rune, width int) (places []placed, ok bool) {
	const endWidth = 3 // dots of the cursor at the end
	widths := make([]int, len(text), len(text)+1)
	for i, r := range text {
		g, found := glyphs[r]
		if !found {
			return nil, false
		}
		widths[i] = len(g[0])
	}
	widths = append(widths, endWidth)
	row, x := 0, 0
	for i, w := range widths {
		word := 0 // dots of the word that begins here
		if i < len(text) && text[i] != ' ' && (i == 0 || text[i-1] == ' ') {
			for k := i; k < len(text) && text[k] != ' '; k++ {
				word += widths[k] + 1
			}
		}
		space := i < len(text) && text[i] == ' '
		if x > 0 && (x+word-1 > width && word-1 <= width || x+w > width && !space) {
			row, x = row+1, 0
		}
		places = append(places, placed{row, x, w})
		x += w + 1
	}
	return places, true
}

// largeLine writes text as large as it fits into width columns and so many rows, with a mark under the cursor; nil where it does not fit.
func largeLine(text []rune, at, width, rows int) []string {
	text = []rune(sameGlyph.Replace(string(text)))
	const tallWidth = 110 // columns from which a dot is two columns of a row: below, a few notes would fill it
	if width >= tallWidth {
		if lines := linesOfDots(text, at, width/2, rows, true); lines != nil {
			return lines
		}
	}
	return linesOfDots(text, at, width, rows, false)
}

// linesOfDots draws text in dots, which are whole cells two columns wide (tall), or half a cell high.
func linesOfDots(text []rune, at, dotsWide, rows int, tall bool) []string {
	places, ok := layOut(text, dotsWide)
	if !ok {
		return nil
	}
	high := (glyphRows + 1) / 2
	if tall {
		high = glyphRows
	}
	count := places[len(places)-1].row + 1
	if count*(high+1) > rows {
		return nil
	}
	var lines []string
	for row := range count {
		var dots [glyphRows]string
		mark := ""
		for i, p := range places {
			if p.row != row {
				continue
			}
			if i == at {
				mark = strings.Repeat(" ", p.x) + strings.Repeat(string(cursorMark), p.width)
			}
			if i < len(text) && p.x+p.width <= dotsWide {
				for y, part := range glyphs[text[i]] {
					dots[y] += strings.Repeat(" ", p.x-len(dots[y])) + part
				}
			}
		}
		if tall {
			for _, line := range dots {
				lines = append(lines, doubled.Replace(line))
			}
			lines = append(lines, doubled.Replace(mark))
			continue
		}
		lines = append(append(lines, halves(dots)...), mark)
	}
	return lines
}

// doubled makes a dot two columns wide.
var doubled = strings.NewReplacer("#", "██", " ", "  ", string(cursorMark), strings.Repeat(string(cursorMark), 2))
