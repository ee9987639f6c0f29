package marks

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The fast way gives the bits of the plain one, with zeros and with what is no number too.
func TestAccumulateLikePlain(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for round := range 2000 {
		n := rng.IntN(40)
		a, w := make([]float32, n), make([][Channels]float32, n+rng.IntN(3))
		for i := range a {
			if rng.IntN(3) == 0 {
				a[i] = float32(rng.NormFloat64())
			}
			if round == 7 {
				a[i] = float32(math.Copysign(0, -1))
			}
			if round == 8 && i == 5 {
				a[i] = float32(math.NaN())
			}
		}
		for i := range w {
			for k := range w[i] {
				w[i][k] = float32(rng.NormFloat64())
			}
		}
		var got, want [Channels]float32
		for k := range got {
			got[k] = float32(rng.NormFloat64())
		}
		want = got
		accumulate(&got, w, a)
		accumulatePlain(&want, w, a)
		for k := range want {
			if math.Float32bits(got[k]) != math.Float32bits(want[k]) && want[k] == want[k] {
				t.Fatalf("%d inputs, channel %d: %g, want %g", n, k, got[k], want[k])
			}
			if want[k] != want[k] && got[k] == got[k] {
				t.Fatalf("%d inputs, channel %d: %g, want no number", n, k, got[k])
			}
		}
	}
}

func BenchmarkAccumulatePlain(b *testing.B) { benchmarkAccumulate(b, accumulatePlain) }
func BenchmarkAccumulate(b *testing.B)      { benchmarkAccumulate(b, accumulate) }

func benchmarkAccumulate(b *testing.B, f func(*[Channels]float32, [][Channels]float32, []float32)) {
	w, a := make([][Channels]float32, Channels), make([]float32, Channels)
	for i := range a {
		a[i] = 0.5
		for k := range w[i] {
			w[i][k] = 0.25
		}
	}
	var acc [Channels]float32
	for b.Loop() {
		f(&acc, w, a)
	}
}
