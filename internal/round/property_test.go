package round

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"

	"larkhand/match"
	"larkhand/midiin"
	"larkhand/voice"
)

// drawTake draws any take with notes in time order.
func drawTake(t *rapid.T, label string) Take {
	take := Take{Voice: voice.Take{Duration: 10, Clarity: 1, TuningCents: rapid.Float64Range(-50, 50).Draw(t, label+" tuning"), Frames: []voice.Frame{{Level: -20}}}}
	at := 0.0
	for range rapid.IntRange(1, 8).Draw(t, label+" notes") {
		at += rapid.Float64Range(0, 1).Draw(t, "gap")
		n := voice.Note{Onset: at, Offset: at + rapid.Float64Range(0.05, 1).Draw(t, "length"), Semitone: rapid.IntRange(36, 84).Draw(t, "semitone"),
			CentreCents: rapid.Float64Range(-50, 50).Draw(t, "centre"), Confidence: rapid.Float64Range(0, 1).Draw(t, "confidence"), Level: -20}
		n.Pitch = float64(n.Semitone) + n.CentreCents/100
		side := rapid.Float64Range(0, 0.5).Draw(t, "side")
		n.Chance = [3]float64{side / 2, 1 - side, side / 2}
		n.Unclear = 1-side < 0.8
		take.Voice.Notes = append(take.Voice.Notes, n)
		at = n.Offset
	}
	return take
}

func drawAnswer(t *rapid.T) Answer {
	var answer Answer
	at := 0.0
	for range rapid.IntRange(1, 10).Draw(t, "played") {
		at += rapid.Float64Range(0, 2).Draw(t, "interval")
		key := rapid.IntRange(21, 108).Draw(t, "key")
		answer.Notes = append(answer.Notes, midiin.Note{Onset: at, Offset: at + rapid.Float64Range(0, 1).Draw(t, "held"), Key: key,
			Pitch: float64(key), Velocity: rapid.IntRange(1, 127).Draw(t, "velocity")})
	}
	return answer
}

// snapshot is all that can be seen of a value, for comparison.
func snapshot(t *rapid.T, values ...any) string {
	b, err := json.Marshal(values)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestAnyRound: every round with notes on both sides can be judged; each note stands in exactly one pair, evidence names notes
// that exist, unclear notes are never blamed, the input stays as it was, and judging again gives the same.
func TestAnyRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		takes := []Take{drawTake(t, "first")}
		if rapid.Bool().Draw(t, "two takes") {
			takes = append(takes, drawTake(t, "second"))
		}
		answer := drawAnswer(t)
		before := snapshot(t, takes, answer)
		r, err := Judge(takes, answer, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if snapshot(t, takes, answer) != before {
			t.Fatal("Judge changed what it was given")
		}
		again, err := Judge(takes, answer, Options{})
		if err != nil || snapshot(t, again) != snapshot(t, r) {
			t.Fatal("judging again gives another round")
		}
		sung, played := make([]int, len(r.Phrase)), make([]int, len(answer.Notes))
		for _, p := range r.Alignment.Pairs {
			if p.Sung != match.None {
				sung[p.Sung]++
				if r.Phrase[p.Sung].Unclear && (p.Verdict == match.Different || p.Verdict == match.LeftOut) {
					t.Fatalf("unclear note %d is blamed: %s", p.Sung, p.Verdict)
				}
			}
			if p.Played != match.None {
				played[p.Played]++
			}
		}
		for _, counts := range [][]int{sung, played} {
			for i, n := range counts {
				if n != 1 {
					t.Fatalf("note %d stands in %d pairs", i, n)
				}
			}
		}
		for _, e := range r.Finding.Evidence {
			for _, i := range e.Sung {
				_ = r.Phrase[i]
			}
			for _, i := range e.Played {
				_ = answer.Notes[i]
			}
		}
	})
}
