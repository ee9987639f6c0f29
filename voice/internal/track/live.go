package track

import (
	"math"

	"larkhand/voice/internal/front"
)

// The reference of a live take follows its loudest frames: up at once, down by
// liveFall dB a frame (6 dB in 10 s), from liveStart dBFS on.
const (
	liveFall  = 0.006
	liveStart = -50.0
)

// Live is the same search without a look ahead: after each frame it tells the
// cheapest state so far. It may change its mind later, which Find does not show.
type Live struct {
	cost, next [front.Candidates + 1]float64
	back       [front.Candidates + 1]int8
	before     front.Frame
	started    bool
	reference  float64
}

// Next takes the next frame and gives its provisional pitch (MIDI number, NaN
// where unvoiced) and score (0 to 1).
func (l *Live) Next(f *front.Frame) (pitch, score float64) {
	var before *front.Frame
	if l.started {
		before = &l.before
	} else {
		l.reference = liveStart
	}
	l.reference = max(l.reference-liveFall, float64(f.Level))
	step(f, before, &l.cost, &l.next, &l.back, l.reference, unvoicedCost)
	l.cost = l.next
	best := f.Count
	for k := range f.Count {
		if l.cost[k] < l.cost[best] {
			best = k
		}
	}
	least := l.cost[best]
	for k := range l.cost { // keeps the sums small in an endless stream
		l.cost[k] -= least
	}
	l.before, l.started = *f, true
	if best == f.Count {
		return math.NaN(), 0
	}
	c := &f.Candidate[best]
	return float64(c.Pitch), min(max(float64(c.Score), 0), 1)
}
