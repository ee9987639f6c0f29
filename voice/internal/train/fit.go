package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sync"

	"larkhand/voice/internal/marks"
)

type fitOptions struct {
	seed      uint64
	steps     int
	kernel    int
	dilations []int
	rate      float64 // highest learning rate; it falls along a cosine
	batch     int     // stretches a step
	stretch   int     // frames a stretch
	drop      float32
	decay     float64
	jitter    float32 // standard deviation of one random shift of each input over a stretch, in its standard deviations
	report    int     // steps between lines of progress; 0: none
}

// initialised gives a network with random weights (He et al. 2015).
func initialised(rng *rand.Rand, kernel int, dilations ...int) *marks.Network {
	n := marks.NewNetwork(kernel, dilations...)
	for i := range n.Layers {
		l := &n.Layers[i]
		sd := math.Sqrt(2 / float64(l.In*l.Kernel))
		for r := range l.Weights {
			for k := range l.Weights[r] {
				l.Weights[r][k] = float32(sd * rng.NormFloat64())
			}
		}
	}
	for c := range n.Out {
		for o := range n.Out[c] {
			n.Out[c][o] = float32(math.Sqrt(1.0/marks.Channels) * rng.NormFloat64())
		}
	}
	return n
}

// fit trains a network on portions of examples; the result depends on the seed alone, not on the number of cores.
func fit(diet []portion, o fitOptions) (*marks.Network, float64) {
	rng := rand.New(rand.NewPCG(o.seed, 1))
	n := initialised(rng, o.kernel, o.dilations...)
	standardise(n, diet)
	opt := newAdam(n)
	grads := make([]gradient, o.batch)
	for i := range grads {
		grads[i] = newGradient(n)
	}
	pick := newPicker(diet)
	smooth := math.NaN()
	for step := range o.steps {
		losses := make([]float64, o.batch)
		var wait sync.WaitGroup
		for i := range grads {
			seed := rng.Uint64()
			wait.Go(func() {
				r := rand.New(rand.NewPCG(seed, uint64(i)))
				rows, targets := stretchOf(pick.one(r), o, n, r)
				grads[i].clear()
				losses[i] = backward(n, grads[i], rows, targets, o.drop, 1/float32(o.batch), r)
			})
		}
		wait.Wait()
		sum := numbers(grads[0].net)
		for _, g := range grads[1:] {
			for j, v := range numbers(g.net) {
				for k := range v {
					sum[j][k] += v[k]
				}
			}
		}
		opt.update(grads[0], o.rate*0.5*(1+math.Cos(math.Pi*float64(step)/float64(o.steps))), o.decay)
		smooth = smoothed(smooth, losses)
		if o.report > 0 && (step+1)%o.report == 0 {
			fmt.Fprintf(os.Stderr, "step %d of %d: loss %.4f\n", step+1, o.steps, smooth)
		}
	}
	return n, smooth
}

func smoothed(old float64, losses []float64) float64 {
	sum := 0.0
	for _, l := range losses {
		sum += l / float64(len(losses))
	}
	if math.IsNaN(old) {
		return sum
	}
	return old + 0.02*(sum-old)
}

// portion is a share of what a network learns from; the shares of all portions need not add up to 1.
type portion struct {
	share    float64
	examples []example
}

// standardise sets the input scaling from the examples, each portion weighing by its share.
func standardise(n *marks.Network, diet []portion) {
	var mean, square [marks.Width]float64
	total := 0.0
	for _, p := range diet {
		m, s := p.moments()
		for i := range mean {
			mean[i] += p.share * m[i]
			square[i] += p.share * s[i]
		}
		total += p.share
	}
	for i := range mean {
		mean, square := mean[i]/total, square[i]/total
		n.Mean[i] = float32(mean)
		n.Scale[i] = float32(1 / (math.Sqrt(max(square-mean*mean, 0)) + 1e-3))
	}
}

// moments are the means of the inputs and of their squares.
func (p portion) moments() (mean, square [marks.Width]float64) {
	count := 0.0
	for _, e := range p.examples {
		for t := range e.rows {
			for i, v := range e.rows[t] {
				mean[i] += float64(v)
				square[i] += float64(v) * float64(v)
			}
			count++
		}
	}
	for i := range mean {
		mean[i] /= count
		square[i] /= count
	}
	return mean, square
}

// picker draws portions by their shares, and of them examples in proportion to their length.
type picker struct {
	portions []portion
	shares   []float64 // sums up to each portion
	ends     [][]int   // of each portion: sums of the lengths up to each example
}

func newPicker(diet []portion) picker {
	p := picker{portions: diet}
	share := 0.0
	for _, part := range diet {
		share += part.share
		p.shares = append(p.shares, share)
		total := 0
		var ends []int
		for _, e := range part.examples {
			total += len(e.rows)
			ends = append(ends, total)
		}
		p.ends = append(p.ends, ends)
	}
	return p
}

func (p picker) one(rng *rand.Rand) example {
	k := 0
	if last := len(p.shares) - 1; last > 0 {
		k, _ = slices.BinarySearch(p.shares[:last], rng.Float64()*p.shares[last])
	}
	ends := p.ends[k]
	x := rng.IntN(ends[len(ends)-1])
	i, _ := slices.BinarySearch(ends, x+1) // the first that ends after x
	return p.portions[k].examples[i]
}

// stretchOf cuts a random stretch and jitters its inputs.
func stretchOf(e example, o fitOptions, n *marks.Network, rng *rand.Rand) ([]marks.Row, []target) {
	from := 0
	if extra := len(e.rows) - o.stretch; extra > 0 {
		from = rng.IntN(extra + 1)
	}
	to := min(from+o.stretch, len(e.rows))
	rows := append([]marks.Row(nil), e.rows[from:to]...)
	if o.jitter > 0 {
		for i := range marks.Width {
			shift := o.jitter * float32(rng.NormFloat64()) / n.Scale[i]
			for t := range rows {
				rows[t][i] += shift
			}
		}
	}
	return rows, e.targets[from:to]
}
