package draw

import (
	"io"
	"math"
	"strings"
	"testing"
)

// TestCanvas: text, dots and a stroke; the Braille patterns are those of the Unicode chart (U+2801 dot 1, U+2880 dot 8, U+28C0 dots 7 and 8).
func TestCanvas(t *testing.T) {
	c := NewCanvas(6, 2)
	c.Put(-1, 0, "xab", Ruled)
	c.Put(5, 0, "yz", Marked)
	c.Put(0, 7, "no", Marked)
	c.Dot(2, 0, Voiced)
	c.Dot(3.6, 0.9, Voiced)
	c.Dot(math.NaN(), 0, Voiced)
	c.Dot(6, 0, Voiced)
	c.Stroke(0, 1.9, 1.9, 1.9, Voiced)
	c.Stroke(0, 0, math.Inf(1), 0, Voiced)
	want := "ab\u2801\u2880 y\n\u28c0\u28c0    "
	if got := strings.Join(c.Lines(NewStyles(io.Discard, false)), "\n"); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestLaterInkCovers: a cell in which a mark was written stays a mark.
func TestLaterInkCovers(t *testing.T) {
	c := NewCanvas(1, 1)
	c.Dot(0, 0, Marked)
	c.Dot(0.5, 0, Voiced)
	if c.inks[0][0] != Marked {
		t.Error("the voice covers a mark")
	}
}
