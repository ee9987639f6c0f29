package report

import (
	"math"
	"sort"

	"larkhand/internal/music"
	"larkhand/voice"
)

// A new stroke begins where the voice paused or the pitch tracker leapt: own choices.
const (
	strokeGap  = 0.05 // s
	strokeLeap = 2.0  // semitones from one frame to the next
	closest    = 0.8  // px; nearer points are left out
)

// strokes is the pitch curve of a take as lines on the sung strip. toTime brings the take's clock to that of the drawing;
// shift is added to the pitch in semitones.
func (s *sheet) strokes(take voice.Take, toTime func(float64) float64, shift int) [][][2]float64 {
	var out [][][2]float64
	before := voice.Frame{Time: math.Inf(-1)}
	var beforePitch float64
	for _, f := range take.Frames {
		if math.IsNaN(f.F0) || !(f.F0 > 0) {
			continue
		}
		pitch := music.HzToMIDI(f.F0) - referenceAt(take.Notes, f.Time)/100 + float64(shift)
		x := s.x(toTime(f.Time))
		if f.Time-before.Time > strokeGap || math.Abs(pitch-beforePitch) > strokeLeap {
			out = append(out, nil)
		}
		before, beforePitch = f, pitch
		last := &out[len(out)-1]
		if n := len(*last); n > 0 && x-(*last)[n-1][0] < closest {
			continue
		}
		*last = append(*last, [2]float64{x, s.sung.y(pitch)})
	}
	return out
}

// referenceAt is where the take's own tuning lies at a time, cents: straight lines between the middles of the notes.
func referenceAt(notes []voice.Note, time float64) float64 {
	middle := func(i int) float64 { return (notes[i].Onset + notes[i].Offset) / 2 }
	after := sort.Search(len(notes), func(i int) bool { return middle(i) > time })
	switch {
	case len(notes) == 0:
		return 0
	case after == 0:
		return notes[0].ReferenceCents
	case after == len(notes):
		return notes[after-1].ReferenceCents
	}
	from, to := middle(after-1), middle(after)
	share := (time - from) / (to - from)
	return notes[after-1].ReferenceCents + share*(notes[after].ReferenceCents-notes[after-1].ReferenceCents)
}

// laidOver brings the clock of take 1 to that of take 2: joined notes begin and end together, between them time runs
// evenly, and outside them it is only moved.
func (s *sheet) laidOver() func(float64) float64 {
	var from, to []float64
	add := func(t1, t2 float64) {
		if n := len(from); n == 0 || t1 > from[n-1] && t2 > to[n-1] {
			from, to = append(from, t1), append(to, t2)
		}
	}
	for _, pair := range s.r.Agreement.Pairs {
		a, b := s.r.Takes[0].Voice.Notes[pair[0]], s.r.Takes[1].Voice.Notes[pair[1]]
		add(a.Onset, b.Onset)
		add(a.Offset, b.Offset)
	}
	return func(t float64) float64 {
		after := sort.SearchFloat64s(from, t)
		switch {
		case len(from) == 0:
			return t
		case after == 0:
			return t - from[0] + to[0]
		case after == len(from):
			return t - from[after-1] + to[after-1]
		}
		share := (t - from[after-1]) / (from[after] - from[after-1])
		return to[after-1] + share*(to[after]-to[after-1])
	}
}
