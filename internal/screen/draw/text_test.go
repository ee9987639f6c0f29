package draw

import (
	"bytes"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	"pgregory.net/rapid"
)

// TestNothingIsWider: whatever the text, what comes back fits.
func TestNothingIsWider(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-z 日é─⠤]{0,40}`).Draw(t, "text")
		width := rapid.IntRange(0, 30).Draw(t, "width")
		if w := lipgloss.Width(Clip(text, width)); w > width {
			t.Errorf("Clip: %d columns of %d", w, width)
		}
		if w := lipgloss.Width(Pad(text, width)); w != width {
			t.Errorf("Pad: %d columns, want %d", w, width)
		}
		if w := lipgloss.Width(Ends(text, text, width)); w > width {
			t.Errorf("Ends: %d columns of %d", w, width)
		}
		if width < 2 { // a wide character needs two
			return
		}
		for _, line := range Wrap(text, width) {
			if w := lipgloss.Width(line); w > width {
				t.Errorf("Wrap: %d columns of %d", w, width)
			}
		}
		height := rapid.IntRange(1, 9).Draw(t, "height")
		if lines := strings.Split(Page(Wrap(text, width), []string{text}, width, height), "\n"); len(lines) != height {
			t.Errorf("Page: %d lines, want %d", len(lines), height)
		}
	})
}

// TestAround: as many lines as there is room for, in their order, the one at the place among them.
func TestAround(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lines []string
		for i := range rapid.IntRange(1, 30).Draw(t, "lines") {
			lines = append(lines, strings.Repeat("x", i))
		}
		at, rows := rapid.IntRange(0, len(lines)-1).Draw(t, "at"), rapid.IntRange(1, 40).Draw(t, "rows")
		got := Around(lines, at, rows)
		if len(got) != min(rows, len(lines)) {
			t.Fatalf("%d lines, want %d", len(got), min(rows, len(lines)))
		}
		if first := len(got[0]); at < first || at >= first+len(got) || len(got[len(got)-1]) != first+len(got)-1 {
			t.Errorf("lines %d to %d without %d", first, len(got[len(got)-1]), at)
		}
	})
}

// TestStylesWithoutColour: then text is plain, so that nothing hangs on colour.
func TestStylesWithoutColour(t *testing.T) {
	var out bytes.Buffer
	st := NewStyles(&out, false)
	for _, s := range []lipgloss.Style{st.AsSung, st.Look, st.Strong, st.Quiet} {
		if got := s.Render("x"); got != "x" {
			t.Errorf("%q", got)
		}
	}
	if got := NewStyles(&out, true).Look.Render("x"); got == "x" {
		t.Error("no escape sequence with colour")
	}
}
