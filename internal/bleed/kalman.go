package bleed

import (
	"math"
	"slices"

	"larkhand/internal/fft"
)

// tracking holds the two constants of a Kalman filter that decide how fast it follows, for blocks of referenceBlock samples.
type tracking struct {
	memory float64 // A: how much of the path is the same one block later
	doubt  float64 // c: how unsure the path is at the start, relative to the level of bleed over backing
}

// The two speeds run side by side; both were chosen on simulated rooms.
var (
	slow = tracking{memory: .99999, doubt: .001}
	fast = tracking{memory: .9998, doubt: .01}
)

const (
	referenceBlock = 256 // samples, 16 ms
	smoothNoise    = 0.6 // share of the old noise spectrum kept, per block
	overlapLoss    = 0.5 // half of each double block is cut off, so half of the reference's power counts
	doubtDecay     = 4   // nepers over the path by which the doubt falls
	doubtScale     = 16
)

// kalman is the frequency-domain Kalman filter of a path cut into partitions (Enzner and Vary 2006; Kuech, Mabande and Enzner
// 2014), overlap-save with double blocks and the full gradient constraint. The voice counts as its measurement noise, so
// the steps shrink in the bins in which somebody sings, and no detector of double talk is needed.
type kalman struct {
	block, parts int
	memory       float64
	paths        [][]complex128 // W, per partition
	doubt        [][]float64    // C, per partition; bin 0 stands for the lowest and the highest bin
	noise        []float64      // S
	fft          *fft.Convolver
	frame        []float64
	sum, errBins []complex128
	gain, loss   []float64 // shared by the partitions: 1/D, and sum |X|^2 C
}

// referenceBlocks holds the spectra of the last double blocks of the reference; several filters may share one.
type referenceBlocks struct {
	fft    *fft.Convolver
	newest int
	bins   [][]complex128 // a ring
	power  [][]float64
	frame  []float64
}

func newReferenceBlocks(block, parts int) *referenceBlocks {
	x := &referenceBlocks{fft: fft.NewConvolver(2 * block), frame: make([]float64, 2*block),
		bins: make([][]complex128, parts), power: make([][]float64, parts)}
	for p := range x.bins {
		x.bins[p], x.power[p] = make([]complex128, block), make([]float64, block)
	}
	return x
}

// push takes in the next block.
func (x *referenceBlocks) push(block []float64) {
	n := len(x.frame) / 2
	copy(x.frame, x.frame[n:])
	copy(x.frame[n:], block)
	x.newest = (x.newest + len(x.bins) - 1) % len(x.bins)
	bins, pow := x.bins[x.newest], x.power[x.newest]
	x.fft.Forward(bins, x.frame)
	for k, v := range bins {
		pow[k] = power(v)
	}
	pow[0] /= 2 // mean of the lowest and the highest bin
}

// at gives the double block that ended parts blocks ago.
func (x *referenceBlocks) at(part int) ([]complex128, []float64) {
	i := x.newest + part
	if i >= len(x.bins) {
		i -= len(x.bins)
	}
	return x.bins[i], x.power[i]
}

func newKalman(block, taps int, speed tracking) *kalman {
	parts := (taps + block - 1) / block
	k := &kalman{block: block, parts: parts, memory: math.Pow(speed.memory, float64(block)/referenceBlock),
		paths: make([][]complex128, parts), doubt: make([][]float64, parts),
		noise: make([]float64, block), fft: fft.NewConvolver(2 * block), frame: make([]float64, 2*block),
		sum: make([]complex128, block), errBins: make([]complex128, block), gain: make([]float64, block), loss: make([]float64, block)}
	for p := range parts {
		k.paths[p], k.doubt[p] = make([]complex128, block), make([]float64, block)
	}
	return k
}

// setPath starts from a known path.
func (k *kalman) setPath(h []float64) {
	for p := range k.paths {
		clear(k.frame)
		if from := p * k.block; from < len(h) {
			copy(k.frame[:k.block], h[from:])
		}
		k.fft.Forward(k.paths[p], k.frame)
	}
}

// setDoubt starts with a doubt of c; ratio is the power of the take over that of the reference.
func (k *kalman) setDoubt(c, ratio float64) {
	for p, row := range k.doubt {
		v := c * ratio / doubtScale * math.Exp(-doubtDecay*float64(p)/float64(k.parts)) * float64(k.block) / referenceBlock
		for i := range row {
			row[i] = v
		}
	}
}

