package main

import (
	"math/rand/v2"
	"slices"

	"larkhand/match"
)

// touch is the hand of a run of a faultless performance: what is put on the sung rhythm so that an answer sounds like one.
type touch struct {
	pace     []float64 // played interval over the expected one at that performance's tempo, 1 is even
	hold     []float64 // length of the note over the interval to the next one
	velocity []int     // 1 to 127
}

// pianist draws touches from faultless performances of one piece.
type pianist struct {
	performances []touch
}

// newPianist measures the performances. All play the same notes; the expected rhythm is their median rhythm, and pace is what a
// performance does differently from it at its own tempo.
func newPianist(performances [][]match.Played) pianist {
	intervals := make([][]float64, len(performances))
	for i, notes := range performances {
		intervals[i] = onsetIntervals(notes)
		scale(intervals[i], 1/median(intervals[i]))
	}
	expected := make([]float64, len(intervals[0]))
	for k := range expected {
		column := make([]float64, len(intervals))
		for i := range intervals {
			column[i] = intervals[i][k]
		}
		expected[k] = median(column)
	}
	var p pianist
	for i, notes := range performances {
		pace := make([]float64, len(expected))
		for k := range expected {
			pace[k] = intervals[i][k] / expected[k]
		}
		scale(pace, 1/median(pace))
		p.performances = append(p.performances, touch{pace: pace, hold: holds(notes), velocity: velocities(notes)})
	}
	return p
}

// run draws a random run of n notes of a random performance.
func (p pianist) run(rng *rand.Rand, n int) touch {
	t := p.performances[rng.IntN(len(p.performances))]
	from := rng.IntN(len(t.pace) - n + 1)
	return touch{pace: t.pace[from : from+n], hold: t.hold[from : from+n], velocity: t.velocity[from : from+n]}
}

// onsetIntervals are the times from each note to the next one, s.
func onsetIntervals(notes []match.Played) []float64 {
	out := make([]float64, len(notes)-1)
	for i := range out {
		out[i] = notes[i+1].Onset - notes[i].Onset
	}
	return out
}

// holds are the lengths of the notes but the last, each over the interval to the next one.
func holds(notes []match.Played) []float64 {
	out := onsetIntervals(notes)
	for i := range out {
		out[i] = (notes[i].Offset - notes[i].Onset) / out[i]
	}
	return out
}

// velocities are those of the notes but the last.
func velocities(notes []match.Played) []int {
	out := make([]int, len(notes)-1)
	for i := range out {
		out[i] = notes[i].Velocity
	}
	return out
}

// median is the middle value; values is not changed.
func median(values []float64) float64 {
	v := slices.Sorted(slices.Values(values))
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}

// scale multiplies every value in place.
func scale(values []float64, by float64) {
	for i := range values {
		values[i] *= by
	}
}
