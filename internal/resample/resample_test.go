package resample

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func sine(rate int, hz, seconds float64) []float32 {
	x := make([]float32, int(seconds*float64(rate)))
	for i := range x {
		x[i] = float32(0.5 * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)))
	}
	return x
}

func convert(from, to int, cut float64, x []float32) []float32 {
	return Whole[float32, float32](x, from, to, cut, Short)
}

// A tone in the pass band must come out as the formula says, at the same time.
func TestToneKeepsPhaseAndLevel(t *testing.T) {
	for _, from := range []int{16000, 22050, 24000, 32000, 44100, 47999, 48000, 88200, 96000} {
		for _, hz := range []float64{80, 440, 3000, 5600} {
			y := convert(from, 16000, 0.93, sine(from, hz, 0.5))
			if want := int(0.5*float64(from)) * 16000 / from; len(y) != want {
				t.Fatalf("%d Hz: %d samples, want %d", from, len(y), want)
			}
			worst := 0.0
			for i := 400; i < len(y)-400; i++ {
				worst = max(worst, math.Abs(float64(y[i])-0.5*math.Sin(2*math.Pi*hz*float64(i)/16000)))
			}
			if worst > 1e-3 { // -54 dB of the tone
				t.Errorf("%d Hz rate, %g Hz tone: error %.2g", from, hz, worst)
			}
		}
	}
}

// Tones above the new Nyquist frequency must vanish rather than fold back.
func TestNoAlias(t *testing.T) {
	for _, from := range []int{44100, 48000, 96000} {
		for _, hz := range []float64{9200, 12000, 15000} {
			y := convert(from, 16000, 0.93, sine(from, hz, 0.3))
			power := 0.0
			for _, v := range y[400 : len(y)-400] {
				power += float64(v) * float64(v)
			}
			if db := 10 * math.Log10(power/float64(len(y)-800)/0.125+1e-30); db > -55 {
				t.Errorf("%d Hz rate, %g Hz tone: %.1f dB left", from, hz, db)
			}
		}
	}
}

func TestAnyBlocksGiveTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.SampledFrom([]int{16000, 22050, 44100, 48000, 64000, 96000}).Draw(t, "rate")
		n := rapid.IntRange(0, 5000).Draw(t, "samples")
		x := sine(from, 1000, 1)[:n]
		whole := convert(from, 16000, 0.93, x)
		c := New[float32, float32](from, 16000, 0.93, Short, 700)
		var parts []float32
		for len(x) > 0 {
			k := min(rapid.IntRange(1, 700).Draw(t, "block"), len(x))
			parts, x = c.Write(parts, x[:k]), x[k:]
		}
		parts = c.Finish(parts)
		if len(parts) != len(whole) {
			t.Fatalf("%d samples in blocks, %d at once", len(parts), len(whole))
		}
		for i := range whole {
			if parts[i] != whole[i] {
				t.Fatalf("sample %d: %g in blocks, %g at once", i, parts[i], whole[i])
			}
		}
	})
}

func TestWriteAllocatesNothing(t *testing.T) {
	c, x, dst := New[float32, float32](48000, 16000, 0.93, Short, 48000), make([]float32, 480), make([]float32, 0, 1000)
	if n := testing.AllocsPerRun(50, func() { dst = c.Write(dst[:0], x) }); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}

func BenchmarkSecond48000(b *testing.B) {
	x := sine(48000, 440, 1)
	c := New[float32, float32](48000, 16000, 0.93, Short, 48000)
	dst := make([]float32, 0, 20000)
	for b.Loop() {
		dst = c.Write(dst[:0], x)
	}
}

// The long kernel in double precision keeps tones of its pass band to -60 dB and lets nothing fold back above -70 dB.
func TestLongKernel(t *testing.T) {
	for _, hz := range []float64{100, 1000, 6000} {
		y := Whole[float32, float64](sine(48000, hz, 0.3), 48000, 16000, 0.93, Long)
		for i := 400; i < len(y)-400; i++ {
			if d := math.Abs(y[i] - 0.5*math.Sin(2*math.Pi*hz*float64(i)/16000)); d > 5e-4 {
				t.Fatalf("tone of %g Hz: off by %.2g at sample %d", hz, d, i)
			}
		}
	}
	y := Whole[float32, float64](sine(48000, 9200, 0.3), 48000, 16000, 0.93, Long)
	power := 0.0
	for _, v := range y[400 : len(y)-400] {
		power += v * v
	}
	if db := 10 * math.Log10(power/float64(len(y)-800)/0.125); db > -70 {
		t.Errorf("tone of 9200 Hz: %.1f dB left", db)
	}
}

// Between samples a tone is read as its formula says; on a sample the sample itself, and outside nothing.
func TestAt(t *testing.T) {
	x := make([]float64, 400)
	tone := func(place float64) float64 { return math.Sin(2 * math.Pi * 0.3 * place) }
	for i := range x {
		x[i] = tone(float64(i))
	}
	for _, place := range []float64{50, 50.25, 123.4567, 200.999999} {
		if got := At(x, place); math.Abs(got-tone(place)) > 1e-3 { // the kernel's ripple
			t.Errorf("at %g: %g, want %g", place, got, tone(place))
		}
	}
	if got := At(x, 77); math.Abs(got-x[77]) > 1e-12 {
		t.Errorf("on sample 77: %g, want %g", got, x[77])
	}
	for _, place := range []float64{-Reach - 1, 400 + Reach, -1e9, 1e9} {
		if got := At(x, place); got != 0 {
			t.Errorf("at %g, outside: %g, want 0", place, got)
		}
	}
}
