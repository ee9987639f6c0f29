package bleed

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/bleed/roomsim"
)

// Skew and delay must come out as simulated, nearly nothing may be left, and the prediction must say so.
func TestStillRooms(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	for i, c := range []struct {
		room    roomsim.Room
		bleedDB float64
		skew    float64
	}{{roomsim.Small(), -12, 0}, {roomsim.Living(), -6, 20}, {roomsim.Large(), 0, -50}, {roomsim.Living(), -20, 50}} {
		t.Run(fmt.Sprintf("%s %g dB %g ppm", c.room.Name, c.bleedDB, c.skew), func(t *testing.T) {
			s := setupFor(c.room, c.bleedDB)
			s.SkewPPM, s.DelayMs = c.skew, []float64{20, 60, 100, 150}[i]
			rec, loop := record(t, s, 12)
			r, err := Clean(rec.Take, loop, WorkRate, testOptions())
			if err != nil {
				t.Fatal(err)
			}
			// 0.5 ppm lets the take drift by 0.15 samples in 20 s. At -20 dB the bleed lies near the noise, which hides more.
			tolerance := 0.5
			if c.bleedDB <= -20 {
				tolerance = 2.5
			}
			if math.Abs(r.SkewPPM-c.skew) > tolerance {
				t.Errorf("skew %.2f ppm, want %g", r.SkewPPM, c.skew)
			}
			if d := r.DelaySeconds - s.DelayMs/1000; d < 0.001 || d > 0.02 { // through the air: 1 to 6 m
				t.Errorf("delay %.4f s, want a little more than %.4f", r.DelaySeconds, s.DelayMs/1000)
			}
			truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS)
			if truth > -28 || r.Method != Fixed || r.Verdict != Usual {
				t.Errorf("residual %.1f dB by method %s, verdict %v; want below -28 dB, fixed, usual", truth, r.Method, r.Verdict)
			}
			if math.Abs(r.BleedDB-c.bleedDB) > 2 { // the voice's rests count a little differently
				t.Errorf("bleed %.1f dB, want %g", r.BleedDB, c.bleedDB)
			}
			if r.ResidualDB < truth-8 {
				t.Errorf("predicted residual %.1f dB, truly %.1f", r.ResidualDB, truth)
			}
			if len(r.Remarks) == 0 || len(r.Path.Taps) != pathTaps {
				t.Error("want a remark on the bleed and the path")
			}
		})
	}
}

// What moves or breaks must never pass as a usual take unless it is as clean as one.
func TestFaultsAreMarked(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	for _, c := range []struct {
		name   string
		change func(*roomsim.Setup)
		least  Verdict
		method Method
		remark string
	}{
		{"automatic gain", func(s *roomsim.Setup) { s.AGC = true }, Marked, Tracked, "changed during the take"},
		{"10 ms lost", func(s *roomsim.Setup) { s.DropoutAt, s.DropoutMs = 12, 10 }, Marked, Pieces, "lost"},
		{"microphone drifts", func(s *roomsim.Setup) { s.MoveMetres = 0.2 }, SomeBleed, Tracked, "keep the microphone still"},
		{"far too loud", func(s *roomsim.Setup) { s.MoveMetres, s.BleedDB = 0.3, 14 }, Unusable, Tracked, "drowns"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := setupFor(roomsim.Living(), -6)
			c.change(&s)
			rec, loop := record(t, s, 14)
			r, err := Clean(rec.Take, loop, WorkRate, testOptions())
			if err != nil {
				t.Fatal(err)
			}
			truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS)
			t.Logf("%s: M %.1f, residual %.1f, truly %.1f dB, verdict %v", r.Method, r.DriftDB, r.ResidualDB, truth, r.Verdict)
			if r.Verdict < c.least || r.Method != c.method {
				t.Errorf("verdict %v by method %s, want %v or worse by %s", r.Verdict, r.Method, c.least, c.method)
			}
			if !strings.Contains(strings.Join(r.Remarks, " "), c.remark) {
				t.Errorf("remarks %q do not say %q", r.Remarks, c.remark)
			}
		})
	}
}

// The microphone that lost samples is set right again, not only marked.
func TestLostSamplesAreMended(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	s := setupFor(roomsim.Small(), -6)
	s.DropoutAt, s.DropoutMs = 12, 10
	rec, loop := record(t, s, 14)
	r, err := Clean(rec.Take, loop, WorkRate, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS); truth > -25 {
		t.Errorf("residual %.1f dB, want below -25", truth)
	}
}

