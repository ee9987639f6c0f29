package class

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/mattn/go-runewidth"

	"larkhand/internal/progress"
	"larkhand/internal/stats"
)

// textWidth is the longest line, characters.
const textWidth = 80

// The widths of the columns; with two spaces between them they and the last one have 80 characters.
const (
	nameWidth     = 18
	roundsWidth   = 6
	knownWidth    = 17
	responseWidth = 18
)

// cells counts the same on every machine: letters that are wide in some countries' terminals only are narrow.
var cells = &runewidth.Condition{StrictEmojiNeutral: true}

// Text writes the table and then what is to be said of each player. Names of columns and players are bold with colour.
func (t Table) Text(w io.Writer, colour bool) error {
	bold := func(s string) string {
		if colour {
			return "\x1b[1m" + s + "\x1b[0m" // ECMA-48 SGR
		}
		return s
	}
	var b strings.Builder
	fmt.Fprintln(&b, bold(textRow("player", "rounds", "known", "answer begins", "take 2")))
	for _, l := range t.Players {
		fmt.Fprintln(&b, strings.TrimRight(textRow(l.Label, fmt.Sprint(l.Rounds), l.knownCell(), l.responseCell(), l.Settling.cell()), " "))
		below := []string{l.habitCell()}
		if weak := l.weakCell(); weak != "" {
			below = append(below, "weak link: "+weak)
		}
		for _, text := range below {
			if text != "" {
				writeWrapped(&b, strings.Repeat(" ", nameWidth+2), strings.Repeat(" ", nameWidth+2), text)
			}
		}
	}
	fmt.Fprintln(&b)
	writeWrapped(&b, "", "", Reading)
	for _, l := range t.Players {
		fmt.Fprintf(&b, "\n%s\n", bold(cells.Truncate(l.Label, textWidth, "…")))
		for _, s := range l.Sentences() {
			writeWrapped(&b, "  - ", "    ", s)
		}
		if len(l.Listen) > 0 {
			fmt.Fprintln(&b, "  Listen to these first")
		}
		for _, r := range l.Listen {
			writeWrapped(&b, "  - ", "    ", r.title()+": "+r.Reason)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Reading says how the table is to be read.
const Reading = "Known: of the answers that can be told, with the 95 % interval; where intervals overlap, no difference between players is shown. Answer begins: " +
	"median and middle half. Take 2: whether it is steadier than take 1. Weak link: what fails between voice and fingers, where steps were written down."

func textRow(name, rounds, known, response, take2 string) string {
	fill := func(s string, width int) string { return cells.FillRight(cells.Truncate(s, width, "…"), width) }
	return fill(name, nameWidth) + "  " + fmt.Sprintf("%*s", roundsWidth, rounds) + "  " + fill(known, knownWidth) + "  " + fill(response, responseWidth) + "  " + take2
}

func writeWrapped(b *strings.Builder, first, rest, text string) {
	for i, line := range wrapped(text, textWidth-len(rest)) {
		if i == 0 {
			fmt.Fprintln(b, first+line)
		} else {
			fmt.Fprintln(b, rest+line)
		}
	}
}

// wrapped breaks text between words into lines of at most width cells. A longer word stands alone.
func wrapped(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case cells.StringWidth(line)+1+cells.StringWidth(word) > width:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}

// knownCell is "62 % (56 to 68)", or why there is none.
func (l Line) knownCell() string {
	if !l.Enough || l.Known.Trials == 0 {
		return "too few"
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*l.Known.Value, 100*l.Known.Low, 100*l.Known.High)
}

func (l Line) responseCell() string {
	switch {
	case l.Response.N == 0:
		return "-"
	case l.Response.N < progress.Least:
		return "too few"
	}
	return fmt.Sprintf("%.1f s (%.1f to %.1f)", l.Response.Median, l.Response.Lower, l.Response.Upper)
}

// habitCell lists the habits in short.
func (l Line) habitCell() string {
	var out []string
	for _, h := range l.Habits {
		out = append(out, h.Short())
	}
	return strings.Join(out, "; ")
}

// cell is the state of the second takes in a table.
func (s Settling) cell() string {
	switch {
	case s.State == NotTold:
		return "no change"
	case s.State != TooFew:
		return string(s.State)
	case s.Takes > 0:
		return "too few"
	}
	return "-"
}

// title names a round for somebody who wants to find it.
func (r Listen) title() string {
	return fmt.Sprintf("%s, %s, %s in %s", r.At.Format("2006-01-02 15:04"), r.Key, r.UID, r.Bundle)
}

// middle is the median and quartiles as they are written, empty where there are too few to mean anything.
func middle(s stats.Spread) (lower, median, upper float64) {
	if s.N == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	return s.Lower, s.Median, s.Upper
}
