package bleed

import "math"

// Constants of the least-squares path, chosen on simulated rooms.
const (
	pathTaps      = 8192  // 0.51 s: a room of 0.75 s reverberation at 0 dB needs it, 4096 do up to about 0.4 s
	alignTaps     = 1024  // for the clock skew the first 64 ms of the room are enough
	ridge         = 0.001 // of the reference's energy, added to the diagonal
	whiteOrder    = 20    // of the linear prediction that whitens both signals
	pathSteps     = 25    // of the conjugate gradients
	alignSteps    = 12
	blockPerTaps  = 4    // length of a transform over the number of taps
	stepTolerance = 1e-5 // of the first residual's norm at which the conjugate gradients stop
)

// fitPath finds for every reference the path of taps taps that minimises
//
//	sum w(n) [a*(y - sum h_i*x_i)](n)^2 + ridge |x|^2 |h|^2
//
// where a is the whitening filter of y. w weights the samples (0: someone may sing). The weights make the normal equations
// non-Toeplitz, so they are solved by preconditioned conjugate gradients with products by overlap-save transforms.
func fitPath(refs [][]float64, y, w []float64, taps, steps int) [][]float64 {
	a := whitener(y, w)
	white := make([][]float64, len(refs))
	for i, x := range refs {
		white[i] = filterFIR(a, x)
	}
	s := newNormalEquations(white, settled(w), taps)
	return s.solve(filterFIR(a, y), steps)
}

// settled is w without the samples after a stretch without weight that the whitening filter still mixes with it.
func settled(w []float64) []float64 {
	out := make([]float64, len(w))
	since := 0
	for n, v := range w {
		since++
		if v == 0 {
			since = 0
		}
		if since > whiteOrder {
			out[n] = v
		}
	}
	return out
}

// whitener is the prediction-error filter of y where w > 0 (autocorrelation method, Levinson-Durbin recursion).
func whitener(y, w []float64) []float64 {
	r := make([]float64, whiteOrder+1)
	for n := whiteOrder; n < len(y); n++ {
		if w[n] == 0 {
			continue
		}
		g := w[n] * y[n]
		for k := range r {
			r[k] += g * y[n-k]
		}
	}
	a := make([]float64, whiteOrder+1)
	a[0] = 1
	if r[0] <= 0 {
		return a
	}
	const whiteNoise = 1e-6 // -60 dB of white noise keep the recursion stable
	e := r[0] * (1 + whiteNoise)
	next := make([]float64, len(a))
	for m := 1; m <= whiteOrder; m++ {
		k := 0.0
		for j := range m {
			k -= a[j] * r[m-j]
		}
		k /= e
		if math.Abs(k) >= 1 {
			break
		}
		copy(next, a)
		for j := 1; j <= m; j++ {
			next[j] = a[j] + k*a[m-j]
		}
		a, next = next, a
		e *= 1 - k*k
	}
	return a
}

// filterFIR is a*x with silence before x.
func filterFIR(a, x []float64) []float64 {
	y := make([]float64, len(x))
	reversed := make([]float64, len(a))
	for i, v := range a {
		reversed[len(a)-1-i] = v
	}
	for n := range y {
		if n >= len(a)-1 {
			y[n] = dot(reversed, x[n-len(a)+1:][:len(a)])
			continue
		}
		for k := 0; k <= n; k++ {
			y[n] += a[k] * x[n-k]
		}
	}
	return y
}

// normalEquations multiplies by sum w x x^T + ridge without forming the matrix.
type normalEquations struct {
	taps, hop            int
	fft                  *realFFT
	starts               []int            // first output sample of each block that has weight
	spectra              [][][]complex128 // [block][reference] of hop+taps samples, the first taps of them before the block
	weights              []float64
	lambda               []float64   // per reference
	precond              [][]float64 // per reference, 1/(power + lambda) of the packed bins
	frame                []float64
	bins, sum            []complex128
	directions, products [][]complex128 // work space of apply, per reference
}

