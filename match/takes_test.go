package match

import (
	"math"
	"reflect"
	"testing"
)

// chance gives a note these probabilities; it is unclear where the middle one is under 0.8.
func chance(below, middle, above float64) func(*Sung) {
	return func(s *Sung) {
		s.Chance, s.Confidence = [3]float64{below, middle, above}, 0.95*middle
		s.Unclear = middle < 0.8
	}
}

func TestTakes(t *testing.T) {
	for _, c := range []struct {
		name          string
		first, second []Sung
		want          Agreement
	}{
		{"the same", voice(60, 62, 63), voice(60, 62, 63), Agreement{SamePhrase: true, Pairs: [][2]int{{0, 0}, {1, 1}, {2, 2}}}},
		{"an octave up", voice(60, 62, 63), voice(72, 74, 75), Agreement{SamePhrase: true, Octaves: 1, Pairs: [][2]int{{0, 0}, {1, 1}, {2, 2}}}},
		{"read one semitone lower", voice(60, 62, 63), voice(59, 61, 62), Agreement{SamePhrase: true, Transposition: -1, Pairs: [][2]int{{0, 0}, {1, 1}, {2, 2}}}},
		{"one note moved", voice(60, 62, 63, 67), voice(60, 62, 65, 67), Agreement{SamePhrase: true, Pairs: [][2]int{{0, 0}, {1, 1}, {2, 2}, {3, 3}}, Moved: []int{2}}},
		{"one note more", voice(60, 62, 67), voice(60, 62, 64, 67), Agreement{SamePhrase: true, Pairs: [][2]int{{0, 0}, {1, 1}, {2, 3}}}},
		{"an unclear note", with(voice(60, 62, 63), 1, unclearNote), voice(60, 64, 63), Agreement{SamePhrase: true, Pairs: [][2]int{{0, 0}, {1, 1}, {2, 2}}}},
		{"nothing sung", nil, voice(60), Agreement{Pairs: [][2]int{}}},
		{"nothing at all", nil, nil, Agreement{Pairs: [][2]int{}}},
	} {
		if got := Takes(c.first, c.second); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	other := Takes(voice(60, 62, 64, 65, 67, 69), voice(72, 67, 68, 63, 65, 60))
	if other.SamePhrase {
		t.Errorf("a rising and a falling phrase are not the same: %+v", other)
	}
	if a := Takes(voice(60, 62, 64, 65, 67, 69), voice(60, 62)); a.SamePhrase {
		t.Errorf("two notes of six are not the same phrase: %+v", a)
	}
}

func TestCombine(t *testing.T) {
	plain := func() []Sung { return voice(60, 62, 64) }
	for _, c := range []struct {
		name          string
		first, second []Sung
		note          int
		semitone      int
		unclear       bool
		atLeast       float64 // confidence
		atMost        float64
	}{
		{"both clear", plain(), plain(), 1, 62, false, 0.96, 0.98},
		{"unclear, take 1 clear", plain(), with(plain(), 1, chance(0.3, 0.68, 0.02)), 1, 62, false, 0.9, 1},
		{"unclear, take 1 has the other pitch", plain(), with(plain(), 1, func(s *Sung) { s.Semitone = 61; chance(0.02, 0.6, 0.38)(s) }), 1, 62, false, 0.9, 1},
		{"both unclear and of one mind", with(plain(), 1, chance(0.22, 0.77, 0.01)), with(plain(), 1, chance(0.22, 0.77, 0.01)), 1, 62, false, 0.8, 1},
		{"both unclear, evenly", with(plain(), 1, chance(0.48, 0.5, 0.02)), with(plain(), 1, chance(0.48, 0.5, 0.02)), 1, 62, true, 0.3, 0.7},
		{"both clear, one semitone apart", voice(60, 63, 64), plain(), 1, 62, true, 0.3, 0.7},
		{"both clear, a third apart", voice(60, 65, 64), plain(), 1, 62, false, 0.8, 0.96},
		{"sure, take 1 has no such note", voice(60, 64), plain(), 1, 62, false, 0.94, 0.96},
		{"doubtful, take 1 has no such note", voice(60, 64), with(plain(), 1, func(s *Sung) { s.Confidence = 0.7 }), 1, 62, true, 0.34, 0.36},
		{"two equal, take 1 has one", voice(60, 62, 64), voice(60, 62, 62, 64), 1, 62, false, 0.75, 0.77},
	} {
		a := Takes(c.first, c.second)
		got := Combine(c.first, c.second, a)[c.note]
		if c.name == "two equal, take 1 has one" {
			// Either half may be the paired one; the other is the one in doubt.
			if halves := Combine(c.first, c.second, a); halves[2].Confidence < got.Confidence {
				got = halves[2]
			}
		}
		if got.Semitone != c.semitone || got.Unclear != c.unclear || got.Confidence < c.atLeast || got.Confidence > c.atMost {
			t.Errorf("%s: semitone %d, unclear %v, confidence %.3f, chances %.3f; want %d, %v, %.2f to %.2f",
				c.name, got.Semitone, got.Unclear, got.Confidence, got.Chance, c.semitone, c.unclear, c.atLeast, c.atMost)
		}
	}
}

func TestCombineOtherPhrase(t *testing.T) {
	first, second := voice(72, 67, 68, 63), with(voice(60, 62, 64, 65), 1, unclearNote)
	if got := Combine(first, second, Takes(first, second)); !reflect.DeepEqual(got, second) {
		t.Errorf("take 2 must come back as it is, got %+v", got)
	}
}

// Two takes an octave apart settle one another across the octave.
func TestCombineAcrossOctave(t *testing.T) {
	first, second := voice(72, 74, 76), with(voice(60, 62, 64), 1, chance(0.3, 0.68, 0.02))
	got := Combine(first, second, Takes(first, second))[1]
	if got.Unclear || got.Semitone != 62 || math.Abs(got.Chance[0]+got.Chance[1]+got.Chance[2]-1) > 1e-9 {
		t.Errorf("got %+v, want a clear 62", got)
	}
}
