package fft

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func noise(n int, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	return x
}

// direct is the transform by its definition.
func direct(x []float64) []complex128 {
	out, roots := make([]complex128, len(x)), make([]complex128, len(x))
	for k := range roots {
		roots[k] = cmplx.Rect(1, -2*math.Pi*float64(k)/float64(len(x)))
	}
	for k := range out {
		for n, v := range x {
			out[k] += complex(v, 0) * roots[k*n%len(x)]
		}
	}
	return out
}

// lengths has those that end in blocks of four and of eight, and one that is cut into quarters before it fits the cache.
var lengths = []int{16, 32, 64, 128, 512, 4096}

// Every bin is where Bin says, and the inverse gives the frame again.
func TestConvolverAgreesWithTheDefinition(t *testing.T) {
	for _, n := range lengths {
		x := noise(n, uint64(n))
		got := make([]complex128, n/2)
		c := NewConvolver(n)
		c.Forward(got, x)
		want := direct(x)
		tolerance := 1e-12 * float64(n)
		if math.Abs(real(got[0])-real(want[0])) > tolerance || math.Abs(imag(got[0])-real(want[n/2])) > tolerance || c.Bin(0) != 0 {
			t.Errorf("length %d: ends %v, want %v and %v", n, got[0], want[0], want[n/2])
		}
		seen := make([]bool, n/2)
		for i := 1; i < n/2; i++ {
			k := c.Bin(i)
			if seen[k] || cmplx.Abs(got[i]-want[k]) > tolerance {
				t.Fatalf("length %d, place %d: %v, want %v of bin %d, once", n, i, got[i], want[k], k)
			}
			seen[k] = true
		}
		back := make([]float64, n)
		c.Inverse(back, got)
		for i := range x {
			if math.Abs(back[i]-x[i]) > 1e-12 {
				t.Fatalf("length %d: sample %d comes back as %g, want %g", n, i, back[i], x[i])
			}
		}
	}
}

// Parseval: the energy of a frame is that of its bins over their number. On lengths that are used and too long for the definition.
func TestConvolverKeepsEnergy(t *testing.T) {
	for n := 16; n <= 1<<17; n *= 2 {
		x, bins := noise(n, 5), make([]complex128, n/2)
		NewConvolver(n).Forward(bins, x)
		want, got := 0.0, real(bins[0])*real(bins[0])+imag(bins[0])*imag(bins[0])
		for _, v := range x {
			want += v * v
		}
		for _, v := range bins[1:] {
			got += 2 * (real(v)*real(v) + imag(v)*imag(v))
		}
		if got /= float64(n); math.Abs(got-want) > 1e-11*want {
			t.Errorf("length %d: energy %g, want %g", n, got, want)
		}
	}
}

// circular is sum a(m) b(n-m), or sum a(m) b(n+m) backwards, round in a circle.
func circular(a, b []float64, backwards bool) []float64 {
	out := make([]float64, len(a))
	for n := range out {
		for m, v := range a {
			if backwards {
				out[n] += v * b[(n+m)%len(b)]
			} else {
				out[n] += v * b[(n-m+len(b))%len(b)]
			}
		}
	}
	return out
}

func near(t *testing.T, what string, got, want []float64) {
	t.Helper()
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-12*float64(len(want)) {
			t.Fatalf("%s, sample %d: %g, want %g", what, i, got[i], want[i])
		}
	}
}

// Products are convolutions and correlations (the convolution theorem), term by term.
func TestProducts(t *testing.T) {
	for _, n := range []int{16, 32, 256, 1024} {
		c, a, b := NewConvolver(n), noise(n, 1), noise(n, 2)
		as, bs, sum, out := make([]complex128, n/2), make([]complex128, n/2), make([]complex128, n/2), make([]float64, n)
		c.Forward(as, a)
		c.Forward(bs, b)
		MultiplyAdd(sum, as, bs)
		c.Inverse(out, sum)
		near(t, fmt.Sprintf("length %d, convolution", n), out, circular(a, b, false))
		clear(sum)
		MultiplyConjAdd(sum, as, bs)
		c.Inverse(out, sum)
		near(t, fmt.Sprintf("length %d, correlation", n), out, circular(a, b, true))
	}
}

