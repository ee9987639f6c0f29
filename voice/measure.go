package voice

import (
	"math"
	"slices"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/segment"
	"larkhand/voice/internal/track"
)

// The part of a note that its pitch is taken from: scoops lie before it, falls
// and the next consonant after it. On sight-singing 3.5 % of notes are more than 25
// cents off with this part, 5.1 % with the whole note.
const (
	middleFrom = 0.25
	middleTo   = 0.85
)

// measure takes the pitch, spread and level of a note from its frames.
func measure(n segment.Note, frames []front.Frame, path track.Path, m []marks.Marks) Note {
	length := float64(n.End - n.Begin)
	from := n.Begin + int(middleFrom*length)
	to := min(max(from+1, n.Begin+int(math.Round(middleTo*length))), len(frames))
	var values []weighted
	for t := from; t < to; t++ {
		values = append(values, weighted{path.Bridged[t], path.Score[t]*path.Score[t] + 1e-6})
	}
	slices.SortFunc(values, func(a, b weighted) int {
		switch {
		case a.value < b.value:
			return -1
		case a.value > b.value:
			return 1
		}
		return 0
	})
	return Note{
		Onset: n.Onset, Offset: n.Offset,
		Pitch:       quantile(values, 0.5),
		SpreadCents: 100 * (quantile(values, 0.75) - quantile(values, 0.25)),
		Level:       medianLevel(frames[n.Begin:n.End]),
		Confidence:  existence(n, path, m),
	}
}

type weighted struct{ value, weight float64 }

// quantile of values in rising order, by weight.
func quantile(values []weighted, q float64) float64 {
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

func medianLevel(frames []front.Frame) float64 {
	levels := make([]float32, len(frames))
	for i := range frames {
		levels[i] = frames[i].Level
	}
	slices.Sort(levels)
	return float64(levels[len(levels)/2])
}

// existence is how probable it is that the note is one note of its own.
func existence(n segment.Note, path track.Path, m []marks.Marks) float64 {
	inside, voiced := 0.0, 0.0
	for t := n.Begin; t < n.End; t++ {
		inside += m[t].Inside
		if path.Voiced(t) {
			voiced++
		}
	}
	length := float64(n.End - n.Begin)
	z := existenceBias +
		existenceBegins*math.Log(max(n.BeginsChance, 0.01)) +
		existenceInside*inside/length +
		existenceVoiced*voiced/length +
		existenceLength*math.Log(length*Hop)
	return 1 / (1 + math.Exp(-z))
}

// Weights of a logistic model of existence.
const (
	existenceBias   = 1.0
	existenceBegins = 0.8
	existenceInside = 2.0
	existenceVoiced = 2.0
	existenceLength = 1.0
)
