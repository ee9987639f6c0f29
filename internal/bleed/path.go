package bleed

import (
	"math"

	"larkhand/internal/fft"
)

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
// non-Toeplitz, so they are solved by preconditioned conjugate gradients with products by overlap-save transforms. start is where they begin, such as
// the paths of a fit with other weights; nil: at zero.
func fitPath(refs [][]float64, y, w []float64, start [][]float64, taps, steps int) [][]float64 {
	a := whitener(y, w)
	from, to := neededFor(w, taps)
	white := make([][]float64, len(refs))
	for i, x := range refs {
		white[i] = filterFIR(a, x, from, to)
	}
	s := newNormalEquations(white, settled(w), taps)
	return s.solve(filterFIR(a, y, from, to), start, steps)
}

// neededFor is from which to which sample the blocks with weight reach.
func neededFor(w []float64, taps int) (from, to int) {
	to = len(w)
	for from < to && w[from] == 0 {
		from++
	}
	for to > from && w[to-1] == 0 {
		to--
	}
	hop := (blockPerTaps - 1) * taps
	return max(0, from/hop*hop-taps), min(len(w), (to+hop-1)/hop*hop)
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

// filterFIR is a*x with silence before x, from one sample to another; 0 elsewhere.
func filterFIR(a, x []float64, from, to int) []float64 {
	y := make([]float64, len(x))
	reversed := make([]float64, len(a))
	for i, v := range a {
		reversed[len(a)-1-i] = v
	}
	for n := from; n < to; n++ {
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
	fft                  *fft.Convolver // of hop+taps samples
	pair                 *fft.Pair
	starts               [][2]int         // first output sample of each two blocks that have weight; one at the end of w has none
	spectra              [][][]complex128 // [two blocks][reference], the first taps samples of each before the block
	weights              []float64
	lambda               []float64   // per reference
	precond              [][]float64 // per reference, 1/(power + lambda) by the places of a spectrum
	frame                []float64
	bins                 []complex128
	blocks               []complex128   // work space for two blocks
	directions, products [][]complex128 // work space of apply, per reference
}

func newNormalEquations(refs [][]float64, w []float64, taps int) *normalEquations {
	n := blockPerTaps * taps
	s := &normalEquations{taps: taps, hop: n - taps, fft: fft.NewConvolver(n), pair: fft.NewPair(n), weights: w,
		frame: make([]float64, n), bins: make([]complex128, n/2), blocks: make([]complex128, n),
		lambda: make([]float64, len(refs)), precond: make([][]float64, len(refs))}
	for i := range s.precond {
		s.precond[i] = make([]float64, n/2)
	}
	shares := s.findBlocks()
	for b, at := range s.starts {
		spectra := make([][]complex128, len(refs))
		for i, x := range refs {
			spectra[i] = make([]complex128, n)
			cutTwo(spectra[i], x, at[0]-taps, at[1]-taps)
			s.pair.Forward(spectra[i])
			fft.PairPowers(s.precond[i], spectra[i], shares[b][0]/float64(n), shares[b][1]/float64(n))
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

// findBlocks fills in starts and returns the weight of each block.
func (s *normalEquations) findBlocks() (shares [][2]float64) {
	second := false
	for start := 0; start < len(s.weights); start += s.hop {
		share := total(s.weights[start:min(start+s.hop, len(s.weights))])
		switch {
		case share == 0:
			continue
		case second:
			s.starts[len(s.starts)-1][1], shares[len(shares)-1][1] = start, share
		default:
			s.starts, shares = append(s.starts, [2]int{start, len(s.weights)}), append(shares, [2]float64{share, 0})
		}
		second = !second
	}
	return shares
}

// solve runs the conjugate gradients (Hestenes and Stiefel 1952; Shewchuk 1994, B3).
func (s *normalEquations) solve(y []float64, start [][]float64, steps int) [][]float64 {
	h, r := s.zeros(), s.correlate(y)
	z, p, ap := s.zeros(), s.zeros(), s.zeros()
	if start != nil {
		copyAll(h, start)
		s.apply(ap, h)
		addAll(r, -1, ap)
	}
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
	for b, at := range s.starts {
		cutTwo(s.blocks, y, at[0]-s.taps, at[1]-s.taps)
		s.backward(sums, b, 1)
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
	for i := range p {
		clear(s.products[i])
		clear(s.frame)
		copy(s.frame, p[i])
		s.fft.Forward(s.directions[i], s.frame)
	}
	for b := range s.starts {
		clear(s.blocks)
		for i := range p {
			fft.MultiplyAddPair(s.blocks, s.spectra[b][i], s.directions[i])
		}
		s.pair.Inverse(s.blocks)
		s.backward(s.products, b, 1/float64(len(s.blocks)))
	}
	s.toTaps(dst, s.products)
	for i := range dst {
		for k := range dst[i] {
			dst[i][k] += s.lambda[i] * p[i][k]
		}
	}
}

// backward weights the two blocks in s.blocks, scales them and adds their correlation with the references to sums.
func (s *normalEquations) backward(sums [][]complex128, b int, scale float64) {
	first, second := s.weightsFrom(s.starts[b][0]), s.weightsFrom(s.starts[b][1])
	clear(s.blocks[:s.taps])
	out := s.blocks[s.taps:]
	for i := range out {
		w, v := 0.0, 0.0
		if i < len(first) {
			w = scale * first[i]
		}
		if i < len(second) {
			v = scale * second[i]
		}
		out[i] = complex(w*real(out[i]), v*imag(out[i]))
	}
	s.pair.Forward(s.blocks)
	for i := range sums {
		fft.CorrelatePairAdd(sums[i], s.spectra[b][i], s.blocks)
	}
}

// weightsFrom are the weights of the block that begins at a sample.
func (s *normalEquations) weightsFrom(start int) []float64 {
	return s.weights[start:min(start+s.hop, len(s.weights))]
}

func (s *normalEquations) toTaps(dst [][]float64, sums [][]complex128) {
	for i := range dst {
		s.fft.Inverse(s.frame, sums[i])
		copy(dst[i], s.frame[:s.taps])
	}
}

// condition divides by the mean power spectrum of each reference.
func (s *normalEquations) condition(dst, r [][]float64) {
	for i := range r {
		clear(s.frame)
		copy(s.frame, r[i])
		s.fft.Forward(s.bins, s.frame)
		for k, v := range s.precond[i] {
			s.bins[k] = complex(real(s.bins[k])*v, imag(s.bins[k])*v)
		}
		s.fft.Inverse(s.frame, s.bins)
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
	f, p, frame := fft.NewConvolver(n), fft.NewPair(n), make([]float64, n)
	bins, sum := make([]complex128, n), make([]complex128, n)
	paths := make([][]complex128, len(h))
	for i := range h {
		paths[i] = make([]complex128, n/2)
		clear(frame)
		copy(frame, h[i])
		f.Forward(paths[i], frame)
	}
	out := make([]float64, len(refs[0]))
	for start := 0; start < len(out); start += 2 * hop {
		clear(sum)
		for i, x := range refs {
			cutTwo(bins, x, start-taps, start+hop-taps)
			p.Forward(bins)
			fft.MultiplyAddPair(sum, bins, paths[i])
		}
		p.Inverse(sum)
		first := out[start:min(start+hop, len(out))]
		second := out[min(start+hop, len(out)):min(start+2*hop, len(out))]
		for i := range first {
			first[i] = real(sum[taps+i]) / float64(n)
		}
		for i := range second {
			second[i] = imag(sum[taps+i]) / float64(n)
		}
	}
	return out
}

// cutTwo copies x from two places on, with silence where x has nothing: the real and the imaginary parts of dst.
func cutTwo(dst []complex128, x []float64, first, second int) {
	at := func(i int) float64 {
		if i < 0 || i >= len(x) {
			return 0
		}
		return x[i]
	}
	for i := range dst {
		dst[i] = complex(at(first+i), at(second+i))
	}
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
