package main

import (
	"errors"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"
)

// checkPictures draws the report of a season and looks at the picture: the size that was asked for, few colours, small, and not blank.
func checkPictures(t *testing.T, larkhand, dir string) {
	to := t.TempDir()
	if err := draw(t.Context(), dir, larkhand, to, shots[:1]); errors.Is(err, errNoBrowser) {
		t.Skip("skipped: no Chromium is installed; \"make test\" installs it")
	} else if err != nil {
		t.Fatal(err)
	}
	for _, s := range shots[:1] {
		f, err := os.Open(filepath.Join(to, s.name+".png"))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		info, err := f.Stat()
		if err != nil {
			t.Fatal(err)
		}
		picture, err := png.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		const mostBytes = 120_000
		p, ok := picture.(*image.Paletted)
		if at := picture.Bounds(); !ok || at.Dx() != s.width || at.Dy() != s.height || info.Size() > mostBytes {
			t.Errorf("%s: %T of %v, %d bytes", s.name, picture, at, info.Size())
		} else if len(p.Palette) < mostColours/4 {
			t.Errorf("%s: %d colours; a page with text has more", s.name, len(p.Palette))
		}
	}
}

func TestFewColours(t *testing.T) {
	// Much white, less of a grey that is near it, and one red point: the grey is taken for white, the red stays.
	from := image.NewNRGBA(image.Rect(5, 7, 15, 8))
	white, grey, red := color.NRGBA{255, 255, 255, 255}, color.NRGBA{250, 250, 250, 255}, color.NRGBA{154, 52, 18, 255}
	want := []color.NRGBA{white, white, white, white, white, white, white, white, white, red}
	for x := range want {
		from.SetNRGBA(5+x, 7, want[x])
	}
	from.SetNRGBA(6, 7, grey)
	from.SetNRGBA(7, 7, grey)
	got := fewColours(from)
	if got.Bounds() != from.Bounds() || len(got.Palette) != 2 {
		t.Fatalf("%v with %d colours", got.Bounds(), len(got.Palette))
	}
	for x := range want {
		if got.At(5+x, 7) != want[x] {
			t.Errorf("point %d: %v, want %v", x, got.At(5+x, 7), want[x])
		}
	}
	// All shades of red and green, 65,536 colours.
	many := image.NewNRGBA(image.Rect(0, 0, 256, 256))
	for y := range 256 {
		for x := range 256 {
			many.SetNRGBA(x, y, color.NRGBA{uint8(x), uint8(y), 0, 255})
		}
	}
	if n := len(fewColours(many).Palette); n != mostColours {
		t.Errorf("%d colours, want %d", n, mostColours)
	}
}
