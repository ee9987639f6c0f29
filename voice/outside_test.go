package voice_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"larkhand/internal/singer"
	"larkhand/internal/soundfile"
)

// praatPitch asks praat, a general program for phonetics, for the pitch of a
// sound file at some times by its autocorrelation method (Boersma 1993) and writes it to another file.
const praatPitch = `Read from file: "%s"
To Pitch (ac): 0.01, 55, 15, "yes", 0.03, 0.45, 0.01, 0.35, 0.14, 1200
for i from 1 to 8
  f = Get value at time: 0.1 * i, "Hertz", "linear"
  appendFileLine: "%s", f
endfor
`

// The pitch of tones and glides against another program's measurement.
func TestPitchAgainstPraat(t *testing.T) {
	program, err := exec.LookPath("praat")
	if err != nil {
		t.Skip("skipped: praat is not installed (Debian package praat)")
	}
	dir := t.TempDir()
	curves := map[string]func(t float64) float64{}
	for _, hz := range []float64{82.4, 130.8, 220, 440, 659.3, 880} {
		curves[fmt.Sprintf("%.0f Hz", hz)] = func(float64) float64 { return hz }
	}
	curves["glide"] = func(t float64) float64 { return 200 * math.Exp2(t) }
	curves["vibrato"] = func(t float64) float64 { return 330 * math.Exp2(0.3/12*math.Sin(2*math.Pi*5*t)) }
	for name, f0 := range curves {
		t.Run(name, func(t *testing.T) {
			samples := singer.Tone(f0, 0.9, 44100)
			base := filepath.Join(dir, strings.ReplaceAll(name, " ", ""))
			if err := soundfile.WriteWAV(base+".wav", samples, 44100); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(base+".praat", fmt.Appendf(nil, praatPitch, base+".wav", base+".txt"), 0o644); err != nil {
				t.Fatal(err)
			}
			ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
			defer stop()
			if out, err := exec.CommandContext(ctx, program, "--run", base+".praat").CombinedOutput(); err != nil {
				t.Fatalf("praat: %v: %s", err, out)
			}
			out, err := os.ReadFile(base + ".txt")
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.Fields(string(out))
			if len(lines) != 8 {
				t.Fatalf("praat printed %q", out)
			}
			frames := analyse(t, samples, 44100).Frames
			for i, line := range lines {
				want, err := strconv.ParseFloat(line, 64)
				if err != nil {
					t.Fatal(err)
				}
				got := frames[10*(i+1)].F0
				// 10 cents: both average a moving pitch over their windows, of 64 ms here and 55 ms there.
				if cents := 1200 * math.Log2(got/want); !(math.Abs(cents) < 10) {
					t.Errorf("at %.1f s: %.2f Hz, praat says %.2f", 0.1*float64(i+1), got, want)
				}
			}
		})
	}
}
