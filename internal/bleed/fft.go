package bleed

import (
	"fmt"
	"math"
	"math/bits"
	"math/cmplx"
)

// realFFT transforms real frames of one length n there and back. It owns its work space: one value per goroutine.
//
// It is here for speed alone: on the lengths that a live block needs it takes about half the time of the general
// transform of gonum, against which its test checks it, and the filters spend most of their time in transforms.
//
// A spectrum is packed into n/2 complex numbers: bins 0 to n/2-1, with the (real) Nyquist bin as the imaginary part of bin 0.
type realFFT struct {
	n        int
	twiddles [][]complex128 // per stage of the half-length transform: w, w^2, w^3 for each group
	split    []complex128   // exp(-2 pi i k/n), to part the two interleaved halves
	a, b     []complex128
}

// newRealFFT prepares transforms of length n, a power of two of at least 16.
func newRealFFT(n int) *realFFT {
	if n < 16 || bits.OnesCount(uint(n)) != 1 {
		panic(fmt.Sprintf("bleed: transform length %d, want a power of two of at least 16", n))
	}
	h := n / 2
	f := &realFFT{n: n, a: make([]complex128, h), b: make([]complex128, h), split: make([]complex128, h/2+1)}
	for k := range f.split {
		f.split[k] = cmplx.Rect(1, -2*math.Pi*float64(k)/float64(n))
	}
	for m := h; m >= 4; m /= 4 {
		w := make([]complex128, 0, 3*m/4)
		for p := range m / 4 {
			t := -2 * math.Pi * float64(p) / float64(m)
			w = append(w, cmplx.Rect(1, t), cmplx.Rect(1, 2*t), cmplx.Rect(1, 3*t))
		}
		f.twiddles = append(f.twiddles, w)
	}
	return f
}

// forward writes the packed spectrum of x (length n) to dst (length n/2).
func (f *realFFT) forward(dst []complex128, x []float64) {
	h := f.n / 2
	x, dst = x[:f.n], dst[:h]
	a := f.a
	for i := range a {
		a[i] = complex(x[2*i], x[2*i+1])
	}
	z := f.transform()
	dst[0] = complex(real(z[0])+imag(z[0]), real(z[0])-imag(z[0]))
	for k := 1; k <= h/2; k++ {
		p, q := z[k], cmplx.Conj(z[h-k])
		even, d := 0.5*(p+q), 0.5*(p-q)
		odd := complex(imag(d), -real(d)) * f.split[k]
		dst[k] = even + odd
		dst[h-k] = cmplx.Conj(even - odd)
	}
}

// inverse writes the frame (length n) whose packed spectrum is src (length n/2) to dst. It undoes forward, scaling included.
func (f *realFFT) inverse(dst []float64, src []complex128) {
	h := f.n / 2
	src, dst = src[:h], dst[:f.n]
	// The inverse complex transform is the forward one of swapped real and imaginary parts.
	a, scale := f.a, 0.5/float64(h)
	dc, nyquist := real(src[0])*scale, imag(src[0])*scale
	a[0] = complex(dc-nyquist, dc+nyquist)
	for k := 1; k <= h/2; k++ {
		p, q := src[k], cmplx.Conj(src[h-k])
		even, d := p+q, (p-q)*cmplx.Conj(f.split[k])
		// z[k] = even + i d, z[h-k] = conj(even - i d)
		a[k] = complex((imag(even)+real(d))*scale, (real(even)-imag(d))*scale)
		a[h-k] = complex((real(d)-imag(even))*scale, (real(even)+imag(d))*scale)
	}
	z := f.transform()
	for i, v := range z {
		dst[2*i], dst[2*i+1] = imag(v), real(v)
	}
}

// transform is the Stockham radix-4 transform of f.a with a last radix-2 stage where the length asks for one (Van Loan,
// Computational Frameworks for the FFT, 1992, section 1.7).
func (f *realFFT) transform() []complex128 {
	x, y := f.a, f.b
	m, stride := len(x), 1
	for i, w := range f.twiddles {
		if i == 0 {
			firstStage(y, x, w, m/4)
		} else {
			laterStage(y, x, w, m/4, stride)
		}
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

// firstStage is laterStage with a stride of 1.
func firstStage(y, x, w []complex128, groups int) {
	xa, xb := x[:groups], x[groups:][:groups]
	xc, xd := x[2*groups:][:groups], x[3*groups:][:groups]
	for p := range xa {
		wp, out := w[3*p:][:3], y[4*p:][:4]
		u0, u1, u2, u3 := butterfly(xa[p], xb[p], xc[p], xd[p])
		out[0], out[1], out[2], out[3] = u0, wp[0]*u1, wp[1]*u2, wp[2]*u3
	}
}

func laterStage(y, x, w []complex128, groups, s int) {
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

// butterfly is the discrete Fourier transform of four numbers.
func butterfly(a, b, c, d complex128) (u0, u1, u2, u3 complex128) {
	apc, amc, bpd, t := a+c, a-c, b+d, b-d
	jt := complex(-imag(t), real(t))
	return apc + bpd, amc - jt, apc - bpd, amc + jt
}
