package fft

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Both results against the transform of gonum v0.17.0.
func TestAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := 8; n <= 4096; n *= 2 {
		x := make([]float64, n)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		want := fourier.NewFFT(n).Coefficients(nil, x)
		r := NewReal(n)
		power, re := make([]float64, n/2+1), make([]float64, n/2+1)
		r.Power(power, x)
		r.RealPart(re, x)
		for k, c := range want {
			p := real(c)*real(c) + imag(c)*imag(c)
			if math.Abs(power[k]-p) > 1e-9*float64(n) || math.Abs(re[k]-real(c)) > 1e-10*float64(n) {
				t.Fatalf("n %d bin %d: power %g, real part %g; want %g, %g", n, k, power[k], re[k], p, real(c))
			}
		}
	}
}

func TestWrongLengthPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"not a power of two": func() { NewReal(1000) },
		"short frame":        func() { NewReal(16).Power(make([]float64, 9), make([]float64, 15)) },
		"short result":       func() { NewReal(16).RealPart(make([]float64, 8), make([]float64, 16)) },
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

func TestNoAllocation(t *testing.T) {
	r, x, d := NewReal(1024), make([]float64, 1024), make([]float64, 513)
	if n := testing.AllocsPerRun(10, func() { r.Power(d, x); r.RealPart(d, x) }); n != 0 {
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
