package screen

import (
	"strings"

	"larkhand/internal/screen/draw"
)

// glyphRows is the height of a big letter in dots.
const glyphRows = 5

// glyphs are the big letters (own drawing): five rows of dots each.
var glyphs = map[rune][glyphRows]string{
	'A': {" # ", "# #", "###", "# #", "# #"}, 'B': {"## ", "# #", "## ", "# #", "## "}, 'C': {" ##", "#  ", "#  ", "#  ", " ##"},
	'D': {"## ", "# #", "# #", "# #", "## "}, 'E': {"###", "#  ", "## ", "#  ", "###"}, 'F': {"###", "#  ", "## ", "#  ", "#  "},
	'G': {" ##", "#  ", "# #", "# #", " ##"}, 'H': {"# #", "# #", "###", "# #", "# #"}, 'I': {"###", " # ", " # ", " # ", "###"},
	'K': {"# #", "# #", "## ", "# #", "# #"}, 'L': {"#  ", "#  ", "#  ", "#  ", "###"}, 'M': {"#   #", "## ##", "# # #", "#   #", "#   #"},
	'N': {"#  #", "## #", "# ##", "#  #", "#  #"}, 'O': {"###", "# #", "# #", "# #", "###"}, 'P': {"## ", "# #", "## ", "#  ", "#  "},
	'R': {"## ", "# #", "## ", "# #", "# #"}, 'S': {" ##", "#  ", " # ", "  #", "## "}, 'T': {"###", " # ", " # ", " # ", " # "},
	'U': {"# #", "# #", "# #", "# #", "###"}, 'V': {"# #", "# #", "# #", "# #", " # "}, 'W': {"#   #", "#   #", "# # #", "## ##", "#   #"},
	'Y': {"# #", "# #", " # ", " # ", " # "},
	'0': {"###", "# #", "# #", "# #", "###"}, '1': {" # ", "## ", " # ", " # ", "###"}, '2': {"## ", "  #", " # ", "#  ", "###"},
	'3': {"###", "  #", " ##", "  #", "###"}, '4': {"# #", "# #", "###", "  #", "  #"}, '5': {"###", "#  ", "## ", "  #", "## "},
	'6': {" ##", "#  ", "###", "# #", "###"}, '7': {"###", "  #", "  #", " # ", " # "}, '8': {"###", "# #", "###", "# #", "###"},
	'9': {"###", "# #", "###", "  #", "## "},
	'a': {"   ", " ##", "# #", "# #", " ##"}, 'b': {"#  ", "#  ", "## ", "# #", "## "}, 'd': {"  #", "  #", " ##", "# #", " ##"},
	'g': {" ##", "# #", " ##", "  #", "## "}, 'i': {"#", " ", "#", "#", "#"}, 'j': {" #", "  ", " #", " #", "# "},
	'l': {"# ", "# ", "# ", "# ", " #"}, 'm': {"     ", "#### ", "# # #", "# # #", "# # #"}, 's': {"   ", " ##", "#  ", "  #", "## "},
	'c': {"   ", " ##", "#  ", "#  ", " ##"}, 'e': {"   ", " # ", "# #", "## ", " ##"}, 'f': {" ##", " # ", "###", " # ", " # "},
	'n': {"   ", "## ", "# #", "# #", "# #"}, '?': {"## ", "  #", " # ", "   ", " # "}, '|': {"#", "#", "#", "#", "#"}, ',': {"  ", "  ", "  ", " #", "# "},
	't': {" # ", "###", " # ", " # ", " ##"}, 'u': {"   ", "# #", "# #", "# #", " ##"},
	'#': {" # # ", "#####", " # # ", "#####", " # # "}, '/': {"  #", "  #", " # ", "#  ", "#  "}, '+': {"   ", " # ", "###", " # ", "   "},
	'-': {"   ", "   ", "###", "   ", "   "}, '.': {" ", " ", " ", " ", "#"}, '(': {" #", "# ", "# ", "# ", " #"}, ')': {"# ", " #", " #", " #", "# "},
	' ': {"  ", "  ", "  ", "  ", "  "},
}

// dots draws text in rows of dots; ok is false where a letter is not among the big ones.
func dots(text string) (rows [glyphRows]string, ok bool) {
	for i, r := range []rune(text) {
		g, found := glyphs[r]
		if !found {
			return rows, false
		}
		for y := range rows {
			if i > 0 {
				rows[y] += " "
			}
			rows[y] += g[y]
		}
	}
	return rows, true
}

// big draws text as large as it fits into width columns: a dot as two columns of a row (5 rows), or as half a row (3 rows).
// Where neither fits, or height is too small, it is one row of plain text.
func big(text string, width, height int) []string {
	rows, ok := dots(text)
	switch wide := len(rows[0]); {
	case ok && 2*wide <= width && height >= glyphRows:
		lines := make([]string, glyphRows)
		for y, row := range rows {
			lines[y] = doubled.Replace(row)
		}
		return lines
	case ok && wide <= width && height >= (glyphRows+1)/2:
		return halves(rows)
	}
	return []string{draw.Clip(text, width)}
}

// halves puts two rows of dots into each row of text.
func halves(rows [glyphRows]string) []string {
	var lines []string
	for y := 0; y < glyphRows; y += 2 {
		var line strings.Builder
		for x := range rows[y] {
			upper, lower := rows[y][x] == '#', y+1 < glyphRows && rows[y+1][x] == '#'
			switch {
			case upper && lower:
				line.WriteString("█")
			case upper:
				line.WriteString("▀")
			case lower:
				line.WriteString("▄")
			default:
				line.WriteString(" ")
			}
		}
		lines = append(lines, line.String())
	}
	return lines
}

// bigChord draws a chord symbol as large as it fits. Of one that is too wide for large letters the beginning is large, from its
// root on, and the rest stands in plain letters on the lowest row.
func bigChord(symbol string, width, height int) []string {
	if _, ok := dots(symbol); !ok || len(big(symbol, width, height)) > 1 || height < (glyphRows+1)/2 {
		return big(symbol, width, height)
	}
	runes := []rune(symbol)
	for n := len(runes) - 1; n > 0; n-- {
		lines := big(string(runes[:n]), width-len(runes[n:])-1, (glyphRows+1)/2)
		if len(lines) > 1 {
			lines[len(lines)-1] += " " + string(runes[n:])
			return lines
		}
	}
	return big(symbol, width, height)
}
