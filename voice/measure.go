package voice

import (
	"math"
	"slices"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/segment"
	"larkhand/voice/internal/track"
)

// measure takes the pitch, spread and level of a note from its frames.
func measure(n segment.Note, frames []front.Frame, path track.Path, m []marks.Marks) Note {
	pitch, spread := segment.Pitch(n, path)
	return Note{
		Onset: n.Onset, Offset: n.Offset,
		Pitch:       pitch,
		SpreadCents: 100 * spread,
		Level:       medianLevel(frames[n.Begin:n.End]),
		Confidence:  existence(n, path, m),
	}
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

// Weights of a logistic model of existence: chosen by hand so that a marked, voiced
// note of usual length lies near .97 and an unmarked one of 60 ms near .1; not fitted.
const (
	existenceBias   = 1.0
	existenceBegins = 0.8
	existenceInside = 2.0
	existenceVoiced = 2.0
	existenceLength = 1.0
)
