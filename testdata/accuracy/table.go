package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"larkhand/internal/stats"
)

// table is one table of the report: plain text in columns, or Markdown.
type table struct {
	title string
	head  []string
	rows  [][]string
	notes []string // sentences under the table
}

// add puts one row below the others.
func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// write prints the table. The first column is left-aligned, the others right-aligned.
func (t table) write(w io.Writer, markdown bool) {
	widths := make([]int, len(t.head))
	for _, row := range append([][]string{t.head}, t.rows...) {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	if markdown {
		fmt.Fprintf(w, "### %s\n\n", t.title)
	} else {
		fmt.Fprintf(w, "%s\n", t.title)
	}
	line(w, t.head, widths, markdown)
	rule(w, widths, markdown)
	for _, row := range t.rows {
		line(w, row, widths, markdown)
	}
	if len(t.notes) > 0 && markdown {
		fmt.Fprintln(w)
	}
	for _, note := range t.notes {
		fmt.Fprintln(w, note)
	}
	fmt.Fprintln(w)
}

// line prints one row.
func line(w io.Writer, row []string, widths []int, markdown bool) {
	cells := make([]string, len(row))
	for i, cell := range row {
		pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
		if i == 0 {
			cells[i] = cell + pad
		} else {
			cells[i] = pad + cell
		}
	}
	if markdown {
		fmt.Fprintf(w, "| %s |\n", strings.Join(cells, " | "))
	} else {
		fmt.Fprintln(w, strings.TrimRight(strings.Join(cells, "  "), " "))
	}
}

// rule prints the line between the head and the rows.
func rule(w io.Writer, widths []int, markdown bool) {
	if !markdown {
		total := 2 * (len(widths) - 1)
		for _, width := range widths {
			total += width
		}
		fmt.Fprintln(w, strings.Repeat("-", total))
		return
	}
	for i, width := range widths {
		if i == 0 {
			fmt.Fprintf(w, "|:%s", strings.Repeat("-", width+1))
		} else {
			fmt.Fprintf(w, "|%s:", strings.Repeat("-", width+1))
		}
	}
	fmt.Fprintln(w, "|")
}

// tally is a share with its counts.
type tally struct{ hits, of int }

// count adds one trial.
func (t *tally) count(hit bool) {
	t.of++
	if hit {
		t.hits++
	}
}

// add sums two tallies.
func (t *tally) add(o tally) { t.hits, t.of = t.hits+o.hits, t.of+o.of }

// share is in percent, "-" of nothing.
func (t tally) share() string {
	if t.of == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f %%", 100*float64(t.hits)/float64(t.of))
}

// counts is "hits/of".
func (t tally) counts() string { return fmt.Sprintf("%d/%d", t.hits, t.of) }

// interval is the Wilson 95 % interval in percent.
func (t tally) interval() string {
	if t.of == 0 {
		return "-"
	}
	low, high := stats.Wilson(t.hits, t.of)
	return fmt.Sprintf("%.1f to %.1f", 100*low, 100*high)
}

// target is a bound in percent that a share should keep.
type target struct {
	percent float64
	atLeast bool
}

// String is empty for no target.
func (g target) String() string {
	switch {
	case g == target{}:
		return ""
	case g.atLeast:
		return fmt.Sprintf("at least %g %%", g.percent)
	default:
		return fmt.Sprintf("at most %g %%", g.percent)
	}
}

// verdict says whether the share keeps the target.
func (g target) verdict(t tally) string {
	if (g == target{}) || t.of == 0 {
		return ""
	}
	share := 100 * float64(t.hits) / float64(t.of)
	if (g.atLeast && share >= g.percent) || (!g.atLeast && share <= g.percent) {
		return "met"
	}
	return "missed"
}

// addShare puts a row of name, share, interval, counts, target and whether it is met.
func (t *table) addShare(name string, s tally, g target) {
	t.add(name, s.share(), s.interval(), s.counts(), g.String(), g.verdict(s))
}

// shareHead is the head that fits addShare.
func shareHead(first string) []string {
	return []string{first, "share", "95 % interval", "counts", "target", ""}
}
