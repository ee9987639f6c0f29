package class

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"larkhand/internal/page"
	"larkhand/internal/progress"
)

//go:embed class.html
var markup string

var body = template.Must(template.New("class").Funcs(template.FuncMap{
	"known":    Line.knownCell,
	"response": Line.responseCell,
	"settles":  func(l Line) string { return l.Settling.cell() },
	"measure":  measure,
	"anchor":   func(i int) string { return fmt.Sprintf("player-%d", i+1) },
	"reading":  func() string { return Reading },
	"least":    func() int { return progress.Least },
	"counted":  counted,
}).Parse(markup))

// HTML writes the table as one page that opens offline in any browser. program is the version that writes it.
func (t Table) HTML(w io.Writer, program string) error {
	var main bytes.Buffer
	if err := body.Execute(&main, t); err != nil {
		return err
	}
	return page.Write(w, page.Page{Title: "The class", Lead: template.HTML(t.lead()), Body: template.HTML(main.String()), Program: "larkhand " + template.HTMLEscapeString(program)})
}

// lead says what the page is about; it holds no names.
func (t Table) lead() string {
	if len(t.Players) == 0 {
		return `<p class="summary">There are no rounds.</p>`
	}
	days := t.From.Format("2 January 2006")
	if to := t.To.Format("2 January 2006"); to != days {
		days += " to " + to
	}
	return fmt.Sprintf(`<p class="summary">%s, %s, %s.</p>`, counted(len(t.Players), "player"), counted(t.Rounds, "round"), days)
}

// measure draws a share as a bar with its interval, for the eye; the numbers stand beside it.
func measure(s progress.Share) template.HTML {
	const width, height, middle = 128.0, 14.0, 7.0 // px, those of the class "measure"
	if s.Trials == 0 {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="measure" viewBox="0 0 %.0f %.0f" aria-hidden="true">`, width, height)
	fmt.Fprintf(&b, `<rect x="0" y="2" width="%.1f" height="10" style="fill:var(--bar)"/>`, width*s.Value)
	fmt.Fprintf(&b, `<path d="M%.1f %.0fH%.1f" style="stroke:var(--same);stroke-width:2"/>`, width*s.Low, middle, width*s.High)
	fmt.Fprintf(&b, `<path d="M0 13.5H%.0f" style="stroke:var(--rule)"/></svg>`, width)
	return template.HTML(b.String())
}
