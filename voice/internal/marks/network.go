package marks

import (
	"bytes"
	_ "embed"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"sync"
)

// Channels is the width of the hidden layers, Outputs what comes out.
const (
	Channels = 32
	Outputs  = 3 // begins, ends, inside
)

// Layer is one dilated convolution over time followed by a rectifier.
type Layer struct {
	In       int                 // channels in
	Kernel   int                 // taps, odd
	Dilation int                 // frames between taps
	Weights  [][Channels]float32 // [tap*In+channel]
	Bias     [Channels]float32
}

// Offset is how many frames tap j lies after the frame that is computed.
func (l *Layer) Offset(j int) int { return (j - l.Kernel/2) * l.Dilation }

// Network is a stack of layers and a logistic output (van den Oord et al. 2016, dilated convolutions; here not causal).
type Network struct {
	Mean, Scale Row // inputs enter as (x - Mean) * Scale
	Layers      []Layer
	Out         [Channels][Outputs]float32
	OutBias     [Outputs]float32
}

// NewNetwork lays out a network with zero weights and one layer for each dilation.
func NewNetwork(kernel int, dilations ...int) *Network {
	n := &Network{}
	in := Width
	for _, d := range dilations {
		n.Layers = append(n.Layers, Layer{In: in, Kernel: kernel, Dilation: d, Weights: make([][Channels]float32, kernel*in)})
		in = Channels
	}
	return n
}

// Marks are the three probabilities of one frame.
type Marks struct{ Begins, Ends, Inside float64 }

// Run gives the marks of a take.
func (n *Network) Run(rows []Row) []Marks {
	a := n.Standardise(rows)
	for i := range n.Layers {
		a = n.Layers[i].Forward(a)
	}
	out := make([]Marks, len(rows))
	for t := range out {
		z := n.Logits((*[Channels]float32)(a[t*Channels:]))
		out[t] = Marks{Logistic(z[0]), Logistic(z[1]), Logistic(z[2])}
	}
	return out
}

// Standardise gives the inputs in the network's own units, one frame after the other.
func (n *Network) Standardise(rows []Row) []float32 {
	a := make([]float32, 0, len(rows)*Width)
	for t := range rows {
		for i, v := range rows[t] {
			a = append(a, (v-n.Mean[i])*n.Scale[i])
		}
	}
	return a
}

// Forward computes one layer for all frames; what lies outside the take counts as 0.
func (l *Layer) Forward(a []float32) []float32 {
	frames := len(a) / l.In
	out := make([]float32, frames*Channels)
	for t := range frames {
		acc := l.Bias
		for j := range l.Kernel {
			u := t + l.Offset(j)
			if u < 0 || u >= frames {
				continue
			}
			accumulate(&acc, l.Weights[j*l.In:][:l.In], a[u*l.In:][:l.In])
		}
		row := out[t*Channels:][:Channels]
		for k, v := range acc {
			row[k] = max(v, 0)
		}
	}
	return out
}

// Logits are the outputs before the logistic function.
func (n *Network) Logits(a *[Channels]float32) [Outputs]float32 {
	z := n.OutBias
	for c, v := range a {
		for o := range z {
			z[o] += v * n.Out[c][o]
		}
	}
	return z
}

// Logistic is 1/(1+exp(-z)).
func Logistic(z float32) float64 { return 1 / (1 + math.Exp(-float64(z))) }

// header starts a file of weights; the numbers after it are little-endian float32.
type header struct {
	Magic          [8]byte
	Inputs, Hidden uint16
	Kernel, Layers uint16
	Dilations      [8]uint16
}

var magic = [8]byte{'l', 'a', 'r', 'k', 'n', 'e', 't', '1'}

// Write stores a network.
func (n *Network) Write(w io.Writer) error {
	h := header{Magic: magic, Inputs: Width, Hidden: Channels, Kernel: uint16(n.Layers[0].Kernel), Layers: uint16(len(n.Layers))}
	for i, l := range n.Layers {
		h.Dilations[i] = uint16(l.Dilation)
	}
	for _, v := range append([]any{h}, n.parts()...) {
		if err := binary.Write(w, binary.LittleEndian, v); err != nil {
			return err
		}
	}
	return nil
}

// Read loads a network that Write stored.
func Read(r io.Reader) (*Network, error) {
	var h header
	if err := binary.Read(r, binary.LittleEndian, &h); err != nil {
		return nil, err
	}
	if h.Magic != magic || h.Inputs != Width || h.Hidden != Channels || h.Layers == 0 || int(h.Layers) > len(h.Dilations) || h.Kernel%2 == 0 || h.Kernel > 15 {
		return nil, fmt.Errorf("marks: these weights are not for a network of %d inputs and %d channels: train it again", Width, Channels)
	}
	var d []int
	for _, v := range h.Dilations[:h.Layers] {
		d = append(d, int(v))
	}
	n := NewNetwork(int(h.Kernel), d...)
	for _, v := range n.parts() {
		if err := binary.Read(r, binary.LittleEndian, v); err != nil {
			return nil, err
		}
	}
	return n, nil
}

// parts lists what is stored, in order.
func (n *Network) parts() []any {
	p := []any{&n.Mean, &n.Scale}
	for i := range n.Layers {
		p = append(p, n.Layers[i].Weights, &n.Layers[i].Bias)
	}
	return append(p, &n.Out, &n.OutBias)
}

//go:embed steady.bin
var steady []byte

//go:embed runs.bin
var runs []byte

// The embedded networks. They are shared and must not be changed.
var (
	Steady = sync.OnceValue(func() *Network { return embedded(steady) }) // hears singing as it is usual best
	Runs   = sync.OnceValue(func() *Network { return embedded(runs) })   // hears fast singing best
)

func embedded(weights []byte) *Network {
	n, err := Read(bytes.NewReader(weights))
	if err != nil {
		panic("marks: embedded weights: " + err.Error())
	}
	return n
}
