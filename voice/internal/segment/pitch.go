package segment

import (
	"math"
	"slices"

	"larkhand/voice/internal/track"
)

// The part of a note that its pitch is taken from: scoops lie before it, falls
// and the next consonant after it. On sight-singing 3.5 % of notes are more than 25
// cents off with this part, 5.1 % with the whole note.
const (
	middleFrom = 0.25
	middleTo   = 0.85
)

// leastWeight keeps unvoiced frames from counting for nothing where there are only these.
const leastWeight = 1e-6

// Voices fall into a period of twice the length for moments (vocal fry); the
// tracker follows them an octave down. Where at least highShare of a note's middle
// lies an octave above the rest, the rest is lifted.
const (
	highShare   = 0.2
	octave      = 12.0
	octaveSlack = 1.5 // semitones
)

// A note with at least turnsLeast crossings of its median in its middle has
// vibrato: its pitch is then the centre between the extremes, since the median
// leans to one side where the last cycle is not complete.
const (
	turnsLeast   = 4
	vibratoSwing = 0.3 // semitones between the 10 % and 90 % quantiles, at least
)

// Pitch gives the pitch and the interquartile range of a note from its middle,
// as MIDI number and semitones, frames weighted by the square of their score.
func Pitch(n Note, path track.Path) (pitch, spread float64) {
	length := float64(n.End - n.Begin)
	from := n.Begin + int(middleFrom*length)
	to := min(max(from+1, n.Begin+int(math.Round(middleTo*length))), len(path.Bridged))
	values := make([]weighted, 0, to-from)
	for t := from; t < to; t++ {
		values = append(values, weighted{path.Bridged[t], path.Score[t]*path.Score[t] + leastWeight})
	}
	liftOctaves(values)
	sorted := inOrder(values)
	pitch = weightedQuantile(sorted, 0.5)
	spread = weightedQuantile(sorted, 0.75) - weightedQuantile(sorted, 0.25)
	low, high := weightedQuantile(sorted, 0.1), weightedQuantile(sorted, 0.9)
	if high-low >= vibratoSwing && crossings(values, pitch) >= turnsLeast {
		pitch = (low + high) / 2
	}
	return pitch, spread
}

// liftOctaves raises the frames that lie an octave under the upper part of a note.
func liftOctaves(values []weighted) {
	high := weightedQuantile(inOrder(values), 1-highShare)
	for i, v := range values {
		if math.Abs(high-v.value-octave) < octaveSlack {
			values[i].value += octave
		}
	}
}

// crossings counts how often a pitch curve passes a level.
func crossings(values []weighted, level float64) int {
	n := 0
	for i := 1; i < len(values); i++ {
		if (values[i-1].value < level) != (values[i].value < level) {
			n++
		}
	}
	return n
}

func inOrder(values []weighted) []weighted {
	sorted := slices.Clone(values)
	slices.SortFunc(sorted, func(a, b weighted) int {
		switch {
		case a.value < b.value:
			return -1
		case a.value > b.value:
			return 1
		}
		return 0
	})
	return sorted
}

type weighted struct{ value, weight float64 }

// weightedQuantile of values in rising order.
func weightedQuantile(values []weighted, q float64) float64 {
	total := 0.0
	for _, v := range values {
		total += v.weight
	}
	sum := 0.0
	for _, v := range values {
		sum += v.weight
		if sum >= q*total {
			return v.value
		}
	}
	return values[len(values)-1].value
}
