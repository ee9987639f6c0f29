package fft

import (
	"math"
	"math/cmplx"
)

// Convolver transforms real frames of one length n there and back, for convolutions and correlations.
//
// A spectrum has n/2 places, whose bins Bin tells. Place 0 holds two real values: bin 0 as the real, bin n/2 as the imaginary part.
type Convolver struct {
	n     int
	half  kernel
	split []complex128 // exp(-2 pi i k/n) for the bins of places s to 2s-1 of every power of two s, to part the two interleaved halves
	z     []complex128
}

// NewConvolver prepares transforms of length n, a power of two of at least 16.
func NewConvolver(n int) *Convolver {
	checkLength(n, 16)
	h := n / 2
	c := &Convolver{n: n, half: newKernel(h), z: make([]complex128, h), split: make([]complex128, h/2)}
	for s := 1; s < h/2; s *= 2 {
		for i := range s {
			c.split[s+i] = cmplx.Rect(1, -2*math.Pi*float64(reversed(2*s+i, h))/float64(n))
		}
	}
	return c
}

// Bin tells which bin lies at a place of the spectra.
func (c *Convolver) Bin(place int) int { return reversed(place, c.n/2) }

// Forward writes the spectrum of x (length n) to dst (length n/2).
func (c *Convolver) Forward(dst []complex128, x []float64) {
	h := c.n / 2
	z := dst[:h]
	x = x[:2*len(z)]
	for i := range z {
		z[i] = complex(x[2*i], x[2*i+1])
	}
	c.half.down(z, 0)
	z[0] = complex(real(z[0])+imag(z[0]), real(z[0])-imag(z[0]))
	z[1] = conj(z[1])
	for s := 1; s < h/2; s *= 2 { // bin k at place 2s+i, bin h-k at place 4s-1-i
		w := c.split[s:][:s]
		low, high := z[2*s:][:s], z[3*s:][:s]
		for i, wi := range w {
			j := len(w) - 1 - i
			p, q := low[i], conj(high[j])
			even, d := 0.5*(p+q), 0.5*(p-q)
			odd := complex(imag(d), -real(d)) * wi
			low[i], high[j] = even+odd, conj(even-odd)
		}
	}
}

// Inverse writes the frame (length n) whose spectrum is src (length n/2) to dst. It undoes Forward, scaling included.
func (c *Convolver) Inverse(dst []float64, src []complex128) {
	h := c.n / 2
	src, z := src[:h], c.z[:h]
	scale := 0.5 / float64(h)
	lowest, highest := real(src[0])*scale, imag(src[0])*scale
	z[0] = complex(lowest+highest, lowest-highest)
	z[1] = complex(2*scale*real(src[1]), -2*scale*imag(src[1]))
	for s := 1; s < h/2; s *= 2 {
		w := c.split[s:][:s]
		low, high := src[2*s:][:s], src[3*s:][:s]
		zLow, zHigh := z[2*s:][:s], z[3*s:][:s]
		for i, wi := range w {
			j := len(w) - 1 - i
			p, q := low[i], conj(high[j])
			even, d := p+q, conjTimes(wi, p-q)
			// bin k is even + i d, bin h-k conj(even - i d)
			zLow[i] = complex((real(even)-imag(d))*scale, (imag(even)+real(d))*scale)
			zHigh[j] = complex((real(even)+imag(d))*scale, (real(d)-imag(even))*scale)
		}
	}
	c.half.up(z, 0)
	dst = dst[:2*len(z)]
	for i, v := range z {
		dst[2*i], dst[2*i+1] = real(v), imag(v)
	}
}

// MultiplyAdd adds the product of two spectra of a Convolver to dst.
func MultiplyAdd(dst, a, b []complex128) {
	a, b = a[:len(dst)], b[:len(dst)]
	dst[0] += complex(real(a[0])*real(b[0]), imag(a[0])*imag(b[0]))
	for k := 1; k < len(dst); k++ {
		x, y := a[k], b[k]
		dst[k] += complex(real(x)*real(y)-imag(x)*imag(y), real(x)*imag(y)+imag(x)*real(y))
	}
}

// MultiplyConjAdd adds the product of conj(a) and b, spectra of a Convolver, to dst: the spectrum of the correlation sum a(n) b(n+k).
func MultiplyConjAdd(dst, a, b []complex128) {
	a, b = a[:len(dst)], b[:len(dst)]
	dst[0] += complex(real(a[0])*real(b[0]), imag(a[0])*imag(b[0]))
	for k := 1; k < len(dst); k++ {
		x, y := a[k], b[k]
		dst[k] += complex(real(x)*real(y)+imag(x)*imag(y), real(x)*imag(y)-imag(x)*real(y))
	}
}