func newNormalEquations(refs [][]float64, w []float64, taps int) *normalEquations {
	n := blockPerTaps * taps
	s := &normalEquations{taps: taps, hop: n - taps, fft: newRealFFT(n), weights: w,
		frame: make([]float64, n), bins: make([]complex128, n/2), sum: make([]complex128, n/2),
		lambda: make([]float64, len(refs)), precond: make([][]float64, len(refs))}
	for i := range s.precond {
		s.precond[i] = make([]float64, n/2)
	}
	for start := 0; start < len(w); start += s.hop {
		share := total(w[start:min(start+s.hop, len(w))])
		if share == 0 {
			continue
		}
		s.starts = append(s.starts, start)
		spectra := make([][]complex128, len(refs))
		for i, x := range refs {
			spectra[i] = make([]complex128, n/2)
			cut(s.frame, x, start-taps)
			s.fft.forward(spectra[i], s.frame)
			for k, v := range spectra[i] {
				s.precond[i][k] += share / float64(n) * power(v)
			}
		}
		s.spectra = append(s.spectra, spectra)
	}
	for i, p := range s.precond {
		s.lambda[i] = ridge*weightedEnergy(refs[i], w) + math.SmallestNonzeroFloat32
		for k := range p {
			p[k] = 1 / (p[k] + s.lambda[i])
		}
	}
	return s
}

// solve runs the conjugate gradients from zero (Hestenes and Stiefel 1952; Shewchuk 1994, B3).
func (s *normalEquations) solve(y []float64, steps int) [][]float64 {
	h, r := s.zeros(), s.correlate(y)
	z, p, ap := s.zeros(), s.zeros(), s.zeros()
	s.condition(z, r)
	copyAll(p, z)
	rz := dotAll(r, z)
	first := rz
	for range steps {
		if rz <= stepTolerance*stepTolerance*first {
			break
		}
		s.apply(ap, p)
		step := rz / dotAll(p, ap)
		addAll(h, step, p)
		addAll(r, -step, ap)
		s.condition(z, r)
		next := dotAll(r, z)
		for i := range p {
			for k := range p[i] {
				p[i][k] = z[i][k] + next/rz*p[i][k]
			}
		}
		rz = next
	}
	return h
}

func (s *normalEquations) zeros() [][]float64 {
	v := make([][]float64, len(s.lambda))
	for i := range v {
		v[i] = make([]float64, s.taps)
	}
	return v
}

// correlate is sum w(n) y(n) x_i(n-k).
func (s *normalEquations) correlate(y []float64) [][]float64 {
	sums := s.spectraLike()
	for b, start := range s.starts {
		cut(s.frame, y, start-s.taps)
		s.backward(sums, b, start)
	}
	out := s.zeros()
	s.toTaps(out, sums)
	return out
}

// apply writes the product of the matrix with p.
func (s *normalEquations) apply(dst, p [][]float64) {
	if s.directions == nil {
		s.directions, s.products = s.spectraLike(), s.spectraLike()
	}
	forward, sums := s.directions, s.products
	for i := range p {
		clear(sums[i])
		clear(s.frame)
		copy(s.frame, p[i])
		s.fft.forward(forward[i], s.frame)
	}
	for b, start := range s.starts {
		clear(s.sum)
		for i := range p {
			multiplyAdd(s.sum, s.spectra[b][i], forward[i])
		}
		s.fft.inverse(s.frame, s.sum)
		s.backward(sums, b, start)
	}
	s.toTaps(dst, sums)
	for i := range dst {
		for k := range dst[i] {
			dst[i][k] += s.lambda[i] * p[i][k]
		}
	}
}

// backward weights the block in s.frame and adds its correlation with the references to sums.
func (s *normalEquations) backward(sums [][]complex128, b, start int) {
	clear(s.frame[:s.taps])
	for i := range s.hop {
		if n := start + i; n < len(s.weights) {
			s.frame[s.taps+i] *= s.weights[n]
		} else {
			s.frame[s.taps+i] = 0
		}
	}
	s.fft.forward(s.bins, s.frame)
	for i := range sums {
		multiplyConjAdd(sums[i], s.spectra[b][i], s.bins)
	}
}

