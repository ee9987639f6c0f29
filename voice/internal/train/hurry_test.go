package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"larkhand/internal/singer"
)

// scale is a singer's scale of half seconds with rests after every sixth note.
func scale() (sound, []singer.Note) {
	var notes []singer.Note
	at := 0.5
	for i := range 24 {
		notes = append(notes, singer.Note{Onset: at, Offset: at + 0.45, Pitch: 60 + float64(i%6)*2, Syllable: "da"})
		if at += 0.5; i%6 == 5 {
			at += 0.6
		}
	}
	v := singer.Voice{Kind: singer.Woman, Low: 53, High: 76}
	s := sound{samples: singer.Render(notes, v, singerRate, 1), rate: singerRate}
	for _, n := range singer.Truths(notes) {
		s.labels = append(s.labels, label{n.Onset, n.Offset, n.Pitch})
	}
	return s, notes
}

// Hurried notes keep their order and pitch, are no longer than they were, and many are as short as in runs.
func TestHurried(t *testing.T) {
	s, notes := scale()
	short := 0
	for seed := range uint64(4) {
		h := hurried(s, rand.New(rand.NewPCG(seed, 3)))
		if len(h.labels) != len(notes) {
			t.Fatalf("%d labels of %d notes", len(h.labels), len(notes))
		}
		for i, l := range h.labels {
			old := s.labels[i]
			if l.pitch != old.pitch || l.offset-l.onset > old.offset-old.onset+1e-9 || l.offset < l.onset+0.02 {
				t.Errorf("seed %d: note %d from %.3f to %.3f s, sung from %.3f to %.3f", seed, i, l.onset, l.offset, old.onset, old.offset)
			}
			if i > 0 {
				step := l.onset - h.labels[i-1].onset
				if step < 0.06 || l.onset < h.labels[i-1].offset-1e-9 {
					t.Errorf("seed %d: note %d begins %.3f s after the one before, which ends at %.3f", seed, i, step, h.labels[i-1].offset)
				}
				if step < 0.2 {
					short++
				}
			}
		}
	}
	if short < 24 {
		t.Errorf("%d of %d steps are under 0.2 s: too few to learn runs from", short, 4*(len(notes)-1))
	}
}

// What is heard of a hurried take lies where the moved labels say: the voice sounds in the notes, at their pitch.
func TestHurriedSoundFollowsItsLabels(t *testing.T) {
	s, _ := scale()
	h := hurried(s, rand.New(rand.NewPCG(2, 3)))
	for i, l := range h.labels {
		from, to := int((l.onset+0.3*(l.offset-l.onset))*float64(h.rate)), int(l.offset*float64(h.rate))
		period := float64(h.rate) / (440 * math.Exp2((l.pitch-69)/12))
		n := min(to-from, int(4*period)) - int(math.Round(period))
		var ab, aa, bb float64
		for k := range n {
			a, b := float64(h.samples[from+k]), float64(h.samples[from+k+int(math.Round(period))])
			ab, aa, bb = ab+a*b, aa+a*a, bb+b*b
		}
		if r := ab / math.Sqrt(aa*bb+1e-12); r < 0.8 { // 0.97 and more in steady vowels; splices and gliding notes lie lower
			t.Errorf("note %d at %.3f s: likeness to a period before is %.2f", i, l.onset, r)
		}
	}
}

// A take that nobody hurries is the same sample by sample.
func TestSpliceOfOnePieceIsTheSound(t *testing.T) {
	s, _ := scale()
	out := splice(s.samples, s.rate, []piece{{0, 0, 1}}, float64(len(s.samples))/float64(s.rate))
	for i := 400; i < len(out)-400; i++ {
		if math.Abs(float64(out[i]-s.samples[i])) > 1e-4 {
			t.Fatalf("sample %d: %g, was %g", i, out[i], s.samples[i])
		}
	}
}
