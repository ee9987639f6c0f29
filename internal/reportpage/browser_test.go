package reportpage_test

import (
	"strings"
	"testing"

	"larkhand/internal/page/browser"
)

// TestInBrowser opens a whole report, with a hostile name wherever a name can stand.
func TestInBrowser(t *testing.T) {
	r := full(t, hostile)
	r.Rows = r.Rows[:12] // axe-core looks at each cell of the list, and more lines are more of the same
	tab := browser.Open(t, written(t, r))
	t.Run("drawn", func(t *testing.T) {
		var got struct {
			Title, Heading                     string
			Pictures, Plots, Notations, Staves int
			Twice, Outside, Injected           []string
			Blank                              int
		}
		tab.Run(`(() => {
			const all = Array.from(document.querySelectorAll("[id]")).map(e => e.id);
			return {
				Title: document.title, Heading: document.querySelector("h1").textContent,
				Pictures: document.querySelectorAll(".picture svg.sheet path.curve").length,
				Plots: document.querySelectorAll(".plots svg.sheet").length,
				Notations: document.querySelectorAll(".notation").length,
				Staves: document.querySelectorAll(".notation svg .abcjs-staff").length,
				Twice: all.filter((id, i) => all.indexOf(id) !== i),
				Outside: Array.from(document.querySelectorAll("[src],[href],[xlink\\:href]")).map(e => e.getAttribute("src") || e.getAttribute("href") || "").filter(a => !a.startsWith("#") && !a.startsWith("data:")),
				Injected: Array.from(document.querySelectorAll("img, [onerror], script")).filter(e => e.tagName !== "SCRIPT" || e.textContent.length < 100).map(e => e.outerHTML),
				Blank: Array.from(document.querySelectorAll("svg")).filter(e => e.getBoundingClientRect().height < 5 && !e.closest("details")).length,
			};
		})()`, &got)
		if want := "The rounds of " + hostile; got.Title != strings.Join(strings.Fields(want), " ") || got.Heading != want {
			t.Errorf("title %q, heading %q", got.Title, got.Heading)
		}
		if got.Pictures != 2 || got.Plots != 4 || got.Notations != 4 || got.Staves < 4 || got.Blank != 0 {
			t.Errorf("drawn: %+v", got)
		}
		if len(got.Twice)+len(got.Outside)+len(got.Injected) > 0 {
			t.Errorf("ids twice %q, addresses %q, elements out of names %q", got.Twice, got.Outside, got.Injected)
		}
	})
	t.Run("sound", func(t *testing.T) {
		var lengths []float64
		tab.Run(`Promise.all(Array.from(document.querySelectorAll("audio")).map(a => new Promise((done, failed) => {
			a.addEventListener("error", () => failed(new Error(a.getAttribute("aria-label") + ": " + (a.error && a.error.message))));
			if (a.readyState >= 4) done(a.duration); else a.addEventListener("canplaythrough", () => done(a.duration));
			a.preload = "auto"; a.load();
		})))`, &lengths)
		if len(lengths) != 6 {
			t.Fatalf("%d sounds, want two takes and an answer of two rounds", len(lengths))
		}
		// The demo's takes last 9.0 s, its answer some 6 s and the tail.
		for i, want := range []float64{9, 9, 6.5, 9, 9, 6.5} {
			if d := lengths[i] - want; d < -0.7 || d > 0.7 {
				t.Errorf("sound %d lasts %.2f s, want about %.1f", i, lengths[i], want)
			}
		}
	})
	t.Run("line moves with the sound", func(t *testing.T) {
		var got struct {
			Seen    bool
			At      string
			Waiting bool
		}
		tab.Run(`new Promise(done => {
			const [take, answer] = [1, 2].map(i => document.querySelectorAll("audio")[i]);
			const line = document.querySelector("#" + take.dataset.picture + " .playhead.sung");
			take.muted = answer.muted = true;
			take.addEventListener("timeupdate", function once() {
				if (take.currentTime < 0.1) return;
				take.removeEventListener("timeupdate", once);
				const at = line.getAttribute("transform"), seen = getComputedStyle(line).visibility === "visible";
				answer.play().then(() => { const waiting = take.paused; answer.pause(); done({Seen: seen, At: at, Waiting: waiting}); });
			});
			take.play();
		})`, &got)
		if !got.Seen || !strings.HasPrefix(got.At, "translate(") || !got.Waiting {
			t.Errorf("while take 2 played: %+v", got)
		}
	})
	tab.Run(`document.querySelectorAll("details").forEach(d => d.open = true)`, nil)
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
