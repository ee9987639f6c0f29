package main

import (
	"math"
	"slices"

	"larkhand/internal/metrics"
)

// The plain fit that turns any pitch track into notes: a Viterbi search for the piecewise-constant pitch of least cost, then a split at
// dips in level. Constants were chosen on the clips of the set tune, for praat's track, by NSERtol.
const (
	fitHop      = 0.01 // s between frames
	fitLow      = 36.0 // MIDI number of the lowest state
	fitHigh     = 84.0
	fitStep     = 0.2  // semitones between states
	fitFull     = 1.0  // semitones from the state that cost 1
	fitMost     = 2.0  // cost of a frame at most
	fitRest     = 1.0  // cost of a voiced frame in a rest
	fitUnvoiced = 0.3  // cost of an unvoiced frame in a note
	fitChange   = 12.0 // cost of a new note
	fitDip      = 9.0  // dB below both sides that split a note
	fitSide     = 0.05 // s at least on either side of a dip
	fitRise     = 0.08 // s after the lowest point within which the next note starts, where the level rises fastest
	fitShortest = 0.07 // s
	fitWindow   = 0.06 // s of a level frame
)

// fit finds the notes of a pitch track.
func fit(c metrics.Contour, samples []float32, rate int) []metrics.Note {
	frames := int(float64(len(samples))/float64(rate)/fitHop) + 1
	pitch := make([]float64, frames)
	for i := range pitch {
		pitch[i] = math.NaN()
	}
	for i, t := range c.Times {
		if k := int(math.Round(t / fitHop)); c.F0[i] > 0 && k >= 0 && k < frames {
			pitch[k] = 69 + 12*math.Log2(c.F0[i]/440)
		}
	}
	level := levels(samples, rate, frames)
	states := constantPitch(pitch)
	var notes []metrics.Note
	for from := 0; from < frames; {
		to := from + 1
		for to < frames && states[to] == states[from] {
			to++
		}
		if states[from] > 0 {
			for _, part := range splitAtDips(level, from, to) {
				notes = addNote(notes, pitch, part[0], part[1])
			}
		}
		from = to
	}
	return notes
}

// addNote adds the note of frames [from, to) with the median pitch, if it is long enough.
func addNote(notes []metrics.Note, pitch []float64, from, to int) []metrics.Note {
	inside := slices.DeleteFunc(slices.Clone(pitch[from:to]), math.IsNaN)
	if float64(to-from)*fitHop < fitShortest || len(inside) == 0 {
		return notes
	}
	slices.Sort(inside)
	return append(notes, metrics.Note{Onset: float64(from) * fitHop, Offset: float64(to) * fitHop, Pitch: inside[len(inside)/2]})
}

// constantPitch is the state of each frame: 0 is a rest, k the pitch fitLow + (k-1)*fitStep.
func constantPitch(pitch []float64) []int {
	count := int((fitHigh-fitLow)/fitStep) + 2
	cost, next := make([]float64, count), make([]float64, count)
	from := make([][]int32, len(pitch))
	for t, p := range pitch {
		best := 0
		for s := range cost {
			if cost[s] < cost[best] {
				best = s
			}
		}
		from[t] = make([]int32, count)
		for s := range next {
			came, before := s, cost[s]
			change := fitChange
			if s == 0 {
				change = 0 // the note pays at its beginning
			}
			if c := cost[best] + change; c < before {
				came, before = best, c
			}
			next[s], from[t][s] = before+frameCost(s, p), int32(came)
		}
		cost, next = next, cost
	}
	states := make([]int, len(pitch))
	s := 0
	for k := range cost {
		if cost[k] < cost[s] {
			s = k
		}
	}
	for t := len(pitch) - 1; t >= 0; t-- {
		states[t] = s
		s = int(from[t][s])
	}
	return states
}

// frameCost is the cost of a frame of pitch p (NaN: unvoiced) in state s.
func frameCost(s int, p float64) float64 {
	switch {
	case s == 0 && math.IsNaN(p):
		return 0
	case s == 0:
		return fitRest
	case math.IsNaN(p):
		return fitUnvoiced
	default:
		return math.Min(fitMost, math.Abs(p-fitLow-float64(s-1)*fitStep)/fitFull)
	}
}

// levels is the RMS level around each frame, dBFS.
func levels(samples []float32, rate, frames int) []float64 {
	half := int(fitWindow / 2 * float64(rate))
	out := make([]float64, frames)
	for i := range out {
		centre := int(float64(i) * fitHop * float64(rate))
		sum, n := 0.0, 0
		for k := max(0, centre-half); k < min(len(samples), centre+half); k++ {
			sum += float64(samples[k]) * float64(samples[k])
			n++
		}
		out[i] = 10 * math.Log10(sum/float64(max(n, 1))+1e-12)
	}
	return out
}

// splitAtDips parts frames [from, to) where the level lies fitDip below the highest level of either side.
func splitAtDips(level []float64, from, to int) [][2]int {
	side := int(math.Round(fitSide / fitHop))
	lowest, depth := -1, fitDip
	for t := from + side; t+side < to; t++ {
		d := math.Min(slices.Max(level[from:t]), slices.Max(level[t+1:to])) - level[t]
		if d >= depth {
			lowest, depth = t, d
		}
	}
	if lowest < 0 {
		return [][2]int{{from, to}}
	}
	next := lowest
	for t := lowest + 1; t < min(to, lowest+int(math.Round(fitRise/fitHop))); t++ {
		if level[t]-level[t-1] > level[next]-level[max(next-1, 0)] || next == lowest {
			next = t
		}
	}
	return append(splitAtDips(level, from, lowest), splitAtDips(level, next, to)...)
}
