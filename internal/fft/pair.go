package fft

// Pair transforms two real frames of one length n at once, one as the real and one as the imaginary parts of a complex frame. What is done to both
// alike, such as a convolution with one real path, needs no parting of the two, which makes it a seventh faster than two frames by a Convolver.
//
// A spectrum has n places. Bin k lies at place 2i where a Convolver of the same length has it at place i, and bin n-k opposite to it.
type Pair struct {
	n    int
	full kernel
}

// NewPair prepares transforms of length n, a power of two of at least 16.
func NewPair(n int) *Pair {
	checkLength(n, 16)
	return &Pair{n, newKernel(n)}
}

// Forward replaces a pair of frames by its spectrum.
func (p *Pair) Forward(z []complex128) { p.full.down(z[:p.n], 0) }

// Inverse replaces a spectrum by n times the pair of frames it belongs to.
func (p *Pair) Inverse(z []complex128) { p.full.up(z[:p.n], 0) }

// MultiplyAddPair adds to dst the product of z, spectrum of a pair, and h, a Convolver's spectrum of one frame of the same length: that of
// both frames convolved with it.
func MultiplyAddPair(dst, z, h []complex128) {
	z, h = z[:len(dst)], h[:len(dst)/2]
	dst[0] += complex(real(z[0])*real(h[0]), imag(z[0])*real(h[0]))
	dst[1] += complex(real(z[1])*imag(h[0]), imag(z[1])*imag(h[0]))
	for s := 2; s < len(dst); s *= 2 {
		out, in := dst[s:][:s], z[s:][:s]
		for i, v := range h[s/2:][:s/2] {
			j := s - 1 - 2*i
			out[2*i] += in[2*i] * v
			out[j] += conjTimes(v, in[j])
		}
	}
}

// CorrelatePairAdd adds to dst, a Convolver's spectrum, that of sum a(n) b(n+k) over both frames of two pairs a and b.
func CorrelatePairAdd(dst, a, b []complex128) {
	a, b = a[:2*len(dst)], b[:2*len(dst)]
	dst[0] += complex(real(a[0])*real(b[0])+imag(a[0])*imag(b[0]), real(a[1])*real(b[1])+imag(a[1])*imag(b[1]))
	for s := 2; s < len(a); s *= 2 {
		as, bs := a[s:][:s], b[s:][:s]
		out := dst[s/2:][:s/2]
		for i := range out {
			j := s - 1 - 2*i
			out[i] += 0.5 * (conjTimes(as[2*i], bs[2*i]) + conjTimes(bs[j], as[j]))
		}
	}
}

// PairPowers adds to dst, by the places of a Convolver, the powers of the two frames of the pair z, each with its weight. Place 0 takes
// the sum of its two bins.
func PairPowers(dst []float64, z []complex128, first, second float64) {
	z = z[:2*len(dst)]
	dst[0] += first*(real(z[0])*real(z[0])+real(z[1])*real(z[1])) + second*(imag(z[0])*imag(z[0])+imag(z[1])*imag(z[1]))
	for s := 2; s < len(z); s *= 2 {
		zs := z[s:][:s]
		out := dst[s/2:][:s/2]
		for i := range out {
			p, q := zs[2*i], conj(zs[s-1-2*i])
			one, two := 0.5*(p+q), 0.5*(p-q) // the second one's but for a factor of i
			out[i] += first*(real(one)*real(one)+imag(one)*imag(one)) + second*(real(two)*real(two)+imag(two)*imag(two))
		}
	}
}
