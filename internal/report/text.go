package report

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"larkhand/hunt"
	"larkhand/internal/round"
	"larkhand/match"
)

// pageWidth is the number of characters in a line of text: the width of a terminal that nobody has made wider.
const pageWidth = 80

// Text writes what a person reads after a round: the summary, the phrase laid out from left to right, the evidence,
// what changed from take 1 to take 2, and the remarks. No line is longer than 80 characters. With colour, ANSI escape
// sequences pick out the same words.
func Text(w io.Writer, r round.Round, colour bool) error {
	p := &page{paint: painter(colour)}
	p.sentence(p.paint.strong, capital(Summary(r))+".")
	p.blank()
	p.sentence(plain, heading(r))
	p.blank()
	p.phrase(columns(r))
	p.evidence(r.Finding)
	p.steps(r)
	p.takes(r)
	p.remarks(r.Remarks)
	_, err := io.WriteString(w, p.String())
	return err
}

// page gathers lines.
type page struct {
	strings.Builder
	paint palette
}

func (p *page) line(text string) { p.WriteString(strings.TrimRight(text, " ") + "\n") }
func (p *page) blank()           { p.WriteString("\n") }

// sentence writes text over as many lines as it needs.
func (p *page) sentence(paint func(string) string, text string) {
	for _, line := range wrapped(text, pageWidth) {
		p.line(paint(line))
	}
}

// item writes text after a mark that hangs at the left.
func (p *page) item(mark, text string) {
	indent := utf8.RuneCountInString(mark) + 1
	for i, line := range wrapped(text, pageWidth-indent) {
		if i > 0 {
			mark = strings.Repeat(" ", indent-1)
		}
		p.line(mark + " " + line)
	}
}

// heading tells what the numbers count and which take they belong to.
func heading(r round.Round) string {
	key := r.Key.String()
	if r.KeyGuessed {
		key += " (guessed)"
	}
	last := r.Last()
	parts := []string{key}
	if len(r.Takes) > 1 {
		parts = append(parts, fmt.Sprintf("take %d", len(r.Takes)))
	}
	if !last.Written {
		parts = append(parts, fmt.Sprintf("own tuning %s cents", signedCents(last.Voice.TuningCents)))
	}
	switch o := r.Alignment.Octaves; {
	case o > 0:
		parts = append(parts, fmt.Sprintf("played %s higher", counted(o, "octave")))
	case o < 0:
		parts = append(parts, fmt.Sprintf("played %s lower", counted(-o, "octave")))
	}
	if ratio := r.Alignment.TempoRatio; ratio > 0 {
		parts = append(parts, fmt.Sprintf("at %.0f %% of the sung tempo", 100/ratio))
	}
	return strings.Join(parts, ", ")
}

// row is one line of the laid-out phrase.
type row struct {
	name  string
	cell  func(column) string
	paint func(column, string) string
}

// rows are the lines of the phrase; those that would be empty everywhere are left out.
func (p *page) rows(cols []column) []row {
	uncoloured := func(_ column, text string) string { return text }
	all := []row{
		{"number", func(c column) string { return inBrackets(c, c.degree) }, uncoloured},
		{"letter", func(c column) string { return c.letter }, uncoloured},
		{"centre", func(c column) string { return c.centre }, uncoloured},
		{"played", func(c column) string { return c.playedLetter }, uncoloured},
		{"chord", func(c column) string { return c.chord }, uncoloured},
		{"in chord", func(c column) string { return c.chordDegree }, uncoloured},
		{"verdict", func(c column) string { return string(c.verdict) }, p.verdict},
		{"evidence", func(c column) string { return c.marks }, func(_ column, text string) string { return p.paint.look(text) }},
	}
	var used []row
	for _, r := range all {
		for _, c := range cols {
			if r.cell(c) != "" {
				used = append(used, r)
				break
			}
		}
	}
	return used
}

// inBrackets sets the number of a note that was not sung apart from the phrase's own.
func inBrackets(c column, text string) string {
	if c.sung == match.None {
		return "(" + text + ")"
	}
	return text
}

func (p *page) verdict(c column, text string) string {
	if c.verdict == match.Same {
		return p.paint.asSung(text)
	}
	return p.paint.look(text)
}

// nameWidth is the width of the names at the left of the phrase, the gap after them included.
const nameWidth = len("evidence") + 2

// phrase writes the columns in as many blocks as fit the page.
func (p *page) phrase(cols []column) {
	rows := p.rows(cols)
	for start := 0; start < len(cols); {
		end, widths := fitting(cols, start, rows)
		for _, r := range rows {
			line := fmt.Sprintf("%-*s", nameWidth, r.name)
			for i, c := range cols[start:end] {
				text := r.cell(c)
				line += r.paint(c, text) + strings.Repeat(" ", widths[i]-utf8.RuneCountInString(text))
			}
			p.line(line)
		}
		p.blank()
		start = end
	}
}

// fitting finds how many columns from start fit on the page, at least one, and how wide each is.
func fitting(cols []column, start int, rows []row) (end int, widths []int) {
	const gap, narrowest = 2, 5 // characters; 5 keeps short columns at an even distance
	room := pageWidth - nameWidth + gap
	for end = start; end < len(cols); end++ {
		width := narrowest
		for _, r := range rows {
			width = max(width, utf8.RuneCountInString(r.cell(cols[end])))
		}
		width += gap
		if room -= width; room < 0 && end > start {
			break
		}
		widths = append(widths, width)
	}
	return end, widths
}

// evidence writes the sentences that the letters in the phrase point to.
func (p *page) evidence(f hunt.Finding) {
	if len(f.Evidence) == 0 {
		return
	}
	p.line(evidenceHeading(f))
	for i, e := range f.Evidence {
		mark := fmt.Sprintf("%3s", evidenceMark(i))
		p.item(mark, evidenceText(e))
	}
	p.blank()
}

// takes writes what changed from take 1 to take 2.
func (p *page) takes(r round.Round) {
	lines := changes(r)
	if len(lines) == 0 {
		return
	}
	p.line("From take 1 to take 2")
	for _, line := range lines {
		p.item("  -", line)
	}
	p.blank()
}

func (p *page) remarks(remarks []string) {
	if len(remarks) == 0 {
		return
	}
	p.line("Remarks")
	for _, text := range remarks {
		p.item("  -", text)
	}
	p.blank()
}

// capital starts a sentence.
func capital(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// Paragraph writes text broken into lines of at most 80 characters, and an empty line.
func Paragraph(w io.Writer, text string) error {
	p := &page{paint: painter(false)}
	p.sentence(plain, text)
	p.blank()
	_, err := io.WriteString(w, p.String())
	return err
}
