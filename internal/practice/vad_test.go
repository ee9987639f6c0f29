package practice

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"larkhand/internal/data/datadir"
	"larkhand/internal/data/sightsing"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// heardTurn is a beginning, pause or end of a voice.
type heardTurn struct {
	turn turn
	at   float64 // s, when it was
	told float64 // s, when it was told
}

// detect runs the detector over a sound as a session does.
func detect(t testing.TB, samples []float32, rate int) (turns []heardTurn, background float64) {
	t.Helper()
	e, err := newEar("test", rate)
	if err != nil {
		t.Fatal(err)
	}
	e.begin(0)
	for len(samples) > 0 {
		var chunk []float32
		chunk, samples = e.add(samples)
		f, ok := e.listen(chunk)
		if !ok {
			continue
		}
		if turn, at := e.detector.next(f, false); turn != nothing {
			turns = append(turns, heardTurn{turn, at, e.time(e.end)})
		}
	}
	return turns, e.detector.background
}

func only(turns []heardTurn, what turn) (out []heardTurn) {
	for _, h := range turns {
		if h.turn == what {
			out = append(out, h)
		}
	}
	return out
}

func noise(seconds, level float64, rate int) []float32 {
	rng := rand.New(rand.NewPCG(1, 2))
	out := make([]float32, int(seconds*float64(rate)))
	for i := range out {
		out[i] = float32(rng.NormFloat64() * math.Pow(10, level/20))
	}
	return out
}

// tone is a voice-like sound: ten harmonics.
func tone(seconds, hz, level float64, rate int) []float32 {
	out := make([]float32, int(seconds*float64(rate)))
	for i := range out {
		x := 0.0
		for h := 1.0; h <= 10; h++ {
			x += math.Sin(2*math.Pi*hz*h*float64(i)/float64(rate)) / h
		}
		out[i] = float32(x * math.Pow(10, level/20))
	}
	return out
}

