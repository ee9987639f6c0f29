package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"larkhand/voice/internal/marks"
)

// The gradient against finite differences of the loss.
func TestGradient(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	n := initialised(rng, 5, 1, 2)
	for i := range n.Scale {
		n.Scale[i] = 1
	}
	rows, targets := make([]marks.Row, 12), make([]target, 12)
	for i := range rows {
		for k := range rows[i] {
			rows[i][k] = float32(rng.NormFloat64())
		}
		for o := range targets[i] {
			targets[i][o] = rng.Float32()
		}
	}
	g := newGradient(n)
	loss := func() float64 { return backward(n, newGradient(n), rows, targets, 0, 1, rng) }
	backward(n, g, rows, targets, 0, 1, rng)
	params, grads := numbers(n), numbers(g.net)
	for range 200 {
		i := rng.IntN(len(params))
		k := rng.IntN(len(params[i]))
		const h = 2e-3
		old := params[i][k]
		params[i][k] = old + h
		up := loss()
		params[i][k] = old - h
		down := loss()
		params[i][k] = old
		want := (up - down) / (2 * h)
		if got := float64(grads[i][k]); math.Abs(got-want) > 2e-3+0.05*math.Abs(want) { // float32 and the kinks of the rectifier
			t.Fatalf("number %d/%d: gradient %g, finite difference %g", i, k, got, want)
		}
	}
}

// A network must be able to learn a simple rule; a wrong sign anywhere would show.
func TestLearns(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	var ex []example
	for range 4 {
		e := example{rows: make([]marks.Row, 300), targets: make([]target, 300)}
		for i := range e.rows {
			e.rows[i][0] = float32(rng.NormFloat64())
			if i >= 3 && e.rows[i-3][0] > 0.5 {
				e.targets[i][0] = 1
			}
		}
		ex = append(ex, e)
	}
	n, loss := fit([]portion{{1, ex}}, fitOptions{seed: 1, steps: 300, kernel: 5, dilations: []int{1, 2}, rate: 5e-3, batch: 4, stretch: 100})
	if loss > 0.15 {
		t.Errorf("loss %.3f after training on a rule", loss)
	}
	m := n.Run(ex[0].rows)
	for i := 10; i < 290; i++ {
		x := ex[0].rows[i-3][0]
		if math.Abs(float64(x)-0.5) > 0.3 && (m[i].Begins > 0.5) != (x > 0.5) {
			t.Fatalf("frame %d: %.2f for %.2f", i, m[i].Begins, x)
		}
	}
}
