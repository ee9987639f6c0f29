// Package track chooses one pitch, or none, for each frame.
//
// It is a Viterbi search over the candidates of package front and a state
// "unvoiced" (the path finder of Boersma 1993, section 3.2, with the scores of
// front). Input and output are one value per frame; pitches are MIDI numbers.
// Non-goals: notes.
package track

import (
	"math"
	"slices"

	"larkhand/voice/internal/front"
)

// Costs of the path. Found by a search on sight-singing clips, half of which were kept for checking.
const (
	unvoicedCost = 0.45  // of an unvoiced frame; a voiced one costs 1 - score
	sungCost     = 0.8   // the same inside a note
	octaveCost   = 0.02  // per octave below C6 (MIDI 84): the true pitch is the highest that explains the frame
	softCost     = 1.0   // added to a voiced frame below softGate
	softGate     = -38.0 // dB below the take's loud frames
	moveCost     = 1.4   // per octave between neighbouring frames ...
	moveMost     = 0.875 // ... and at most
	voicingCost  = 0.15  // of a change between voiced and unvoiced
)

// loudShare of a take's frames are softer than its reference level.
const loudShare = 0.95

// Path is the chosen pitch of each frame.
type Path struct {
	Pitch     []float64 // MIDI number; NaN where unvoiced
	Score     []float64 // score of the chosen candidate, 0 to 1; 0 where unvoiced
	Bridged   []float64 // Pitch with the unvoiced stretches bridged by straight lines; 60 where a take has none
	Reference float64   // dBFS: level that 95 % of the frames do not exceed
}

// Voiced says whether frame n has a pitch.
func (p *Path) Voiced(n int) bool { return !math.IsNaN(p.Pitch[n]) }

// Find chooses the cheapest path through a take's frames.
func Find(frames []front.Frame) Path {
	n := len(frames)
	p := Path{Pitch: make([]float64, n), Score: make([]float64, n), Bridged: make([]float64, n), Reference: reference(frames)}
	p.search(frames, 0, unvoicedCost)
	bridge(p.Bridged, p.Pitch)
	return p
}

// Inside gives the path of the frames of a note, from to to: where it is known that someone sings, a frame needs less to have a pitch.
// What lies outside stays.
func (p *Path) Inside(frames []front.Frame, from, to int) Path {
	in := Path{Pitch: slices.Clone(p.Pitch), Score: slices.Clone(p.Score), Bridged: make([]float64, len(p.Bridged)), Reference: p.Reference}
	in.search(frames[from:to], from, sungCost)
	bridge(in.Bridged, in.Pitch)
	return in
}

// search finds the cheapest path through frames, which stand at index at and after it, at a cost of unvoiced ones.
func (p *Path) search(frames []front.Frame, at int, unvoiced float64) {
	n := len(frames)
	if n == 0 {
		return
	}
	back := make([][front.Candidates + 1]int8, n)
	var cost, next [front.Candidates + 1]float64
	for t := range frames {
		step(&frames[t], previous(frames, t), &cost, &next, &back[t], p.Reference, unvoiced)
		cost = next
	}
	last := &frames[n-1]
	state := last.Count // unvoiced
	for k := range last.Count {
		if cost[k] < cost[state] {
			state = k
		}
	}
	for t := n - 1; t >= 0; t-- {
		f := &frames[t]
		if state < f.Count {
			p.Pitch[at+t] = float64(f.Candidate[state].Pitch)
			p.Score[at+t] = min(max(float64(f.Candidate[state].Score), 0), 1)
		} else {
			p.Pitch[at+t], p.Score[at+t] = math.NaN(), 0
		}
		state = int(back[t][state])
	}
}

func previous(frames []front.Frame, t int) *front.Frame {
	if t == 0 {
		return nil
	}
	return &frames[t-1]
}

// step extends the search by one frame; the states of a frame are its candidates and, after them, "unvoiced".
func step(f, before *front.Frame, cost, next *[front.Candidates + 1]float64, back *[front.Candidates + 1]int8, reference, unvoiced float64) {
	soft := 0.0
	if float64(f.Level) <= reference+softGate {
		soft = softCost
	}
	for k := 0; k <= f.Count; k++ {
		own := unvoiced
		if k < f.Count {
			c := &f.Candidate[k]
			own = 1 - float64(c.Score) + octaveCost*float64(84-c.Pitch)/12 + soft
		}
		if before == nil {
			next[k] = own
			continue
		}
		from := before.Count // from "unvoiced"
		cheapest := cost[from]
		if k < f.Count {
			cheapest += voicingCost
		}
		for j := range before.Count {
			c := cost[j] + voicingCost
			if k < f.Count {
				c = cost[j] + min(moveCost/12*math.Abs(float64(before.Candidate[j].Pitch-f.Candidate[k].Pitch)), moveMost)
			}
			if c < cheapest {
				cheapest, from = c, j
			}
		}
		next[k], back[k] = cheapest+own, int8(from)
	}
}

func reference(frames []front.Frame) float64 {
	if len(frames) == 0 {
		return -100
	}
	levels := make([]float32, len(frames))
	for i := range frames {
		levels[i] = frames[i].Level
	}
	slices.Sort(levels)
	return float64(levels[int(loudShare*float64(len(levels)-1))])
}

// bridge copies pitch to dst and fills the gaps by straight lines, the ends by the nearest pitch.
func bridge(dst, pitch []float64) {
	last := -1
	for t, v := range pitch {
		if math.IsNaN(v) {
			continue
		}
		dst[t] = v
		for u := last + 1; u < t; u++ {
			if last < 0 {
				dst[u] = v
			} else {
				dst[u] = pitch[last] + (v-pitch[last])*float64(u-last)/float64(t-last)
			}
		}
		last = t
	}
	const middleC = 60
	for u := last + 1; u < len(dst); u++ {
		dst[u] = middleC
		if last >= 0 {
			dst[u] = pitch[last]
		}
	}
}
