package bleed

import (
	"math"
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// A path learned in one take serves another that has no voice-free stretch, though its delay and gain changed, and is refused where it is damaged.
func TestStoredPath(t *testing.T) {
	s := setupFor(roomsim.Living(), -6)
	rec, loop := record(t, s, 10)
	first, err := Clean(rec.Take, loop, WorkRate, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	// The second take begins where the voice does: 5 ms later by the buffers, and half as loud.
	const later = WorkRate * 5 / 1000
	from := rec.Sung.From - later
	take := make([]float32, len(rec.Take)-from)
	for n := range take {
		take[n] = rec.Take[from+n] / 2
	}
	opt := Options{BackingRate: roomsim.BackingRate, Loops: true, Start: -float64(from+later) / WorkRate, SkewKnown: true, Path: first.Path}
	second, err := Clean(take, loop, WorkRate, opt)
	if err != nil {
		t.Fatal(err)
	}
	left, sung := 0.0, 0.0
	for n := later; n < len(take); n++ {
		d := 2*float64(second.Samples[n]) - rec.Voice[from+n]
		left += d * d
		sung += rec.Voice[from+n] * rec.Voice[from+n]
	}
	truth := toDB(math.Max(0, left-fromDB(s.NoiseDBFS)*float64(len(take)-later)) / sung)
	if truth > -25 || second.Method != Fixed || second.Verdict > SomeBleed {
		t.Errorf("residual %.1f dB by method %s, verdict %v; want below -25 dB by the stored path", truth, second.Method, second.Verdict)
	}
	if second.ResidualDB < truth-8 {
		t.Errorf("predicted residual %.1f dB, truly %.1f", second.ResidualDB, truth)
	}
	damaged := *first.Path
	damaged.Taps = append([]float64{math.NaN()}, damaged.Taps[1:]...)
	opt.Path = &damaged
	if _, err := Clean(take, loop, WorkRate, opt); err == nil {
		t.Error("a path with a tap that is no number was taken")
	}
}

// A path from somewhere else must not be forced upon a take without bleed.
func TestStoredPathWithoutBleed(t *testing.T) {
	rec, loop := record(t, setupFor(roomsim.Small(), -6), 10)
	first, err := Clean(rec.Take, loop, WorkRate, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	r, err := Clean(toSingle(sungTones(10, 9)), loop, WorkRate, Options{BackingRate: roomsim.BackingRate, Loops: true, SkewKnown: true, Path: first.Path})
	if err != nil {
		t.Fatal(err)
	}
	if r.Present || r.Method != Untouched {
		t.Errorf("present %v, method %s: want the take untouched", r.Present, r.Method)
	}
}
