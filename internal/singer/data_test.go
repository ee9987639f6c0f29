package singer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/soundfile"
)

// The generator beside real singing: long-term spectrum, and how deep the level dips between notes. Real clips and their annotated notes
// come from the data folder; without it the test is skipped.
func TestLikeRealSinging(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	const clips = 12
	real := realClips(t, clips)
	var sung character
	for k := range uint64(2 * clips) {
		rng := rand.New(rand.NewPCG(k, 77))
		v := RandomVoice(rng)
		notes := Take(rng, Style(k%2), v, RandomHabits(rng), 15) // solfege and la, as the clips are
		x := RandomRoom(rng).Record(Render(notes, v, 16000, k), 16000, k)
		sung.add(x, 16000, Truths(notes))
	}
	for b, edge := range bandEdges[:len(bandEdges)-1] {
		// 8 dB: voices of one kind differ by as much.
		r, s := median(real.bands[b]), median(sung.bands[b])
		if math.Abs(r-s) > 8 {
			t.Errorf("band from %g Hz: %.1f dB of the whole, real singing %.1f", edge, s, r)
		}
	}
	if r, s := median(real.dips), median(sung.dips); math.Abs(r-s) > 5 {
		t.Errorf("the level dips by %.1f dB between notes, in real singing by %.1f", s, r)
	}
}

var bandEdges = []float64{125, 250, 500, 1000, 2000, 4000, 7000} // Hz

// character is what a set of recordings is like.
type character struct {
	bands [6][]float64 // dB relative to the whole, one value a recording
	dips  []float64    // dB, one value for each pair of close notes
}

func (c *character) add(x []float32, rate int, notes []Truth) {
	whole := levelOf(x)
	for b := range c.bands {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = float64(v)
		}
		for range 2 {
			filter(y, highPass(bandEdges[b], float64(rate)))
			filter(y, lowPass2(bandEdges[b+1], float64(rate)))
		}
		power := 1e-14
		for _, v := range y {
			power += v * v / float64(len(y))
		}
		c.bands[b] = append(c.bands[b], 10*math.Log10(power)-whole)
	}
	const close, margin, window, hop = 0.15, 0.04, 0.02, 0.005 // s
	for i := 1; i < len(notes); i++ {
		before, n := notes[i-1], notes[i]
		end := n.Onset + 0.75*(n.Offset-n.Onset)
		if n.Onset-before.Offset > close || before.Offset < margin || end > float64(len(x))/float64(rate) {
			continue
		}
		dip := 0.0
		vowel := levelOf(slice(x, n.Onset+0.25*(n.Offset-n.Onset), end, rate))
		for from := before.Offset - margin; from < n.Onset; from += hop {
			dip = math.Max(dip, vowel-levelOf(slice(x, from, from+window, rate)))
		}
		c.dips = append(c.dips, dip)
	}
}

func median(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	return s[len(s)/2]
}

func realClips(t *testing.T, most int) (c character) {
	data := os.Getenv("LARKHAND_DATA")
	if data == "" {
		data = filepath.Join("..", "..", "..", "shared", "data")
	}
	files, _ := filepath.Glob(filepath.Join(data, "sightsing", "*.flac"))
	if len(files) < most {
		t.Skip("skipped: no data")
	}
	for i := range most {
		path := files[i*len(files)/most]
		sound, err := soundfile.Read(path)
		if err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile(strings.TrimSuffix(path, ".flac") + ".txt")
		if err != nil {
			t.Fatal(err)
		}
		var notes []Truth
		for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
			var n Truth
			if _, err := fmt.Sscan(line, &n.Onset, &n.Offset, &n.Pitch); err != nil {
				t.Fatalf("%s: %q: %v", path, line, err)
			}
			notes = append(notes, n)
		}
		c.add(sound.Samples, sound.Rate, notes)
	}
	return c
}
