package front

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// tone is a harmonic tone with amplitudes 1/k, all harmonics below 3.5 kHz.
func tone(rate int, hz, seconds float64) []float32 {
	x := make([]float32, int(seconds*float64(rate)))
	for i := range x {
		for k := 1.0; k*hz < 3500; k++ {
			x[i] += float32(0.1 / k * math.Sin(2*math.Pi*k*hz*float64(i)/float64(rate)+k))
		}
	}
	return x
}

func analyse(rate int, x []float32) []Frame {
	a := New(rate)
	a.Write(x)
	return a.Finish()
}

func best(f *Frame) Candidate {
	var b Candidate
	for _, c := range f.Candidate[:f.Count] {
		if c.Score > b.Score {
			b = c
		}
	}
	return b
}

// The tone's own formula says what the pitch is. 3 cents: the window of a low
// tone holds only four periods. 2 cents above 800 Hz: a period is less than ten
// samples and the harmonics reach into the low pass. Between them 1 cent is held.
func TestTonePitch(t *testing.T) {
	for _, rate := range []int{16000, 44100, 48000} {
		for hz := 65.0; hz <= 1050; hz *= 1.0905 {
			frames := analyse(rate, tone(rate, hz, 0.3))
			if len(frames) != 30 {
				t.Fatalf("%d frames for 0.3 s", len(frames))
			}
			want := 69 + 12*math.Log2(hz/440)
			for n := 8; n < 22; n++ {
				got := best(&frames[n])
				tolerance := 1.0
				if hz < 100 {
					tolerance = 3
				} else if hz > 800 {
					tolerance = 2
				}
				if cents := 100 * (float64(got.Pitch) - want); math.Abs(cents) > tolerance || got.Score < 0.8 {
					t.Errorf("%.1f Hz at rate %d, frame %d: off by %.2f cents, score %.2f", hz, rate, n, cents, got.Score)
					break
				}
			}
		}
	}
}

func TestLevel(t *testing.T) {
	x := make([]float32, 16000)
	for i := range x {
		x[i] = float32(0.5 * math.Sin(2*math.Pi*440*float64(i)/16000))
	}
	f := analyse(16000, x)[50]
	want := 20*math.Log10(0.5) - 3.0103 // a full-scale sine has -3.01 dBFS
	if math.Abs(float64(f.Level)-want) > 0.2 || math.Abs(float64(f.SharpLevel)-want) > 0.4 {
		t.Errorf("levels %.2f and %.2f dBFS, want %.2f", f.Level, f.SharpLevel, want)
	}
	if h1, h2 := f.HarmonicLevel(440), f.HarmonicLevel(880); h1 < float32(want)-1 || h2 > h1-40 {
		t.Errorf("first harmonic %.1f, second %.1f dBFS; want about %.1f and nothing", h1, h2, want)
	}
}

func TestSilenceAndConstant(t *testing.T) {
	for name, v := range map[string]float32{"silence": 0, "constant": 0.3} {
		x := make([]float32, 32000)
		for i := range x {
			x[i] = v
		}
		for n, f := range analyse(16000, x)[30:] {
			if f.Level > -60 || f.SharpLevel > -60 {
				t.Fatalf("%s, frame %d: level %.1f, %.1f dBFS", name, n, f.Level, f.SharpLevel)
			}
		}
	}
}

func TestNoiseHasNoStrongPitch(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	x := make([]float32, 48000)
	for i := range x {
		x[i] = float32(0.1 * rng.NormFloat64())
	}
	strong := 0
	frames := analyse(48000, x)
	for i := range frames {
		if best(&frames[i]).Score > 0.55 {
			strong++
		}
	}
	if strong > len(frames)/20 {
		t.Errorf("%d of %d frames of white noise look voiced", strong, len(frames))
	}
}

func TestAnyBlocksGiveTheSame(t *testing.T) {
	x := tone(44100, 220, 0.25)
	whole := analyse(44100, x)
	rapid.Check(t, func(t *rapid.T) {
		a := New(44100)
		for rest := x; len(rest) > 0; {
			k := min(rapid.IntRange(1, 3000).Draw(t, "block"), len(rest))
			a.Write(rest[:k])
			rest = rest[k:]
		}
		frames := a.Finish()
		if len(frames) != len(whole) {
			t.Fatalf("%d frames in blocks, %d at once", len(frames), len(whole))
		}
		for i := range whole {
			if !reflect.DeepEqual(frames[i], whole[i]) {
				t.Fatalf("frame %d differs", i)
			}
		}
	})
}

func BenchmarkSecond44100(b *testing.B) {
	x := tone(44100, 220, 10)
	for b.Loop() {
		a := New(44100)
		a.Write(x)
		a.Finish()
	}
	b.ReportMetric(float64(b.N)*10/b.Elapsed().Seconds(), "x-real-time")
}
