package fft

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Against the transform of gonum v0.17.0.
func TestRealAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := 8; n <= 4096; n *= 2 {
		x := make([]float64, n)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		want := fourier.NewFFT(n).Coefficients(nil, x)
		r := NewReal(n)
		power := make([]float64, n/2+1)
		r.Power(power, x)
		for k, c := range want {
			p := real(c)*real(c) + imag(c)*imag(c)
			if math.Abs(power[k]-p) > 1e-9*float64(n) {
				t.Fatalf("n %d bin %d: power %g, want %g", n, k, power[k], p)
			}
		}
	}
}

// Against the sum of the doc comment, term by term.
func TestCosine(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for n := 8; n <= 512; n *= 2 {
		y := make([]float64, n+1)
		for i := range y {
			y[i] = rng.NormFloat64()
		}
		for _, want := range []int{2, n/4 + 1, n / 2, n/2 + 1} {
			got := make([]float64, want)
			NewReal(n).Cosine(got, y)
			for k, v := range got {
				sum := y[0] + y[n]*math.Cos(math.Pi*float64(k))
				for j := 1; j < n; j++ {
					sum += 2 * y[j] * math.Cos(math.Pi*float64(j*k)/float64(n))
				}
				if math.Abs(v-sum) > 1e-11*float64(n) {
					t.Fatalf("n %d, %d values, value %d: %g, want %g", n, want, k, v, sum)
				}
			}
		}
	}
}

func TestRealWrongLengthPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"not a power of two": func() { NewReal(1000) },
		"short frame":        func() { NewReal(16).Power(make([]float64, 9), make([]float64, 15)) },
		"short result":       func() { NewReal(16).Power(make([]float64, 8), make([]float64, 16)) },
		"long result":        func() { NewReal(16).Cosine(make([]float64, 10), make([]float64, 17)) },
		"short input":        func() { NewReal(16).Cosine(make([]float64, 9), make([]float64, 16)) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			f()
		})
	}
}

func TestRealAllocatesNothing(t *testing.T) {
	r, x, d, c := NewReal(1024), make([]float64, 1024), make([]float64, 513), make([]float64, 1025)
	if n := testing.AllocsPerRun(10, func() { r.Power(d, x); r.Cosine(d, c) }); n != 0 {
		t.Errorf("%v allocations a call", n)
	}
}

func BenchmarkPower1024(b *testing.B) {
	r, x, d := NewReal(1024), make([]float64, 1024), make([]float64, 513)
	x[3] = 1
	for b.Loop() {
		r.Power(d, x)
	}
}

func BenchmarkGonum1024(b *testing.B) {
	r, x, d := fourier.NewFFT(1024), make([]float64, 1024), make([]complex128, 513)
	x[3] = 1
	for b.Loop() {
		r.Coefficients(d, x)
	}
}