func paired(a, b []float64) []complex128 {
	z := make([]complex128, len(a))
	for i := range z {
		z[i] = complex(a[i], b[i])
	}
	return z
}

func TestPair(t *testing.T) {
	for _, n := range []int{16, 32, 256, 2048} {
		c, p := NewConvolver(n), NewPair(n)
		a, b, h := noise(n, 1), noise(n, 2), noise(n, 3)
		z, v, hs := paired(a, b), paired(h, a), make([]complex128, n/2)
		p.Forward(z)
		p.Forward(v)
		c.Forward(hs, h)
		product, one, two := make([]complex128, n), make([]float64, n), make([]float64, n)
		MultiplyAddPair(product, z, hs)
		p.Inverse(product)
		for i, v := range product {
			one[i], two[i] = real(v)/float64(n), imag(v)/float64(n)
		}
		near(t, fmt.Sprintf("length %d, first convolved", n), one, circular(a, h, false))
		near(t, fmt.Sprintf("length %d, second convolved", n), two, circular(b, h, false))

		sum := make([]complex128, n/2)
		CorrelatePairAdd(sum, z, v)
		c.Inverse(one, sum)
		want := circular(a, h, true)
		for i, v := range circular(b, a, true) {
			want[i] += v
		}
		near(t, fmt.Sprintf("length %d, correlation of pairs", n), one, want)

		powers, as, bs := make([]float64, n/2), make([]complex128, n/2), make([]complex128, n/2)
		PairPowers(powers, z, 2, 3)
		c.Forward(as, a)
		c.Forward(bs, b)
		for i := range as {
			as[i] = complex(real(as[i])*real(as[i])+imag(as[i])*imag(as[i]), 0)
			want[i] = 2*real(as[i]) + 3*(real(bs[i])*real(bs[i])+imag(bs[i])*imag(bs[i]))
		}
		for i := range powers {
			if math.Abs(powers[i]-want[i]) > 1e-11*float64(n)*(1+want[i]) {
				t.Fatalf("length %d, power at place %d: %g, want %g", n, i, powers[i], want[i])
			}
		}
	}
}

func TestWrongLengthPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"convolver, not a power of two": func() { NewConvolver(1000) },
		"pair, not a power of two":      func() { NewPair(48) },
		"pair, too short":               func() { NewPair(8) },
		"short frame":                   func() { NewConvolver(16).Forward(make([]complex128, 8), make([]float64, 15)) },
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
	c, p := NewConvolver(4096), NewPair(4096)
	x, s, z := make([]float64, 4096), make([]complex128, 2048), make([]complex128, 4096)
	if n := testing.AllocsPerRun(10, func() { c.Forward(s, x); c.Inverse(x, s); p.Forward(z); p.Inverse(z) }); n != 0 {
		t.Errorf("%v allocations a call", n)
	}
}

// A pair counts as the two frames it holds.
func BenchmarkThereAndBack(b *testing.B) {
	for _, n := range []int{512, 2048, 8192, 32768} {
		c, p, x := NewConvolver(n), NewPair(n), noise(n, 1)
		s, z := make([]complex128, n/2), make([]complex128, n)
		b.Run(fmt.Sprintf("convolver/%d", n), func(b *testing.B) {
			for b.Loop() {
				c.Forward(s, x)
				c.Inverse(x, s)
			}
		})
		b.Run(fmt.Sprintf("pair/%d", n), func(b *testing.B) {
			for i := 0; i < b.N; i += 2 {
				p.Forward(z)
				p.Inverse(z)
			}
		})
	}
}
