package round

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"larkhand/hunt"
	"larkhand/match"
	"larkhand/midiin"
)

// later moves the notes from one on by seconds.
func later(notes []midiin.Note, from int, seconds float64) []midiin.Note {
	out := slices.Clone(notes)
	for i := range out[from:] {
		n := &out[from+i]
		n.Onset, n.Offset, n.Released = n.Onset+seconds, n.Offset+seconds, n.Released+seconds
	}
	return out
}

// Three notes, five seconds, four notes: in pieces that is known, in one it is not.
func TestPauseBetweenPiecesIsNoHesitation(t *testing.T) {
	answer := later(playedNotes(tune...), 3, 5)
	take := sungTake("", 0, tune...)
	opt := Options{Key: cMinor(t)}
	if r := judge(t, opt, answer, take); r.Finding.Label == hunt.Known || r.Straight() == false {
		t.Errorf("in one: %s, straight %v", r.Finding.Label, r.Straight())
	}
	opt.Pieces = []float64{answer[3].Onset}
	r := judge(t, opt, answer, take)
	if r.Finding.Label != hunt.Known || len(r.Finding.Evidence) > 0 || r.Straight() {
		t.Errorf("in pieces: %+v, straight %v", r.Finding, r.Straight())
	}
	if !slices.Contains(r.Remarks, "Played in 2 pieces; the pauses between them do not count.") {
		t.Errorf("remarks %q", r.Remarks)
	}
	if r.Answer.Notes[3].Onset != answer[3].Onset || r.Pieces[0] != answer[3].Onset {
		t.Error("the answer itself has changed")
	}
	if math.Abs(r.Alignment.TempoRatio-1) > 1e-9 {
		t.Errorf("tempo ratio %g", r.Alignment.TempoRatio)
	}
}

// Each note a piece of its own, as slowly as one likes: nothing is late.
func TestPiecesOfOneNote(t *testing.T) {
	answer := playedNotes(tune...)
	opt := Options{Key: cMinor(t)}
	for i := 1; i < len(answer); i++ {
		answer = later(answer, i, 2+float64(i))
		opt.Pieces = append(opt.Pieces, answer[i].Onset)
	}
	if r := judge(t, opt, answer, sungTake("", 0, tune...)); r.Finding.Label != hunt.Known || len(r.Finding.Evidence) > 0 {
		t.Errorf("%+v", r.Finding)
	}
}

// A wrong key inside the second piece is found, and said to be where it was played; with steps, the steps' own finding too.
func TestSearchInsideAPiece(t *testing.T) {
	answer := playedNotes(48, 51, 55, 53, 52, 51, 50, 48) // E before Eb
	answer = later(answer, 3, 5)
	r := judge(t, Options{Key: cMinor(t), Pieces: []float64{answer[3].Onset}, Written: &Written{Letters: "C Eb G F Eb D C"}}, answer, sungTake("", 0, tune...))
	for name, f := range map[string]hunt.Finding{"round": r.Finding, "steps": r.Steps.Finding} {
		if len(f.Evidence) != 1 || f.Evidence[0].Kind != hunt.Correction {
			t.Fatalf("%s: %+v", name, f)
		}
		if e := f.Evidence[0]; math.Abs(e.Onset-answer[4].Onset) > 1e-9 || e.Offset < answer[4].Onset || e.Offset > answer[5].Offset {
			t.Errorf("%s: evidence from %g to %g, played from %g", name, e.Onset, e.Offset, answer[4].Onset)
		}
	}
}

// Piece marks anywhere and of any number only take time out, keep the order and are undone exactly.
func TestPiecesTakeOnlyTimeOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var played []match.Played
		at := 0.0
		for range rapid.IntRange(0, 12).Draw(t, "notes") {
			at += rapid.Float64Range(0, 4).Draw(t, "interval")
			played = append(played, match.Played{Onset: at, Offset: at + rapid.Float64Range(0, 3).Draw(t, "length"), Pitch: float64(rapid.IntRange(45, 57).Draw(t, "key")), Velocity: 70})
		}
		pieces := rapid.SliceOfN(rapid.Float64Range(-1, 50), 0, 6).Draw(t, "pieces")
		phrase := Sung(sungTake("", 0, tune...).Voice.Notes)
		out, j := joined(phrase, played, match.Align(phrase, played), pieces)
		if len(out) != len(played) {
			t.Fatalf("%d notes of %d", len(out), len(played))
		}
		for i := range out {
			if out[i].Onset > played[i].Onset || out[i].Offset < out[i].Onset || i > 0 && out[i].Onset < out[i-1].Onset {
				t.Fatalf("note %d: %+v of %+v", i, out[i], played[i])
			}
			if i > 0 && out[i].Onset-out[i-1].Onset > played[i].Onset-played[i-1].Onset+1e-9 {
				t.Fatalf("a longer interval before note %d", i)
			}
			if back := j.played(out[i].Onset, false); math.Abs(back-played[i].Onset) > 1e-9 && !slices.Contains(j.starts, out[i].Onset) {
				t.Fatalf("note %d is said to be at %g, it was played at %g", i, back, played[i].Onset)
			}
		}
	})
}

func TestHelpedWords(t *testing.T) {
	for _, c := range []struct {
		helped        Helped
		words, remark string
	}{
		{Helped{}, "", ""},
		{Helped{Take2: 1}, "heard take 2 again", "Heard take 2 again before the answer."},
		{Helped{Key: 2, Notes2: 1, Take1: 3, SungAgain: 1}, "heard take 1 again 3 times, what was understood of take 2 and the key note twice, sang take 2 anew",
			"Heard take 1 again 3 times, what was understood of take 2 and the key note twice before the answer. Sang take 2 anew; only the last one is judged."},
	} {
		r := Round{Helped: c.helped}
		if c.helped.Words() != c.words || strings.Join(r.helpedRemarks(), " ") != c.remark || r.Straight() != c.helped.Zero() {
			t.Errorf("%+v: %q, %q", c.helped, c.helped.Words(), r.helpedRemarks())
		}
	}
}
