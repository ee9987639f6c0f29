package page

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"io"
)

//go:embed style.css
var style string

//go:embed script.js
var script string

//go:embed page.html
var markup string

// abcjs 6.7.2, the file abcjs-basic-min.js of its npm package, and its licence.
var (
	//go:embed abcjs/abcjs-basic-min.js
	abcjs string
	//go:embed abcjs/LICENSE.md
	abcjsLicence string
)

var frame = template.Must(template.New("page").Parse(markup))

// Page is one file.
type Page struct {
	Title    string        // of the window, and the first heading
	Lead     template.HTML // under the heading; may be empty
	Body     template.HTML // what stands in <main>
	Program  string        // name and version of the program, for the foot
	Notation bool          // whether Body has notation to be drawn
}

// Write writes the page.
func Write(w io.Writer, p Page) error {
	f := struct {
		Page
		Policy  string
		Style   template.CSS
		Scripts []template.JS
		Licence string
	}{Page: p, Style: template.CSS(style), Scripts: []template.JS{template.JS(script)}}
	if p.Notation {
		f.Scripts = []template.JS{template.JS(abcjs), template.JS(script)}
		f.Licence = abcjsLicence
	}
	f.Policy = policy(f.Scripts)
	return frame.Execute(w, f)
}

// policy allows the scripts by their checksums, styles in the page, and pictures and sounds in the page (Content Security Policy Level 3,
// W3C).
func policy(scripts []template.JS) string {
	text := "default-src 'none'; base-uri 'none'; form-action 'none'; style-src 'unsafe-inline'; img-src data:; media-src data:; script-src"
	for _, s := range scripts {
		sum := sha256.Sum256([]byte(s))
		text += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return text
}
