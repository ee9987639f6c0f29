package main

import (
	"math"
	"math/rand/v2"

	"larkhand/voice/internal/marks"
)

// target is what the network should say of one frame.
type target [marks.Outputs]float32

// example is one take: inputs and targets frame by frame.
type example struct {
	rows    []marks.Row
	targets []target
}

// gradient has the shape of a network's trainable numbers.
type gradient struct{ net *marks.Network }

func newGradient(like *marks.Network) gradient {
	var d []int
	for _, l := range like.Layers {
		d = append(d, l.Dilation)
	}
	return gradient{marks.NewNetwork(like.Layers[0].Kernel, d...)}
}

// numbers lists a network's trainable numbers as slices, always in the same order.
func numbers(n *marks.Network) [][]float32 {
	var out [][]float32
	for i := range n.Layers {
		for r := range n.Layers[i].Weights {
			out = append(out, n.Layers[i].Weights[r][:])
		}
		out = append(out, n.Layers[i].Bias[:])
	}
	for c := range n.Out {
		out = append(out, n.Out[c][:])
	}
	return append(out, n.OutBias[:])
}

func (g gradient) clear() {
	for _, v := range numbers(g.net) {
		clear(v)
	}
}

// backward adds the gradient of the mean cross-entropy of one stretch of
// frames, times weight, and returns the loss. drop is the share of hidden values set to 0.
func backward(n *marks.Network, g gradient, rows []marks.Row, targets []target, drop, weight float32, rng *rand.Rand) float64 {
	acts := [][]float32{n.Standardise(rows)}
	for i := range n.Layers {
		a := n.Layers[i].Forward(acts[i])
		dropout(a, drop, rng)
		acts = append(acts, a)
	}
	top := acts[len(acts)-1]
	const h = marks.Channels
	dz := make([]float32, len(top))
	loss := 0.0
	scale := weight / float32(len(rows))
	for t := range rows {
		a := (*[h]float32)(top[t*h:])
		z := n.Logits(a)
		row := dz[t*h:][:h]
		for o, v := range z {
			p := marks.Logistic(v)
			y := float64(targets[t][o])
			loss -= y*math.Log(p+1e-12) + (1-y)*math.Log(1-p+1e-12)
			d := float32(p-y) * scale
			g.net.OutBias[o] += d
			for c := range row {
				g.net.Out[c][o] += d * a[c]
				row[c] += d * n.Out[c][o]
			}
		}
	}
	for i := len(n.Layers) - 1; i >= 0; i-- {
		dz = layerBackward(&n.Layers[i], &g.net.Layers[i], acts[i], acts[i+1], dz, drop, i > 0)
	}
	return loss / float64(len(rows))
}

// dropout sets a share of the values to 0 and scales the rest up.
func dropout(a []float32, share float32, rng *rand.Rand) {
	if share == 0 {
		return
	}
	keep := 1 / (1 - share)
	for i := range a {
		if a[i] != 0 {
			if rng.Float32() < share {
				a[i] = 0
			} else {
				a[i] *= keep
			}
		}
	}
}

// layerBackward adds a layer's gradient and returns that of its input.
func layerBackward(l, g *marks.Layer, in, out, dout []float32, drop float32, wantInput bool) []float32 {
	const h = marks.Channels
	frames := len(out) / h
	keep := 1 / (1 - drop)
	for i, v := range out { // through dropout and rectifier
		if v == 0 {
			dout[i] = 0
		} else {
			dout[i] *= keep
		}
	}
	var din []float32
	if wantInput {
		din = make([]float32, frames*l.In)
	}
	for t := range frames {
		d := (*[h]float32)(dout[t*h:])
		for k, v := range d {
			g.Bias[k] += v
		}
		for j := range l.Kernel {
			u := t + l.Offset(j)
			if u < 0 || u >= frames {
				continue
			}
			w, gw, a := l.Weights[j*l.In:][:l.In], g.Weights[j*l.In:][:l.In], in[u*l.In:][:l.In]
			for c, v := range a {
				if v == 0 { // the layer below gives no gradient to what it left at 0, either
					continue
				}
				row := &gw[c]
				for k := range row {
					row[k] += v * d[k]
				}
				if wantInput {
					row := &w[c]
					var s0, s1 float32
					for k := 0; k < h; k += 2 {
						s0 += row[k] * d[k]
						s1 += row[k+1] * d[k+1]
					}
					din[u*l.In+c] += s0 + s1
				}
			}
		}
	}
	return din
}

// adam is the optimiser of Kingma and Ba 2015 (arXiv 1412.6980, algorithm 1).
type adam struct {
	step   int
	m, v   [][]float32
	params [][]float32
}

func newAdam(n *marks.Network) *adam {
	a := &adam{params: numbers(n)}
	for _, p := range a.params {
		a.m = append(a.m, make([]float32, len(p)))
		a.v = append(a.v, make([]float32, len(p)))
	}
	return a
}

// update takes one step along the gradient; decay is the weight decay.
func (a *adam) update(g gradient, rate, decay float64) {
	const b1, b2, eps = 0.9, 0.999, 1e-8
	a.step++
	c1, c2 := 1-math.Pow(b1, float64(a.step)), 1-math.Pow(b2, float64(a.step))
	for i, gs := range numbers(g.net) {
		p, m, v := a.params[i], a.m[i], a.v[i]
		for k, gr := range gs {
			gr += float32(decay) * p[k]
			m[k] = b1*m[k] + (1-b1)*gr
			v[k] = b2*v[k] + (1-b2)*gr*gr
			p[k] -= float32(rate * float64(m[k]) / c1 / (math.Sqrt(float64(v[k])/c2) + eps))
		}
	}
}