// Without bleed the samples come back bit for bit, whatever the rate.
func TestNoBleedChangesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	for _, rate := range []int{16000, 44100, 48000} {
		voice := make([]float32, 12*rate)
		hiss := noise(len(voice), 4)
		tones := sungTones(12, 2)
		for i := range voice {
			if at := i * WorkRate / rate; at > 6*WorkRate {
				voice[i] = float32(tones[at])
			}
			voice[i] += float32(0.003 * hiss[i])
		}
		given := slices.Clone(voice)
		opt := testOptions()
		opt.VoiceFree = []Span{{0, 6}}
		r, err := Clean(voice, testLoop(t), rate, opt)
		if err != nil {
			t.Fatal(err)
		}
		if r.Method != Untouched || r.Present || r.Rate != rate || !slices.Equal(r.Samples, given) || r.Verdict != Usual || len(r.Remarks) != 0 {
			t.Errorf("%d Hz: method %s, present %v, verdict %v, remarks %q; want the samples untouched", rate, r.Method, r.Present, r.Verdict, r.Remarks)
		}
	}
}

// Bleed too soft to do harm is left alone and said.
func TestSoftBleedIsLeftAlone(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	rec, loop := record(t, setupFor(roomsim.Small(), -34), 10)
	r, err := Clean(rec.Take, loop, WorkRate, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if r.Method != Untouched || !slices.Equal(r.Samples, rec.Take) || r.Verdict != Usual {
		t.Errorf("method %s, verdict %v; want untouched, usual", r.Method, r.Verdict)
	}
}

// The backing need not be told to start with the take, nor which stretches are free of voice.
func TestUnknownStartAndStretches(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	s := setupFor(roomsim.Small(), -6)
	s.SkewPPM = 20
	rec, loop := record(t, s, 12)
	late := 3 * WorkRate / 2 // the take is cut, so the loop is in its middle when it begins
	rec.Take, rec.Voice = rec.Take[late:], rec.Voice[late:]
	rec.Sung.From, rec.Sung.To = rec.Sung.From-late, rec.Sung.To-late
	r, err := Clean(rec.Take, loop, WorkRate, Options{BackingRate: roomsim.BackingRate, Loops: true, StartUnknown: true})
	if err != nil {
		t.Fatal(err)
	}
	if truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS); truth > -25 || r.Verdict != Usual {
		t.Errorf("residual %.1f dB, verdict %v, want below -25 and usual", truth, r.Verdict)
	}
	if len(r.VoiceFree) == 0 || r.VoiceFree[0].From > 0.5 || r.VoiceFree[0].To > 5.3 {
		t.Errorf("found stretches %v free of voice; the count-in ends at 5.2 s", r.VoiceFree)
	}
}

// The way of a live round: both at 48 kHz, the whole backing given, started before the take.
func TestBackingThatStartedEarlier(t *testing.T) {
	s := setupFor(roomsim.Small(), -6)
	rec, loop := record(t, s, 10)
	const start = -2.5
	backing := slices.Concat(make([]float32, int(-start*roomsim.BackingRate)), roomsim.Repeat(loop, 20*roomsim.BackingRate))
	opt := testOptions()
	opt.Loops, opt.Start = false, start
	r, err := Clean(rec.Take, backing, WorkRate, opt)
	if err != nil {
		t.Fatal(err)
	}
	if truth := trueResidualDB(rec, r.Samples, s.NoiseDBFS); truth > -28 {
		t.Errorf("residual %.1f dB, want below -28", truth)
	}
	// The speaker's silence before the take counts as backing, so the sound arrives as late as without it.
	if d := r.DelaySeconds - 0.06; d < 0.001 || d > 0.02 {
		t.Errorf("delay %.4f s, want a little more than 0.06", r.DelaySeconds)
	}
}

