package match

import (
	"math"
	"testing"
)

// answerOf plays the pitches evenly.
func answerOf(pitches ...int) []Played {
	var out []Played
	for i, p := range pitches {
		out = append(out, Played{Onset: float64(i) / 2, Offset: float64(i)/2 + 0.4, Pitch: float64(p), Velocity: 70})
	}
	return out
}

// Two of three decide: what take 1 and the answer have was lost by take 2; what only one of them has was not.
func TestLostNotes(t *testing.T) {
	for _, c := range []struct {
		name          string
		first, second []Sung
		played        []Played
		want          []int // second index before which, and Semitone
	}{
		{"in the middle", voice(60, 62, 64, 65), voice(60, 62, 65), answerOf(60, 62, 64, 65), []int{2, 64}},
		{"at the beginning", voice(60, 62, 64, 65), voice(62, 64, 65), answerOf(60, 62, 64, 65), []int{0, 60}},
		{"at the end", voice(60, 62, 64, 65), voice(60, 62, 64), answerOf(60, 62, 64, 65), []int{3, 65}},
		{"a repeat that was merged", voice(60, 62, 62, 64, 65), voice(60, 62, 64, 65), answerOf(60, 62, 62, 64, 65), []int{-1, 62}},
		{"an octave higher on the instrument", voice(60, 62, 64, 65), voice(60, 62, 65), answerOf(72, 74, 76, 77), []int{2, 64}},
		{"take 2 a whole step higher", voice(60, 62, 64, 65), voice(62, 64, 67), answerOf(62, 64, 66, 67), []int{2, 66}},
		{"the answer does not have it", voice(60, 62, 64, 65), voice(60, 62, 65), answerOf(60, 62, 65), nil},
		{"the answer has another note", voice(60, 62, 64, 65), voice(60, 62, 65), answerOf(60, 62, 68, 65), nil},
		{"take 1 does not have it", voice(60, 62, 65), voice(60, 62, 65), answerOf(60, 62, 64, 65), nil},
		{"take 1 is unclear there", with(voice(60, 62, 64, 65), 2, unclearNote), voice(60, 62, 65), answerOf(60, 62, 64, 65), nil},
		{"another phrase", voice(72, 67, 68, 63), voice(60, 62, 64, 65), answerOf(60, 62, 67, 64, 65), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			lost := LostNotes(c.first, c.second, c.played, Takes(c.first, c.second), Align(c.second, c.played))
			if c.want == nil {
				if len(lost) > 0 {
					t.Errorf("got %+v, want none", lost)
				}
				return
			}
			if len(lost) != 1 || lost[0].Semitone != c.want[1] || c.want[0] >= 0 && lost[0].Before != c.want[0] {
				t.Fatalf("got %+v, want semitone %d before note %d", lost, c.want[1], c.want[0])
			}
			l := lost[0]
			if l.Before > 0 && l.Onset < c.second[l.Before-1].Onset || l.Before < len(c.second) && l.Offset > c.second[l.Before].Onset+1e-9 ||
				!(l.Onset <= l.Offset) || math.IsInf(l.Onset, 0) {
				t.Errorf("from %.2f to %.2f s does not lie between its neighbours", l.Onset, l.Offset)
			}
		})
	}
}
