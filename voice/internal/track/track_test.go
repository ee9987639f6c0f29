package track

import (
	"math"
	"math/rand/v2"
	"testing"

	"larkhand/voice/internal/front"
)

func frames(x []float32) []front.Frame {
	a := front.New(16000)
	a.Write(x)
	return a.Finish()
}

// Two tones with a rest of noise between them: pitch from the formula, no pitch in the rest.
func TestTonesAndRest(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([]float32, 16000*3/2)
	for i := range x {
		s := float64(i) / 16000
		hz := 220.0
		if s > 1 {
			hz = 330
		}
		if s < 0.5 || s > 1 {
			for k := 1.0; k <= 6; k++ {
				x[i] += float32(0.1 / k * math.Sin(2*math.Pi*k*hz*s))
			}
		}
		x[i] += float32(0.001 * rng.NormFloat64())
	}
	p := Find(frames(x))
	check := func(from, to int, hz float64) {
		want := 69 + 12*math.Log2(hz/440)
		for n := from; n < to; n++ {
			if !(math.Abs(p.Pitch[n]-want) < 0.02) {
				t.Fatalf("frame %d: pitch %.3f, want %.3f", n, p.Pitch[n], want)
			}
		}
	}
	check(5, 45, 220)
	check(105, 145, 330)
	for n := 55; n < 95; n++ {
		if p.Voiced(n) || p.Score[n] != 0 {
			t.Fatalf("frame %d of the rest is voiced", n)
		}
		if p.Bridged[n] < 57 || p.Bridged[n] > 64.1 {
			t.Fatalf("frame %d: bridged pitch %.2f lies outside its neighbours", n, p.Bridged[n])
		}
	}
}

// A weak tone of 80 ms between two others: the path passes it over, and where a note is known to be it is heard. What lies outside stays.
func TestInsideANote(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([]float32, 16000)
	for i := range x {
		s := float64(i) / 16000
		hz, noise := 220.0, 0.001
		switch {
		case s >= 0.5 && s < 0.58:
			hz, noise = 277.18, 0.1
		case s >= 0.58:
			hz = 185
		}
		for k := 1.0; k <= 6; k++ {
			x[i] += float32(0.1 / k * math.Sin(2*math.Pi*k*hz*s))
		}
		x[i] += float32(noise * rng.NormFloat64())
	}
	f := frames(x)
	p := Find(f)
	voiced := 0
	for n := 52; n < 57; n++ {
		if p.Voiced(n) {
			voiced++
		}
	}
	if voiced > 2 {
		t.Fatalf("%d of 5 frames are voiced: nothing to search for anew", voiced)
	}
	in := p.Inside(f, 51, 58)
	if want := 69 + 12*math.Log2(277.18/440); !(math.Abs(in.Bridged[54]-want) < 0.3) {
		t.Errorf("pitch %.2f inside the note, want %.2f", in.Bridged[54], want)
	}
	for n := range p.Pitch {
		if (n < 51 || n >= 58) && (p.Voiced(n) != in.Voiced(n) || p.Voiced(n) && p.Pitch[n] != in.Pitch[n]) {
			t.Fatalf("frame %d outside the note changed", n)
		}
	}
}

func TestNoFrames(t *testing.T) {
	if p := Find(nil); len(p.Pitch) != 0 {
		t.Errorf("%d frames out of none", len(p.Pitch))
	}
}

func TestSilenceIsUnvoiced(t *testing.T) {
	p := Find(frames(make([]float32, 16000)))
	for n := range p.Pitch {
		if p.Voiced(n) {
			t.Fatalf("frame %d of silence is voiced", n)
		}
		if p.Bridged[n] != 60 {
			t.Fatalf("bridged pitch %g, want 60", p.Bridged[n])
		}
	}
}

// Every octave trap of a high and a low voice: no frame an octave off.
func TestNoOctaveErrorOnCleanTones(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	for hz := 65.0; hz <= 1050; hz *= math.Exp2(1.0 / 24) {
		x := make([]float32, 8000)
		for i := range x {
			for k := 1.0; k*hz < 5000; k++ {
				x[i] += float32(0.1 * math.Pow(k, -1.3) * math.Sin(2*math.Pi*k*hz*float64(i)/16000+k*k))
			}
		}
		p := Find(frames(x))
		want := 69 + 12*math.Log2(hz/440)
		for n := 6; n < len(p.Pitch)-6; n++ {
			if !(math.Abs(p.Pitch[n]-want) < 0.05) {
				t.Fatalf("%.1f Hz, frame %d: pitch %.2f, want %.2f", hz, n, p.Pitch[n], want)
			}
		}
	}
}