func TestBadInput(t *testing.T) {
	good := toSingle(noise(2*WorkRate, 1))
	for _, c := range []struct {
		name          string
		take, backing []float32
		rate          int
		opt           Options
		want          string
	}{
		{"no take", nil, good, 16000, Options{}, "the take is empty"},
		{"no backing", good, nil, 16000, Options{}, "the backing is empty"},
		{"rate too low", good, good, 8000, Options{}, "need 16000 to 96000 Hz"},
		{"backing's rate too high", good, good, 16000, Options{BackingRate: 192000}, "need 16000 to 96000 Hz"},
		{"take too short", good[:8000], good, 16000, Options{}, "at least 1 s"},
		{"take too long", make([]float32, 601*16000), good, 16000, Options{}, "at most 600 s"},
		{"stretch backwards", good, good, 16000, Options{VoiceFree: []Span{{2, 1}}}, "end after it begins"},
		{"stretch not a number", good, good, 16000, Options{VoiceFree: []Span{{0, math.NaN()}}}, "end after it begins"},
		{"start not a number", good, good, 16000, Options{Start: math.NaN()}, "finite start"},
		{"skew absurd", good, good, 16000, Options{SkewKnown: true, SkewPPM: 1e5}, "within 500 ppm"},
	} {
		if _, err := Clean(c.take, c.backing, c.rate, c.opt); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
}

// Silence, a backing that ends early and samples that are no numbers must give a finite result.
func TestOddInput(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	rec, loop := record(t, setupFor(roomsim.Small(), -6), 6)
	silence := make([]float32, len(rec.Take))
	broken := slices.Clone(rec.Take)
	for i := 1000; i < len(broken); i += 5000 {
		broken[i] = float32(math.NaN())
		broken[i+1] = float32(math.Inf(1))
	}
	short := loop[:len(loop)/3]
	once := testOptions()
	once.Loops = false
	far := once
	far.Start = 1000
	for _, c := range []struct {
		name          string
		take, backing []float32
		opt           Options
	}{
		{"silent take", silence, loop, testOptions()},
		{"silent backing", rec.Take, silence, testOptions()},
		{"backing shorter than the take", rec.Take, short, once},
		{"samples that are no numbers", broken, loop, testOptions()},
		{"backing that starts after the take", rec.Take, loop, far},
		{"stretch beyond the take", rec.Take, loop, Options{BackingRate: roomsim.BackingRate, Loops: true, VoiceFree: []Span{{90, 99}}}},
		{"constant", slices.Repeat([]float32{0.5}, 40000), loop, testOptions()},
	} {
		r, err := Clean(c.take, c.backing, WorkRate, c.opt)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if len(r.Samples) != len(c.take) {
			t.Errorf("%s: %d samples, want %d", c.name, len(r.Samples), len(c.take))
		}
		for i, v := range r.Samples {
			if v != v || math.Abs(float64(v)) > 4 {
				t.Errorf("%s: sample %d is %g", c.name, i, v)
				break
			}
		}
	}
}

// A louder recording of the same take gives the same answer, louder.
func TestScaleDoesNotMatter(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	rec, loop := record(t, setupFor(roomsim.Small(), -6), 6)
	want, err := Clean(rec.Take, loop, WorkRate, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	for _, gain := range []float32{1. / 64, 0.25, 4} {
		scaled := make([]float32, len(rec.Take))
		for i, v := range rec.Take {
			scaled[i] = gain * v
		}
		got, err := Clean(scaled, loop, WorkRate, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.ResidualDB-want.ResidualDB) > 0.1 || got.Verdict != want.Verdict {
			t.Fatalf("gain %g: residual %.2f dB, want %.2f", gain, got.ResidualDB, want.ResidualDB)
		}
		for i, v := range got.Samples {
			if math.Abs(float64(v/gain-want.Samples[i])) > 1e-4 {
				t.Fatalf("gain %g, sample %d: %g, want %g", gain, i, v/gain, want.Samples[i])
			}
		}
	}
}

func BenchmarkClean28Seconds(b *testing.B) {
	rec, loop := record(b, setupFor(roomsim.Living(), -6), 21.3)
	for b.Loop() {
		if _, err := Clean(rec.Take, loop, WorkRate, testOptions()); err != nil {
			b.Fatal(err)
		}
	}
}

// The worst case: the microphone moves, so both filters run.
func BenchmarkCleanMoving28Seconds(b *testing.B) {
	s := setupFor(roomsim.Living(), -6)
	s.MoveMetres, s.SkewPPM = 0.1, 50
	rec, loop := record(b, s, 21.3)
	for b.Loop() {
		if _, err := Clean(rec.Take, loop, WorkRate, testOptions()); err != nil {
			b.Fatal(err)
		}
	}
}

// As in a live round: the path is known, and nothing else.
func BenchmarkCleanByPath28Seconds(b *testing.B) {
	rec, loop := record(b, setupFor(roomsim.Living(), -6), 21.3)
	first, err := Clean(rec.Take, loop, WorkRate, testOptions())
	if err != nil {
		b.Fatal(err)
	}
	opt := testOptions()
	opt.VoiceFree, opt.Path = nil, first.Path
	for b.Loop() {
		if _, err := Clean(rec.Take, loop, WorkRate, opt); err != nil {
			b.Fatal(err)
		}
	}
}
