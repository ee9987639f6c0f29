package round

import (
	"slices"
	"testing"

	"larkhand/midiin"
)

// TestBesideKept: what differs is known by how each round is made.
func TestBesideKept(t *testing.T) {
	written := func(pitches ...int) (notes []midiin.Note) {
		for i, p := range pitches {
			notes = append(notes, midiin.Note{Onset: float64(i) / 2, Offset: float64(i)/2 + 0.4, Pitch: float64(p), Key: p, Velocity: 80})
		}
		return notes
	}
	phrase := Sung(WrittenTake("", written(60, 62, 63, 67, 65, 60)).Voice.Notes)
	for _, c := range []struct {
		what         string
		take, answer []int
		wrong        int
		told         []string
	}{
		{"as kept", []int{60, 62, 63, 67, 65, 60}, []int{72, 74, 75, 79, 77, 72}, 0, []string{"Take 1 is Rain as it is kept.", "The answer is Rain as it is kept."}},
		{"sung higher", []int{63, 65, 66, 70, 68, 63}, []int{60, 62, 63, 67, 65, 60}, 0, []string{"Take 1 is Rain as it is kept.", "The answer is Rain as it is kept."}},
		{"a note otherwise", []int{60, 62, 65, 67, 65, 60}, []int{60, 62, 65, 67, 65, 60}, 1,
			[]string{"Take 1 differs from Rain as it is kept at note 3.", "The answer differs from Rain as it is kept in 1 note."}},
		{"one left out", []int{60, 62, 63, 67, 60}, []int{60, 62, 63, 67, 60}, 1,
			[]string{"Take 1 differs from Rain as it is kept at note 5.", "The answer differs from Rain as it is kept in 1 note."}},
		{"another phrase", []int{71, 60, 70, 61, 69, 62}, []int{60, 62, 63, 67, 65, 60}, 0, []string{"Take 1 is another phrase than Rain.", "The answer is Rain as it is kept."}},
	} {
		r, err := Judge([]Take{WrittenTake("", written(c.take...))}, Answer{Notes: written(c.answer...)}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		k := r.BesideKept("Rain", phrase)
		if k.Wrong != c.wrong || !slices.Equal(k.Told, c.told) {
			t.Errorf("%s: %d wrong, %q; want %d, %q", c.what, k.Wrong, k.Told, c.wrong, c.told)
		}
	}
}
