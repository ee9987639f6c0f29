package fft

import (
	"fmt"
	"math"
	"math/cmplx"
)

// Real gives the powers of real frames of one length, and cosine transforms, their values in order.
type Real struct {
	n        int            // length of the real frame
	twiddles [][]complex128 // per stage of the half-length transform: w, w^2, w^3 for each group
	split    []complex128   // exp(-2 pi i k/n), to part the two interleaved halves
	a, b     []complex128
	sine     []float64 // sin(pi j/n) for j = 0 .. n/2, for Cosine
	folded   []float64
}

// NewReal prepares transforms of length n, a power of two of at least 8.
func NewReal(n int) *Real {
	checkLength(n, 8)
	h := n / 2
	r := &Real{n: n, a: make([]complex128, h), b: make([]complex128, h), split: make([]complex128, h/2+1)}
	for k := range r.split {
		r.split[k] = cmplx.Rect(1, -2*math.Pi*float64(k)/float64(n))
	}
	r.sine, r.folded = make([]float64, h+1), make([]float64, n)
	for j := range r.sine {
		r.sine[j] = math.Sin(math.Pi * float64(j) / float64(n))
	}
	for m := h; m >= 4; m /= 4 {
		w := make([]complex128, 0, 3*m/4)
		for p := range m / 4 {
			t := -2 * math.Pi * float64(p) / float64(m)
			w = append(w, cmplx.Rect(1, t), cmplx.Rect(1, 2*t), cmplx.Rect(1, 3*t))
		}
		r.twiddles = append(r.twiddles, w)
	}
	return r
}

// Power writes |X[k]|^2 for k = 0 .. n/2 into dst (length n/2+1), where X is
// the unnormalised discrete Fourier transform of x (length n).
func (r *Real) Power(dst, x []float64) {
	if len(x) != r.n || len(dst) != r.n/2+1 {
		panic(fmt.Sprintf("fft: frame length %d and result length %d, want %d and %d", len(x), len(dst), r.n, r.n/2+1))
	}
	z := r.half(x)
	h := r.n / 2
	re, im := real(z[0]), imag(z[0])
	dst[0], dst[h] = (re+im)*(re+im), (re-im)*(re-im)
	for k := 1; k <= h/2; k++ {
		u, v := r.parted(z, k)
		dst[k] = real(u)*real(u) + imag(u)*imag(u)
		dst[h-k] = real(v)*real(v) + imag(v)*imag(v)
	}
}

// Cosine writes the type-1 cosine transform of y (length n+1) into dst (length 2 to n/2+1), as far as that reaches: for each k
//
//	dst[k] = y[0] + (-1)^k y[n] + 2 sum_{j=1}^{n-1} y[j] cos(pi j k/n)
//
// For a power spectrum y of a real frame of length 2n that is 2n times its inverse transform: the autocorrelation. It takes a transform of
// half of that length (Press et al., Numerical Recipes, 2nd edition 1992, equations 12.3.9 to 12.3.12).
func (r *Real) Cosine(dst, y []float64) {
	n := r.n
	if len(y) != n+1 || len(dst) < 2 || len(dst) > n/2+1 {
		panic(fmt.Sprintf("fft: %d values into %d, want %d into 2 to %d", len(y), len(dst), n+1, n/2+1))
	}
	x := r.folded
	x[0] = y[0] + y[n]
	first := y[0] - y[n]
	for j := 1; j < n/2; j++ {
		even, odd := y[j]+y[n-j], 2*(y[j]-y[n-j])
		x[j], x[n-j] = even-r.sine[j]*odd, even+r.sine[j]*odd
		first += r.sine[n/2-j] * odd
	}
	x[n/2] = 2 * y[n/2]
	z := r.half(x)
	dst[0], dst[1] = real(z[0])+imag(z[0]), first
	for k := 2; k < len(dst); k += 2 {
		u, _ := r.parted(z, k/2)
		dst[k] = real(u)
		if k+1 < len(dst) {
			dst[k+1] = dst[k-1] - imag(u)
		}
	}
}

// half packs x into n/2 complex numbers and transforms these.
func (r *Real) half(x []float64) []complex128 {
	a := r.a
	for i := range a {
		a[i] = complex(x[2*i], x[2*i+1])
	}
	return r.transform()
}

// parted gives X[k] and X[n/2-k] of the real frame from its packed transform z.
func (r *Real) parted(z []complex128, k int) (lower, upper complex128) {
	p, q := z[k], z[len(z)-k]
	q = complex(real(q), -imag(q))
	even := 0.5 * (p + q)
	d := 0.5 * (p - q)
	odd := complex(imag(d), -real(d)) * r.split[k]
	upper = even - odd
	return even + odd, complex(real(upper), -imag(upper))
}

// transform is the Stockham radix-4 transform with a last radix-2 stage where
// the length asks for one (Van Loan, Computational Frameworks for the FFT, 1992, section 1.7).
func (r *Real) transform() []complex128 {
	x, y := r.a, r.b
	m, stride := len(x), 1
	for _, w := range r.twiddles {
		stage4(y, x, w, m/4, stride)
		x, y = y, x
		m, stride = m/4, stride*4
	}
	if m == 2 {
		for q := range stride {
			u, v := x[q], x[q+stride]
			y[q], y[q+stride] = u+v, u-v
		}
		x = y
	}
	return x
}

func stage4(y, x, w []complex128, groups, s int) {
	if s == 1 {
		firstStage(y, x, w, groups)
		return
	}
	quarter := groups * s
	for p := range groups {
		w1, w2, w3 := w[3*p], w[3*p+1], w[3*p+2]
		xa, xb := x[p*s:][:s], x[p*s+quarter:][:s]
		xc, xd := x[p*s+2*quarter:][:s], x[p*s+3*quarter:][:s]
		y0, y1 := y[4*p*s:][:s], y[(4*p+1)*s:][:s]
		y2, y3 := y[(4*p+2)*s:][:s], y[(4*p+3)*s:][:s]
		if p == 0 { // all twiddles are 1
			for q := range s {
				y0[q], y1[q], y2[q], y3[q] = butterfly(xa[q], xb[q], xc[q], xd[q])
			}
			continue
		}
		for q := range s {
			u0, u1, u2, u3 := butterfly(xa[q], xb[q], xc[q], xd[q])
			y0[q], y1[q], y2[q], y3[q] = u0, w1*u1, w2*u2, w3*u3
		}
	}
}

// firstStage is stage4 for a stride of 1.
func firstStage(y, x, w []complex128, groups int) {
	xa, xb, xc, xd := x[:groups], x[groups:][:groups], x[2*groups:][:groups], x[3*groups:][:groups]
	for p, a := range xa {
		v := (*[3]complex128)(w[3*p:])
		out := (*[4]complex128)(y[4*p:])
		u0, u1, u2, u3 := butterfly(a, xb[p], xc[p], xd[p])
		out[0], out[1], out[2], out[3] = u0, v[0]*u1, v[1]*u2, v[2]*u3
	}
}
