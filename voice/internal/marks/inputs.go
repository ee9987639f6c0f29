// Package marks says for each frame how probable it is that a note begins
// there, that one ends there, and that the frame lies inside a note.
//
// The measurements of packages front and track become numbers, Width a frame
// (Inputs); two small convolutional networks (Network) turn these into three
// probabilities each: Steady hears singing as it is usual best, Runs fast
// singing; Find puts them together. Their weights are embedded; the program
// beside this package (train) makes them. Non-goals: choosing the notes
// (package segment).
package marks

import (
	"math"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/track"
)

// Width of the input: bands, four measures of periodicity, four levels, four pitch differences.
const Width = front.Bands + 12

// Row is one frame's input.
type Row [Width]float32

// Levels enter in units of levelUnit dB, shifted so that a sung vowel lies
// near levelShift, and clipped: what is softer than that says nothing more.
const (
	levelUnit  = 20.0
	levelShift = 1.5
	levelClip  = 2.5
	melLift    = 15.0 // dB: a band holds a small part of the whole level
	pitchUnit  = 1.5  // semitones
	pitchClip  = 3.0  // semitones
)

// Inputs lays out a take's frames for the network.
func Inputs(frames []front.Frame, path track.Path) []Row {
	rows := make([]Row, len(frames))
	for t := range frames {
		fillRow(&rows[t], &frames[t], path, t)
	}
	return rows
}

func fillRow(r *Row, f *front.Frame, path track.Path, t int) {
	ref := float32(path.Reference)
	for b, m := range f.Mel {
		r[b] = scaled(m - ref + melLift)
	}
	score, periodicity := bestOf(f)
	i := front.Bands
	r[i] = 2*float32(path.Score[t]) - 1
	r[i+1] = 2*score - 1
	r[i+2] = 2*periodicity - 1
	r[i+3] = -1
	if path.Voiced(t) {
		r[i+3] = 1
	}
	hz := 440 * math.Exp2((path.Bridged[t]-69)/12)
	r[i+4] = scaled(f.Level - ref)
	r[i+5] = scaled(f.SharpLevel - ref)
	r[i+6] = scaled(f.HarmonicLevel(hz) - ref)
	r[i+7] = scaled(f.HarmonicLevel(2*hz) - ref)
	p := func(k int) float64 { return path.Bridged[min(max(t+k, 0), len(path.Bridged)-1)] }
	r[i+8] = difference(p(2) - p(-2))
	r[i+9] = difference(p(5) - p(0))
	r[i+10] = difference(p(0) - p(-5))
	r[i+11] = difference(p(9) - p(-9))
}

// bestOf gives the highest score and the highest periodicity of a frame's candidates, -0.5 to 1.
func bestOf(f *front.Frame) (score, periodicity float32) {
	const least = -0.5
	score, periodicity = least, least
	for _, c := range f.Candidate[:f.Count] {
		score, periodicity = max(score, c.Score), max(periodicity, c.Periodicity)
	}
	return min(score, 1), min(periodicity, 1)
}

func scaled(db float32) float32 {
	return min(max(db/levelUnit+levelShift, -levelClip), levelClip)
}

func difference(semitones float64) float32 {
	return float32(min(max(semitones, -pitchClip), pitchClip) / pitchUnit)
}
