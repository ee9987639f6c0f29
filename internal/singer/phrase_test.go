package singer

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestPhraseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 9))
		style := Style(rapid.IntRange(0, int(StyleCount)-1).Draw(t, "style"))
		count := rapid.IntRange(0, 15).Draw(t, "count")
		v := RandomVoice(rng)
		notes := Phrase(rng, style, v, RandomHabits(rng), 0.7, count)
		if err := Check(notes); err != nil {
			t.Fatal(err)
		}
		if count > 0 && len(notes) != count || len(notes) < 1 || len(notes) > 15 || notes[0].Onset != 0.7 {
			t.Fatalf("%d notes from %g s, asked for %d from 0.7", len(notes), notes[0].Onset, count)
		}
		for i, n := range notes {
			if n.Pitch < v.Low || n.Pitch > v.High {
				t.Fatalf("pitch %g outside %g to %g", n.Pitch, v.Low, v.High)
			}
			if i == 0 {
				continue
			}
			if n.Onset-notes[i-1].Onset < shortestStep {
				t.Fatalf("note %d comes %.3f s after the one before", i, n.Onset-notes[i-1].Onset)
			}
			if said, _ := n.Syllable.parse(); n.Pitch == notes[i-1].Pitch && len(said.lead) == 0 {
				t.Fatalf("note %d repeats the pitch and has no mark at its start: %q", i, n.Syllable)
			}
		}
	})
}

// Intervals of many phrases: shares within 6 points of those that were drawn for (the key and the range move some).
func TestIntervalsAreThoseOfRealPhrases(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	h := RandomHabits(rng)
	h.Repeat = 0.07
	counts := map[string]float64{}
	total := 0.0
	for range 600 {
		notes := Phrase(rng, Solfege, Mezzo, h, 1, 8)
		for i := 1; i < len(notes); i++ {
			total++
			switch d := math.Abs(notes[i].Pitch - notes[i-1].Pitch); {
			case d == 0:
				counts["repeat"]++
			case d <= 2:
				counts["step"]++
			case d <= 4:
				counts["third"]++
			default:
				counts["leap"]++
			}
		}
	}
	// Weimar Jazz Database, phrases of 3 to 12 notes: repeats 7 %, 1-2 semitones 50, 3-4 28, more 15.
	for name, want := range map[string]float64{"repeat": 7, "step": 50, "third": 28, "leap": 15} {
		if got := 100 * counts[name] / total; math.Abs(got-want) > 6 {
			t.Errorf("%s: %.1f %%, want %g", name, got, want)
		}
	}
}

func TestTakeFillsItsTime(t *testing.T) {
	for style := range StyleCount {
		rng := rand.New(rand.NewPCG(uint64(style), 1))
		notes := Take(rng, style, Alto, RandomHabits(rng), 30)
		last := notes[len(notes)-1].Offset
		if len(notes) < 20 || last > 30 || last < 22 {
			t.Errorf("%v: %d notes, the last ends at %.1f s", style, len(notes), last)
		}
	}
}

func TestNarrowVoiceIsRefused(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a voice without a range was accepted")
		}
	}()
	rng := rand.New(rand.NewPCG(1, 1))
	Phrase(rng, La, Voice{}, RandomHabits(rng), 0, 3)
}
