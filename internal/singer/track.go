package singer

import (
	"math"
	"sort"
)

// move takes a control value to a new place between two times (s) by a raised cosine. Equal times: a jump.
type move struct {
	start, end float64
	to         []float64
}

// track is a control value, or several that move together, over time.
type track struct {
	moves []move
	now   []float64 // the value at the time last asked for
	from  []float64 // the value where the running move began
	next  int       // moves[next-1] is the running one
}

func newTrack(start ...float64) *track {
	return &track{now: append([]float64(nil), start...), from: append([]float64(nil), start...)}
}

// add plans a move over [start, end]; moves may be added in any order.
func (k *track) add(start, end float64, to ...float64) {
	k.moves = append(k.moves, move{start, math.Max(start, end), append([]float64(nil), to...)})
}

// around plans a move of the given length with its middle at the given time.
func (k *track) around(middle, length float64, to ...float64) {
	k.add(middle-length/2, middle+length/2, to...)
}

// ready puts the moves in order of their start; a move cuts off the one before.
func (k *track) ready() {
	sort.SliceStable(k.moves, func(i, j int) bool { return k.moves[i].start < k.moves[j].start })
}

// at returns the value at time t; times must not decrease from call to call. The slice is the track's own.
func (k *track) at(t float64) []float64 {
	for k.next < len(k.moves) && k.moves[k.next].start <= t {
		if k.next > 0 {
			k.evaluate(k.moves[k.next-1], k.moves[k.next].start)
		}
		copy(k.from, k.now)
		k.next++
	}
	if k.next > 0 {
		k.evaluate(k.moves[k.next-1], t)
	}
	return k.now
}

func (k *track) evaluate(m move, t float64) {
	part := 1.0
	if t < m.end {
		part = (1 - math.Cos(math.Pi*(t-m.start)/(m.end-m.start))) / 2
	}
	for i, to := range m.to {
		k.now[i] = k.from[i] + part*(to-k.from[i])
	}
}
