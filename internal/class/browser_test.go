package class

import (
	"os"
	"path/filepath"
	"testing"

	"larkhand/internal/page/browser"
)

// TestInBrowser opens a class of which one player has a hostile name: nothing of it is taken for markup, nothing is asked for, and nobody
// is kept out.
func TestInBrowser(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.html")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := hostileTable().HTML(f, "<b>test</b>"); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	tab := browser.Open(t, path)
	t.Run("drawn", func(t *testing.T) {
		var got struct {
			Title, Name, Heading string
			Rows, Bars           int
			Twice, Lost, Outside []string
			Injected             []string
		}
		tab.Run(`(() => {
			const all = Array.from(document.querySelectorAll("[id]")).map(e => e.id);
			const links = Array.from(document.querySelectorAll("[src],[href],[xlink\\:href]")).map(e => e.getAttribute("src") || e.getAttribute("href") || "");
			return {
				Title: document.title,
				Name: document.querySelector("th.name").textContent, Heading: document.querySelector("section h2").textContent,
				Rows: document.querySelectorAll("tbody tr").length, Bars: document.querySelectorAll("td svg.measure").length,
				Twice: all.filter((id, i) => all.indexOf(id) !== i),
				Lost: links.filter(a => a.startsWith("#") && !document.getElementById(a.slice(1))),
				Outside: links.filter(a => !a.startsWith("#") && !a.startsWith("data:")),
				Injected: Array.from(document.querySelectorAll("img, b, [onerror], script")).filter(e => e !== document.querySelector("body > script")).map(e => e.outerHTML),
			};
		})()`, &got)
		if got.Title != "The class" || got.Name != hostile || got.Heading != hostile || got.Rows != 2 || got.Bars != 1 {
			t.Errorf("drawn: %+v", got)
		}
		if len(got.Twice)+len(got.Lost)+len(got.Outside)+len(got.Injected) > 0 {
			t.Errorf("ids twice %q, links to nowhere %q, addresses %q, elements out of names %q", got.Twice, got.Lost, got.Outside, got.Injected)
		}
	})
	for _, look := range []struct {
		name string
		browser.Look
	}{
		{"light", browser.Look{Width: 1100, Height: 900}},
		{"dark", browser.Look{Width: 1100, Height: 900, Dark: true}},
		{"phone", browser.Look{Width: 390, Height: 844, Phone: true}},
		{"paper", browser.Look{Width: 800, Height: 1100, Print: true, Dark: true}},
	} {
		t.Run(look.name, func(t *testing.T) {
			tab.See(look.Look)
			var width int
			tab.Run("document.documentElement.scrollWidth", &width)
			if width > look.Width {
				t.Errorf("the page is %d px wide on %d", width, look.Width)
			}
			for _, barrier := range tab.Barriers(t) {
				t.Error(barrier)
			}
		})
	}
	t.Run("quiet", func(t *testing.T) {
		if asked := tab.Requests(); len(asked) > 0 {
			t.Errorf("asked for %q", asked)
		}
		if troubles := tab.Troubles(); len(troubles) > 0 {
			t.Errorf("the browser says %q", troubles)
		}
	})
}
