package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"maps"
	"math"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
)

// browsers are the names under which Chromium is installed.
var browsers = []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"}

var errNoBrowser = errors.New("pictures need Chromium: install it, or leave out -pictures")

// shot is a picture of the beginning of a page.
type shot struct {
	name          string // of the page and of the picture, without ending
	width, height int    // px
	args          func(dir, page string) []string
}

// shots are the pictures of the README: as much of the pages as says what they are. The report has one round in it, so that its links
// take one line.
var shots = []shot{
	{"report", 900, 1215, func(dir, page string) []string {
		return []string{"report", "--journal", filepath.Join(dir, journalDir), "--player", players[0].name, "--pictures", "1", "--force", "--out", page}
	}},
	{"class", 900, 870, func(dir, page string) []string { return []string{"class", filepath.Join(dir, classDir), "--out", page} }},
}

// draw makes pages of a season and writes a picture of each into a folder.
func draw(ctx context.Context, dir, larkhand, to string, shots []shot) error {
	program := ""
	for _, name := range browsers {
		if path, err := exec.LookPath(name); err == nil {
			program = path
			break
		}
	}
	if program == "" {
		return errNoBrowser
	}
	for _, s := range shots {
		page := filepath.Join(dir, s.name+".html")
		if _, err := call(ctx, larkhand, s.args(dir, page)...); err != nil {
			return err
		}
		large := filepath.Join(dir, s.name+".png")
		if err := s.take(ctx, program, page, large); err != nil {
			return err
		}
		if err := reduce(large, filepath.Join(to, s.name+".png")); err != nil {
			return err
		}
	}
	return nil
}

// take lets the browser draw the beginning of a page.
func (s shot) take(ctx context.Context, program, page, path string) error {
	absolute, err := filepath.Abs(page)
	if err != nil {
		return err
	}
	profile, err := os.MkdirTemp("", "larkhand-season-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(profile)
	address := url.URL{Scheme: "file", Path: filepath.ToSlash(absolute)}
	// /dev/shm is small in containers, and a browser run by root has no sandbox.
	cmd := exec.CommandContext(ctx, program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
		"--disable-background-networking", "--hide-scrollbars", "--force-color-profile=srgb", "--user-data-dir="+profile,
		fmt.Sprintf("--window-size=%d,%d", s.width, s.height), "--screenshot="+path, address.String())
	if text, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w: %s", program, err, text)
	}
	return nil
}

// reduce writes a picture with few colours.
func reduce(from, to string) error {
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	defer f.Close()
	picture, err := png.Decode(f)
	if err != nil {
		return err
	}
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	return errors.Join(encoder.Encode(out, fewColours(picture)), out.Close())
}

// What fewColours keeps. Own: letters and lines look the same with these shades of their edges.
const (
	mostColours = 128
	nearColours = 12 // levels of 255, as a distance in red, green and blue: two colours as near are taken for one
)

// fewColours gives a picture the colours that it has most of and that are not near each other; every other becomes the nearest of them.
func fewColours(from image.Image) *image.Paletted {
	at := from.Bounds()
	count := map[color.NRGBA]int{}
	for y := at.Min.Y; y < at.Max.Y; y++ {
		for x := at.Min.X; x < at.Max.X; x++ {
			count[colour(from, x, y)]++
		}
	}
	all := slices.SortedFunc(maps.Keys(count), func(a, b color.NRGBA) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(code(a), code(b)))
	})
	var palette color.Palette
	for _, c := range all {
		near := func(p color.Color) bool { return distance(c, p.(color.NRGBA)) < nearColours }
		if len(palette) < mostColours && !slices.ContainsFunc(palette, near) {
			palette = append(palette, c)
		}
	}
	index := map[color.NRGBA]uint8{}
	for _, c := range all {
		index[c] = uint8(palette.Index(c))
	}
	out := image.NewPaletted(at, palette)
	for y := at.Min.Y; y < at.Max.Y; y++ {
		for x := at.Min.X; x < at.Max.X; x++ {
			out.SetColorIndex(x, y, index[colour(from, x, y)])
		}
	}
	return out
}

func distance(a, b color.NRGBA) float64 {
	r, g, bl := float64(a.R)-float64(b.R), float64(a.G)-float64(b.G), float64(a.B)-float64(b.B)
	return math.Sqrt(r*r + g*g + bl*bl)
}

func colour(from image.Image, x, y int) color.NRGBA {
	return color.NRGBAModel.Convert(from.At(x, y)).(color.NRGBA)
}

// code puts colours in an order, so that a picture comes out the same every time.
func code(c color.NRGBA) uint32 {
	return uint32(c.R)<<24 | uint32(c.G)<<16 | uint32(c.B)<<8 | uint32(c.A)
}
