package command

import (
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/keyboard"
	"larkhand/internal/music"
	"larkhand/internal/page"
	"larkhand/internal/report"
)

// keysAtHand is the flags of the keys command.
type keysAtHand struct {
	numbering, chart, html string
	plain, json            bool
}

func newKeys() *cobra.Command {
	var k keysAtHand
	cmd := &cobra.Command{
		Use:   "keys KEY...",
		Short: "Show a key's letters under its numbers, and where they lie on a keyboard",
		Long: `Show a key's letters under its numbers, and where they lie on a keyboard; with --chart
also a scale for each chord, bar by bar: the key's own notes, bent where the chord asks
for it. --html writes pages for the music stand, one a key, to be printed.

Keys: major, minor, harmonic minor, melodic minor, dorian, phrygian, lydian, mixolydian,
locrian, blues, major pentatonic, minor pentatonic, on any note.`,
		Example: "  larkhand keys \"Eb dorian\"\n  larkhand keys \"C minor\" --chart \"Cm7 | Fm7 | G7b9 | Cm7\"\n" +
			"  larkhand keys \"F major\" \"Bb major\" \"Eb major\" --html stand.html",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return wrongUse("name a key, such as larkhand keys \"Eb dorian\"")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return k.run(cmd, args) },
	}
	f := cmd.Flags()
	f.StringVar(&k.numbering, "numbering", music.AlteredNumbers.String(), "`custom` of the numbers: scale counts the key's own scale, altered counts against major")
	complete(cmd, "numbering", music.ScaleNumbers.String(), music.AlteredNumbers.String())
	f.StringVar(&k.chart, "chart", "", "`chords` in bars, such as \"Cm7 | Fm7 | G7b9 | Cm7\"")
	f.StringVar(&k.html, "html", "", "write pages for the music stand to this `file`")
	f.BoolVar(&k.plain, "plain", false, "in words, without the drawing, for a screen reader")
	f.BoolVar(&k.json, "json", false, "print JSON (schema "+report.KeysSchema+"), one line a key")
	exclusive(cmd, "plain", "json")
	return cmd
}

func (k keysAtHand) run(cmd *cobra.Command, names []string) error {
	numbering, err := music.ParseNumbering(k.numbering)
	if err != nil {
		return wrongValue("numbering", err)
	}
	var chart *music.Chart
	if k.chart != "" {
		c, err := music.ParseChart(k.chart)
		if err != nil {
			return wrongValue("chart", err)
		}
		chart = &c
	}
	var all []report.KeysDocument
	for _, name := range names {
		key, err := music.ParseKey(name)
		if err != nil {
			return wrongUse("%v", err)
		}
		all = append(all, report.NewKeysDocument(key, numbering, chart))
	}
	out := cmd.OutOrStdout()
	if k.html != "" {
		if err := writeFile(k.html, nil, func(w io.Writer) error { return writeKeysPage(w, all) }); err != nil {
			return err
		}
		_, err := fmt.Fprintf(out, "%s for the music stand: %s.\n", counted(len(all), "page"), k.html)
		return err
	}
	for i, d := range all {
		switch {
		case k.json:
			err = json.NewEncoder(out).Encode(d)
		case k.plain:
			err = report.KeysWords(out, d)
		default:
			if i > 0 {
				fmt.Fprintln(out)
			}
			err = report.KeysText(out, d)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// keysPage is the body of the pages for the music stand.
var keysPage = template.Must(template.New("keys").Funcs(template.FuncMap{"drawing": drawing, "row": report.ChordScaleDocument.Words}).Parse(
	`{{range .}}<section class="stand" aria-label="{{.Key}}"><h2>{{.Key}}</h2>
<div class="scroll" tabindex="0" role="region" aria-label="The numbers and letters of {{.Key}}"><table><caption>Letters under numbers</caption>
<tr><th scope="row">number</th>{{range .Notes}}<td>{{.Degree}}</td>{{end}}</tr>
<tr><th scope="row">letter</th>{{range .Notes}}<td>{{.Letter}}</td>{{end}}</tr></table></div>
{{drawing .}}
{{with .Bars}}<div class="scroll" tabindex="0" role="region" aria-label="The chords bar by bar"><table><caption>Bar by bar; the notes of the chord in brackets</caption>
<thead><tr><th scope="col">bar</th><th scope="col">chord</th><th scope="col">to play over it</th></tr></thead><tbody>
{{range .}}{{$bar := .Bar}}{{range .Chords}}<tr><td>{{$bar}}</td><th scope="row">{{.Symbol}}</th><td>{{row .}}</td></tr>
{{end}}{{end}}</tbody></table></div>{{end}}</section>
{{end}}`))

// drawing is the keyboard of a key.
func drawing(d report.KeysDocument) (template.HTML, error) {
	var b strings.Builder
	var letters []string
	for _, n := range d.Notes {
		letters = append(letters, n.Letter)
	}
	const octaves = 2
	err := keyboard.SVG(&b, d.Marks(), octaves, "Keyboard with "+strings.Join(letters, ", "))
	return template.HTML(b.String()), err // the package escapes its texts
}

func writeKeysPage(w io.Writer, all []report.KeysDocument) error {
	var body strings.Builder
	if err := keysPage.Execute(&body, all); err != nil {
		return err
	}
	title := "Keys at hand"
	if len(all) == 1 {
		title = all[0].Key
	}
	return page.Write(w, page.Page{Title: title, Body: template.HTML(body.String()), Program: "larkhand " + programVersion()})
}
