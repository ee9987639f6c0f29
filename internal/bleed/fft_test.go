package bleed

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

func noise(n int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	return x
}

// The transform must agree with gonum's on every length that is used, and its inverse must undo it.
func TestTransformAgreesWithGonum(t *testing.T) {
	for n := 16; n <= 1<<15; n *= 2 {
		x := noise(n, uint64(n))
		got := make([]complex128, n/2)
		f := newRealFFT(n)
		f.forward(got, x)
		want := fourier.NewFFT(n).Coefficients(nil, x)
		tolerance := 1e-12 * float64(n)
		if math.Abs(real(got[0])-real(want[0])) > tolerance || math.Abs(imag(got[0])-real(want[n/2])) > tolerance {
			t.Errorf("length %d: ends %v, want %v and %v", n, got[0], want[0], want[n/2])
		}
		for k := 1; k < n/2; k++ {
			if cmplx.Abs(got[k]-want[k]) > tolerance {
				t.Fatalf("length %d, bin %d: %v, want %v", n, k, got[k], want[k])
			}
		}
		back := make([]float64, n)
		f.inverse(back, got)
		for i := range x {
			if math.Abs(back[i]-x[i]) > 1e-12 {
				t.Fatalf("length %d: sample %d comes back as %g, want %g", n, i, back[i], x[i])
			}
		}
	}
}

func BenchmarkTransform(b *testing.B) {
	for _, n := range []int{512, 1024, 2048, 16384, 32768} {
		f, x, c := newRealFFT(n), noise(n, 1), make([]complex128, n/2)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				f.forward(c, x)
			}
		})
	}
}
