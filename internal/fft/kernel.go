package fft

import (
	"fmt"
	"math"
	"math/bits"
	"math/cmplx"
)

// kernel transforms complex frames in place: decimation in frequency by radix 4 there, which leaves bin k at the place whose binary digits are
// those of k read backwards, and the same steps undone back (Van Loan, Computational Frameworks for the FFT, 1992, sections 1.9 and 2.2).
type kernel struct {
	twiddles [][]complex128 // per pass, from the longest block on: w, w^2, w^3 for each group
}

// inCache is the longest block that is transformed pass by pass, complex numbers: 16 KiB, half of a usual first-level cache. Longer ones are cut into
// quarters first, each of which is finished before the next.
const inCache = 1024

func newKernel(n int) kernel {
	var k kernel
	for m := n; m >= 16; m /= 4 {
		w := make([]complex128, 0, 3*m/4)
		for p := range m / 4 {
			t := -2 * math.Pi * float64(p) / float64(m)
			w = append(w, cmplx.Rect(1, t), cmplx.Rect(1, 2*t), cmplx.Rect(1, 3*t))
		}
		k.twiddles = append(k.twiddles, w)
	}
	return k
}

// down transforms x; pass is the first one that is still to do.
func (k kernel) down(x []complex128, pass int) {
	m := len(x)
	if m > inCache {
		passDown(x, k.twiddles[pass])
		for rest := x; len(rest) > 0; rest = rest[m/4:] {
			k.down(rest[:m/4], pass+1)
		}
		return
	}
	for ; m >= 16; m /= 4 {
		for rest := x; len(rest) > 0; rest = rest[m:] {
			passDown(rest[:m], k.twiddles[pass])
		}
		pass++
	}
	if m == 8 {
		eightsDown(x)
	} else {
		foursDown(x)
	}
}

// up undoes down but for a factor of len(x).
func (k kernel) up(x []complex128, pass int) {
	m := len(x)
	if m > inCache {
		for rest := x; len(rest) > 0; rest = rest[m/4:] {
			k.up(rest[:m/4], pass+1)
		}
		passUp(x, k.twiddles[pass])
		return
	}
	for ; m >= 16; m /= 4 {
		pass++
	}
	if m == 8 {
		eightsUp(x)
	} else {
		foursUp(x)
	}
	for m *= 4; m <= len(x); m *= 4 {
		pass--
		for rest := x; len(rest) > 0; rest = rest[m:] {
			passUp(rest[:m], k.twiddles[pass])
		}
	}
}

// foursDown transforms blocks of four numbers, eightsDown of eight; foursUp and eightsUp undo them but for the factor.
func foursDown(x []complex128) {
	for ; len(x) >= 4; x = x[4:] {
		v := (*[4]complex128)(x)
		v[0], v[2], v[1], v[3] = butterfly(v[0], v[1], v[2], v[3])
	}
}

func foursUp(x []complex128) {
	for ; len(x) >= 4; x = x[4:] {
		v := (*[4]complex128)(x)
		v[0], v[3], v[2], v[1] = butterfly(v[0], v[2], v[1], v[3])
	}
}

func eightsDown(x []complex128) {
	for ; len(x) >= 8; x = x[8:] {
		v := (*[8]complex128)(x)
		a0, a1, a2, a3 := v[0]+v[4], v[1]+v[5], v[2]+v[6], v[3]+v[7]
		d0, d1, d2, d3 := v[0]-v[4], v[1]-v[5], v[2]-v[6], v[3]-v[7]
		v[0], v[2], v[1], v[3] = butterfly(a0, a1, a2, a3)
		// times exp(-2 pi i k/8)
		d1 = complex(half2*(real(d1)+imag(d1)), half2*(imag(d1)-real(d1)))
		d2 = complex(imag(d2), -real(d2))
		d3 = complex(half2*(imag(d3)-real(d3)), -half2*(real(d3)+imag(d3)))
		v[4], v[6], v[5], v[7] = butterfly(d0, d1, d2, d3)
	}
}

func eightsUp(x []complex128) {
	for ; len(x) >= 8; x = x[8:] {
		v := (*[8]complex128)(x)
		a0, a3, a2, a1 := butterfly(v[0], v[2], v[1], v[3])
		d0, d3, d2, d1 := butterfly(v[4], v[6], v[5], v[7])
		d1 = complex(half2*(real(d1)-imag(d1)), half2*(real(d1)+imag(d1)))
		d2 = complex(-imag(d2), real(d2))
		d3 = complex(-half2*(real(d3)+imag(d3)), half2*(real(d3)-imag(d3)))
		v[0], v[1], v[2], v[3] = a0+d0, a1+d1, a2+d2, a3+d3
		v[4], v[5], v[6], v[7] = a0-d0, a1-d1, a2-d2, a3-d3
	}
}

const half2 = math.Sqrt2 / 2

func passDown(x, w []complex128) {
	q := len(x) / 4
	xa, xb, xc, xd := x[:q], x[q:][:q], x[2*q:][:q], x[3*q:][:q]
	for p := range xa {
		v := (*[3]complex128)(w[3*p:])
		u0, u1, u2, u3 := butterfly(xa[p], xb[p], xc[p], xd[p])
		xa[p], xb[p], xc[p], xd[p] = u0, v[1]*u2, v[0]*u1, v[2]*u3
	}
}

func passUp(x, w []complex128) {
	q := len(x) / 4
	xa, xb, xc, xd := x[:q], x[q:][:q], x[2*q:][:q], x[3*q:][:q]
	for p := range xa {
		v := (*[3]complex128)(w[3*p:])
		u0, u3, u2, u1 := butterfly(xa[p], conjTimes(v[0], xc[p]), conjTimes(v[1], xb[p]), conjTimes(v[2], xd[p]))
		xa[p], xb[p], xc[p], xd[p] = u0, u1, u2, u3
	}
}

// butterfly is the transform of four numbers; with u1 and u3 changed over it goes back.
func butterfly(a, b, c, d complex128) (u0, u1, u2, u3 complex128) {
	apc, amc, bpd, t := a+c, a-c, b+d, b-d
	jt := complex(-imag(t), real(t))
	return apc + bpd, amc - jt, apc - bpd, amc + jt
}

// conjTimes is conj(a) b.
func conjTimes(a, b complex128) complex128 {
	return complex(real(a)*real(b)+imag(a)*imag(b), real(a)*imag(b)-imag(a)*real(b))
}

func conj(c complex128) complex128 { return complex(real(c), -imag(c)) }

// reversed is the number whose binary digits, as many as those of n-1, are those of i read backwards; n is a power of two above 1.
func reversed(i, n int) int {
	return int(bits.Reverse64(uint64(i)) >> (64 - bits.Len(uint(n-1))))
}

func checkLength(n, least int) {
	if n < least || bits.OnesCount(uint(n)) != 1 {
		panic(fmt.Sprintf("fft: length %d, want a power of two of at least %d", n, least))
	}
}
