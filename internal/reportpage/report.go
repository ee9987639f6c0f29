package reportpage

import (
	"embed"
	"html/template"
	"io"
	"strings"
	"time"

	"larkhand/internal/page"
	"larkhand/internal/report"
	"larkhand/internal/round"
)

// Report is what the page is made of.
type Report struct {
	Made    time.Time // now, on the clock that hangs on the wall
	Program string    // name and version
	// Choice says in words which rounds were chosen, such as "rounds in C minor"; "" for all.
	Choice string
	// Players are those whose progress is shown. The title names a single one.
	Players []report.ProgressView
	// More is how many more players have such rounds, whose progress is not shown.
	More int
	// Rows are the rounds of the list, the newest first; Total is how many there are, Rows may have fewer.
	Rows  []Row
	Total int
	// Rounds are those that are shown whole.
	Rounds []Round
	// Remarks are sentences on what could not be shown.
	Remarks []string
}

// Row is a round in the list.
type Row struct {
	Number       int64
	At           time.Time
	Sang, Played string // may be empty
	Key          string
	Phrase       []string // degrees
	Same         int      // notes played as sung
	Label        string   // known, unsure, searched
	Response     *float64 // s; nil where not known
}

// Round is one that is shown whole.
type Round struct {
	Row
	Judged round.Round
	Takes  []Sound // as they were sung; those of MIDI files have no Data
	Answer Sound
	// Remarks are sentences on its files, or on a judgement that differs from the one that is kept.
	Remarks []string
}

// Sound is something to listen to.
type Sound struct{ Data []byte } // a FLAC file; nil for none

// MostSound is how many bytes of sound one page holds: with it a page is about 33 MB, which browsers open within a few seconds and most mail
// does not carry (own choice).
const MostSound = 24 << 20

//go:embed *.html
var files embed.FS

var body = template.Must(template.New("body.html").Funcs(template.FuncMap{
	"counted": counted, "day": func(t time.Time) string { return t.Format(dayLayout) }, "minute": func(t time.Time) string { return t.Format(minuteLayout) },
	"join": strings.Join, "machine": func(t time.Time) string { return t.Format(time.RFC3339) },
}).ParseFS(files, "*.html"))

const (
	dayLayout    = "2006-01-02"
	minuteLayout = "2006-01-02 15:04"
)

// Write writes the page.
func Write(w io.Writer, r Report) error {
	v := view(r)
	var lead, content strings.Builder
	if err := body.ExecuteTemplate(&lead, "lead.html", v); err != nil {
		return err
	}
	if err := body.ExecuteTemplate(&content, "body.html", v); err != nil {
		return err
	}
	return page.Write(w, page.Page{
		Title: v.Title, Lead: template.HTML(lead.String()), Body: template.HTML(content.String()), Program: r.Program, Notation: len(r.Rounds) > 0,
	})
}
