package bleed

import (
	"math"
	"strings"
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// A loop known only by ear goes out by its own repeats, whether it came once or twice more, with a bad speaker too.
func TestLearnedLoop(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	loop := testLoop(t)
	period := float64(len(loop)) / roomsim.BackingRate
	for _, passes := range []float64{1, 2, 3} {
		s := setupFor(roomsim.Living(), -6)
		s.SkewPPM, s.Drive = 20, 2.5
		s.CountIn = period*passes + 0.8 // the loop comes out of silence: its first half second is left out
		rec, _ := record(t, s, 10)
		r, found, err := CleanLearned(rec.Take, WorkRate, LearnedOptions{VoiceFree: Span{0.5, s.CountIn - 0.05}})
		if err != nil {
			t.Fatal(err)
		}
		if want := period * (1 - 20e-6); math.Abs(found-want) > 2e-6 { // on the microphone's slower clock; 2 us are a thirtieth of a sample
			t.Errorf("%g passes: period %.6f s, want %.6f", passes, found, want)
		}
		truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS)
		if truth > -22 || r.Verdict > SomeBleed || r.ResidualDB < truth-6 {
			t.Errorf("%g passes: residual %.1f dB, predicted %.1f, verdict %v", passes, truth, r.ResidualDB, r.Verdict)
		}
	}
}

func TestLearnedLoopOfAMovingMicrophone(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	s := setupFor(roomsim.Living(), -6)
	s.MoveMetres = 0.2
	s.CountIn = 2*float64(len(testLoop(t)))/roomsim.BackingRate + 0.6
	rec, _ := record(t, s, 10)
	r, _, err := CleanLearned(rec.Take, WorkRate, LearnedOptions{VoiceFree: Span{0.5, s.CountIn - 0.05}, Period: 6.66})
	if err != nil {
		t.Fatal(err)
	}
	truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS)
	t.Logf("residual %.1f dB, truly %.1f, verdict %v", r.ResidualDB, truth, r.Verdict)
	if r.Method != Tracked || verdictOf(truth) > r.Verdict {
		t.Errorf("method %s, verdict %v where %.1f dB are left", r.Method, r.Verdict, truth)
	}
}

func TestNothingToLearn(t *testing.T) {
	hiss := toSingle(noise(20*WorkRate, 5))
	for _, c := range []struct {
		name string
		free Span
		want string
	}{
		{"no repeat", Span{0, 8}, "no repeat of the backing can be heard"},
		{"too short", Span{0, 1}, "too short to hold one pass"},
		{"beyond the take", Span{30, 40}, "too short to hold one pass"},
		{"backwards", Span{3, 2}, "end after it begins"},
	} {
		if _, _, err := CleanLearned(hiss, WorkRate, LearnedOptions{VoiceFree: c.free}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
}