func (s *normalEquations) toTaps(dst [][]float64, sums [][]complex128) {
	for i := range dst {
		s.fft.inverse(s.frame, sums[i])
		copy(dst[i], s.frame[:s.taps])
	}
}

// condition divides by the mean power spectrum of each reference.
func (s *normalEquations) condition(dst, r [][]float64) {
	for i := range r {
		clear(s.frame)
		copy(s.frame, r[i])
		s.fft.forward(s.bins, s.frame)
		for k, v := range s.precond[i] {
			s.bins[k] = complex(real(s.bins[k])*v, imag(s.bins[k])*v)
		}
		s.fft.inverse(s.frame, s.bins)
		copy(dst[i], s.frame[:s.taps])
	}
}

func (s *normalEquations) spectraLike() [][]complex128 {
	v := make([][]complex128, len(s.lambda))
	for i := range v {
		v[i] = make([]complex128, len(s.bins))
	}
	return v
}

// convolve is sum h_i*x_i, as long as the references.
func convolve(refs, h [][]float64) []float64 {
	taps := len(h[0])
	n := powerOfTwo(max(blockPerTaps*taps, 64))
	hop := n - taps
	f, frame := newRealFFT(n), make([]float64, n)
	bins, sum := make([]complex128, n/2), make([]complex128, n/2)
	paths := make([][]complex128, len(h))
	for i := range h {
		paths[i] = make([]complex128, n/2)
		clear(frame)
		copy(frame, h[i])
		f.forward(paths[i], frame)
	}
	out := make([]float64, len(refs[0]))
	for start := 0; start < len(out); start += hop {
		clear(sum)
		for i, x := range refs {
			cut(frame, x, start-taps)
			f.forward(bins, frame)
			multiplyAdd(sum, bins, paths[i])
		}
		f.inverse(frame, sum)
		copy(out[start:], frame[taps:])
	}
	return out
}

// cut copies x from a place on, with silence where x has nothing.
func cut(dst, x []float64, from int) {
	clear(dst)
	if from >= len(x) {
		return
	}
	if from < 0 {
		if -from < len(dst) {
			copy(dst[-from:], x)
		}
		return
	}
	copy(dst, x[from:])
}

// multiplyAdd adds the product of two packed spectra.
func multiplyAdd(dst, a, b []complex128) {
	a, b = a[:len(dst)], b[:len(dst)]
	dst[0] += complex(real(a[0])*real(b[0]), imag(a[0])*imag(b[0]))
	for k := 1; k < len(dst); k++ {
		x, y := a[k], b[k]
		dst[k] += complex(real(x)*real(y)-imag(x)*imag(y), real(x)*imag(y)+imag(x)*real(y))
	}
}

// multiplyConjAdd adds the product of conj(a) and b, packed spectra.
func multiplyConjAdd(dst, a, b []complex128) {
	a, b = a[:len(dst)], b[:len(dst)]
	dst[0] += complex(real(a[0])*real(b[0]), imag(a[0])*imag(b[0]))
	for k := 1; k < len(dst); k++ {
		x, y := a[k], b[k]
		dst[k] += complex(real(x)*real(y)+imag(x)*imag(y), real(x)*imag(y)-imag(x)*real(y))
	}
}

func power(c complex128) float64 { return real(c)*real(c) + imag(c)*imag(c) }

func total(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum
}

func weightedEnergy(x, w []float64) float64 {
	sum := 0.0
	for i, v := range x {
		sum += w[i] * v * v
	}
	return sum
}

func copyAll(dst, src [][]float64) {
	for i := range dst {
		copy(dst[i], src[i])
	}
}

func dotAll(a, b [][]float64) float64 {
	sum := 0.0
	for i := range a {
		sum += dot(a[i], b[i])
	}
	return sum
}

func addAll(dst [][]float64, scale float64, src [][]float64) {
	for i := range dst {
		for k, v := range src[i] {
			dst[i][k] += scale * v
		}
	}
}
