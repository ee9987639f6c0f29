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
	heard := path
	if n.End-n.Begin <= shortNote && voicedShare(n, path) < voicedLeast {
		heard = path.Inside(frames, n.Begin, n.End)
	}
	pitch, spread := segment.Pitch(n, heard)
	return Note{
		Onset: n.Onset, Offset: n.Offset,
		Pitch:       pitch,
		SpreadCents: 100 * spread,
		Level:       medianLevel(frames[n.Begin:n.End]),
		Confidence:  existence(n, path, m),
	}
}

// Of short notes between glides the path often keeps no frame. The pitch of a note of shortNote frames at most, less than voicedLeast
// of which have one, is searched for anew. Longer ones with so little pitch are reverberation.
const (
	shortNote   = 15
	voicedLeast = 0.5
)

// voicedShare is the share of a note's frames that have a pitch.
func voicedShare(n segment.Note, path track.Path) float64 {
	voiced := 0
	for t := n.Begin; t < n.End; t++ {
		if path.Voiced(t) {
			voiced++
		}
	}
	return float64(voiced) / float64(n.End-n.Begin)
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
	inside := 0.0
	for t := n.Begin; t < n.End; t++ {
		inside += m[t].Inside
	}
	length := float64(n.End - n.Begin)
	z := existenceBias +
		existenceBegins*math.Log(max(n.BeginsChance, 0.01)) +
		existenceInside*inside/length +
		existenceVoiced*voicedShare(n, path) +
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