// path is the impulse response that the filter has arrived at.
func (k *kalman) path() []float64 {
	h := make([]float64, 0, k.parts*k.block)
	for _, w := range k.paths {
		k.fft.Inverse(k.frame, w)
		h = append(h, k.frame[:k.block]...)
	}
	return h
}

// turn reverses the path in time, so that the filter can run over a take from its end to its beginning.
func (k *kalman) turn() {
	h := k.path()
	slices.Reverse(h)
	k.setPath(h)
	slices.Reverse(k.doubt)
}

// step takes the next block of the take, whose reference has just been pushed, writes what is left of it to left, and learns.
func (k *kalman) step(x *referenceBlocks, take, left []float64) {
	n := k.block
	clear(k.sum)
	for p := range k.paths {
		bins, _ := x.at(p)
		fft.MultiplyAdd(k.sum, bins, k.paths[p])
	}
	k.fft.Inverse(k.frame, k.sum)
	for i, v := range k.frame[n:] {
		left[i] = take[i] - v
	}
	k.learn(x, left)
}

// learn corrects the path by what is left.
func (k *kalman) learn(x *referenceBlocks, left []float64) {
	n := k.block
	clear(k.frame[:n])
	copy(k.frame[n:], left)
	k.fft.Forward(k.errBins, k.frame)
	k.weigh(x)
	for p := range k.paths {
		bins, pow := x.at(p)
		k.correct(k.paths[p], k.doubt[p], bins, pow)
	}
}

// weigh sets gain to 1/D, D = overlapLoss sum |X_p|^2 C_p + S, after S has taken in the new block.
func (k *kalman) weigh(x *referenceBlocks) {
	clear(k.loss)
	for p := range k.doubt {
		_, pow := x.at(p)
		doubt := k.doubt[p][:len(pow)]
		loss := k.loss[:len(pow)]
		for i, v := range pow {
			loss[i] += v * doubt[i]
		}
	}
	for i, e := range k.errBins {
		p := power(e)
		if i == 0 {
			p /= 2
		}
		k.noise[i] = smoothNoise*k.noise[i] + (1-smoothNoise)*p
		k.gain[i] = 1 / (overlapLoss*k.loss[i] + k.noise[i] + math.SmallestNonzeroFloat32)
	}
}

// correct moves one partition: W = A W + constrained mu conj(X) E, C = A^2 (1 - overlapLoss mu |X|^2) C + (1-A^2) |W|^2.
func (k *kalman) correct(path []complex128, doubt []float64, bins []complex128, pow []float64) {
	n := k.block
	path, doubt, bins, pow = path[:n], doubt[:n], bins[:n], pow[:n]
	sum, e, gain := k.sum[:n], k.errBins[:n], k.gain[:n]
	a2 := k.memory * k.memory
	for i := range sum {
		mu := doubt[i] * gain[i]
		x, r := bins[i], e[i]
		sum[i] = complex(mu*(real(x)*real(r)+imag(x)*imag(r)), mu*(real(x)*imag(r)-imag(x)*real(r)))
		w := path[i]
		doubt[i] = a2*(1-overlapLoss*mu*pow[i])*doubt[i] + (1-a2)*(real(w)*real(w)+imag(w)*imag(w))
	}
	mu := gain[0] * doubt[0]
	sum[0] = complex(mu*real(bins[0])*real(e[0]), mu*imag(bins[0])*imag(e[0]))
	k.fft.Inverse(k.frame, sum)
	clear(k.frame[n:])
	k.fft.Forward(sum, k.frame)
	for i, d := range sum {
		w := path[i]
		path[i] = complex(k.memory*real(w)+real(d), k.memory*imag(w)+imag(d))
	}
}

// filterTake runs a filter over a whole take and returns what is left of it. The last part of a block is taken as silent.
func filterTake(k *kalman, reference, take []float64) []float64 {
	n := k.block
	x := newReferenceBlocks(n, k.parts)
	left := make([]float64, (len(take)+n-1)/n*n)
	in, ref := make([]float64, n), make([]float64, n)
	for start := 0; start < len(left); start += n {
		cut(in, take, start)
		cut(ref, reference, start)
		x.push(ref)
		k.step(x, in, left[start:start+n])
	}
	return left[:len(take)]
}