func join(parts ...[]float32) (out []float32) {
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func add(a, b []float32) []float32 {
	out := make([]float32, len(a))
	for i := range a {
		out[i] = a[i] + b[i]
	}
	return out
}

func TestDetectorOnTones(t *testing.T) {
	const rate = 16000
	quiet := func(seconds float64) []float32 { return noise(seconds, -65, rate) }
	sound := join(quiet(1), tone(0.5, 220, -20, rate), quiet(0.1), tone(0.5, 262, -20, rate), quiet(0.22), tone(0.5, 247, -20, rate), quiet(1))
	turns, _ := detect(t, sound, rate)
	// Told after 60, 150 and 300 ms and the delay of live frames, 50 ms. What becomes an end is a pause first.
	want := []heardTurn{{began, 1, 1.15}, {paused, 2.1, 2.35}, {paused, 2.82, 3.05}, {ended, 2.82, 3.2}}
	if len(turns) != len(want) {
		t.Fatalf("%+v", turns)
	}
	for i, w := range want {
		// Live frames are 64 ms long, so that moments are known within half of that.
		if g := turns[i]; g.turn != w.turn || math.Abs(g.at-w.at) > 0.035 || g.told > w.told {
			t.Errorf("turn %d: %+v, want %+v", i, g, w)
		}
	}
}

func TestDetectorIsNotFooled(t *testing.T) {
	const rate = 16000
	hum := add(noise(4, -55, rate), tone(4, 50, -60, rate))
	clicks := noise(4, -60, rate)
	for i := 0; i < len(clicks); i += rate / 3 {
		copy(clicks[i:], noise(0.01, -6, rate))
	}
	for name, sound := range map[string][]float32{
		"silence": make([]float32, 4*rate), "soft noise": noise(4, -50, rate), "loud noise": noise(4, -20, rate), "hum": hum, "clicks": clicks,
	} {
		if turns, _ := detect(t, sound, rate); len(turns) > 0 {
			t.Errorf("%s: %+v", name, turns)
		}
	}
}

// While nobody is to sing, the loop in the microphone becomes the background, and a voice must rise above it.
func TestDetectorLearnsTheLoop(t *testing.T) {
	d := newVoiceDetector()
	frame := func(at, level float64) voice.Frame { return voice.Frame{Time: at, F0: 110, Voiced: 0.9, Level: level} }
	at := 0.0
	for ; at < 4; at += voice.Hop {
		if turn, _ := d.next(frame(at, -40+5*math.Sin(at)), true); turn != nothing {
			t.Fatal("a voice while nobody is to sing")
		}
	}
	for ; at < 5; at += voice.Hop {
		if turn, _ := d.next(frame(at, -36), false); turn != nothing {
			t.Fatal("the loop is taken for a voice")
		}
	}
	for ; at < 6; at += voice.Hop {
		if turn, _ := d.next(frame(at, -20), false); turn == began {
			return
		}
	}
	t.Error("the voice over the loop is not heard")
}

// On the demo's takes: one voice each, from the first note to the end of the last.
func TestDetectorOnTheDemo(t *testing.T) {
	d := theDemo()
	for i, take := range [][]float32{d.take1, d.take2} {
		truth := d.meta.First
		if i == 1 {
			truth = d.meta.Second
		}
		turns, _ := detect(t, join(take, noise(1, -62, d.rate)), d.rate)
		begins, ends := only(turns, began), only(turns, ended)
		if len(begins) == 0 || len(ends) == 0 {
			t.Fatalf("take %d: %+v", i+1, turns)
		}
		first, last := begins[0], ends[len(ends)-1]
		t.Logf("take %d: %d voices from %+.3f s, told %+.3f s later, to %+.3f s, told %+.3f s later", i+1, len(begins),
			first.at-truth[0].Onset, first.told-truth[0].Onset, last.at-truth[len(truth)-1].Offset, last.told-truth[len(truth)-1].Offset)
		if math.Abs(first.at-truth[0].Onset) > 0.06 || math.Abs(last.at-truth[len(truth)-1].Offset) > 0.12 {
			t.Errorf("take %d: from %+v to %+v, want %g to %g", i+1, first, last, truth[0].Onset, truth[len(truth)-1].Offset)
		}
		for k := 1; k < len(begins); k++ { // breaths between phrases are shorter than what ends a take
			if gap := begins[k].at - ends[k-1].at; gap > 1 {
				t.Errorf("take %d: a hole of %.2f s", i+1, gap)
			}
		}
	}
}

// On real singing: how much of the sung notes is heard as voice, and how long the longest hole inside a phrase is.
func TestDetectorOnRealSinging(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	dir, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	clips, err := sightsing.Load(filepath.Join(dir, "sightsing"))
	if err != nil {
		t.Fatal(err)
	}
	sung, heard, early, notes, missed, tried := 0.0, 0.0, 0, 0, 0, 0
	const one = 6 // clip in so many, so that the test is short
	for i, clip := range clips {
		if i%one != 0 {
			continue
		}
		tried++
		sound, err := soundfile.Read(clip.Sound)
		if err != nil {
			t.Fatal(err)
		}
		turns, _ := detect(t, sound.Samples, sound.Rate)
		begins, ends := only(turns, began), only(turns, ended)
		if len(ends) < len(begins) {
			ends = append(ends, heardTurn{ended, sound.Duration(), sound.Duration()})
		}
		for _, n := range clip.Notes {
			notes++
			inside := 0.0
			for i := range begins {
				inside += math.Max(0, math.Min(n.Offset, ends[i].at)-math.Max(n.Onset, begins[i].at))
			}
			sung += n.Offset - n.Onset
			heard += inside
			if inside == 0 {
				missed++
			}
		}
		if len(clip.Notes) > 0 && len(begins) > 0 && begins[0].at < clip.Notes[0].Onset-0.5 {
			early++
		}
	}
	t.Logf("%d clips, %d notes: %.1f %% of the sung time is heard, %d notes are not heard at all, %d voices begin half a second early", tried, notes, 100*heard/sung, missed, early)
	if heard < 0.97*sung || missed > notes/100 {
		t.Error("the detector misses singing")
	}
}
