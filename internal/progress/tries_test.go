package progress

import (
	"math"
	"slices"
	"testing"

	"larkhand/hunt"
	"larkhand/internal/ladder"
	"larkhand/match"
)

// phraseOf makes a round of such pitches in C major, 0.5 s from one to the next, that was played as sung.
func phraseOf(label hunt.Label, pitches ...int) Round {
	r := Round{At: seasonStart, Sang: true, Played: true, Key: "C major", Tempo: math.NaN(), Label: label, Response: math.NaN(), Seconds: 0.5 * float64(len(pitches)-1)}
	for i, p := range pitches {
		n := Note{Degree: "1", Step: NoStep, Verdict: match.Same, Pitch: p, Outside: slices.Contains([]int{1, 3, 6, 8, 10}, p%12)}
		if i > 0 {
			n.Step = p - pitches[i-1]
		}
		r.Notes = append(r.Notes, n)
	}
	return r
}

// The sizes are counted by hand.
func TestTries(t *testing.T) {
	wrong := phraseOf(hunt.Unsure, 60, 62)
	wrong.Notes[1].Verdict = match.Different
	want := []ladder.Try{
		{Size: ladder.Size{Notes: 4, Leap: 9, Turns: 1, Chromatic: 1, Rate: 2}, Known: true},
		{Size: ladder.Size{Notes: 1}, Known: false},
		{Size: ladder.Size{Notes: 2, Leap: 2, Rate: 2}, Known: false},
	}
	rounds := []Round{phraseOf(hunt.Known, 60, 62, 71, 66), phraseOf(hunt.Searched, 60), wrong}
	if got := Tries(rounds); !slices.Equal(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got, want := Sung(rounds), []int{60, 62, 71, 66, 60, 60, 62}; !slices.Equal(got, want) {
		t.Errorf("sung %v, want %v", got, want)
	}
}

// Rounds that say nothing of the size.
func TestNoSay(t *testing.T) {
	for name, change := range map[string]func(*Round){
		"somebody else played": func(r *Round) { r.Played = false },
		"unsure":               func(r *Round) { r.Label = hunt.Unsure },
		"in pieces":            func(r *Round) { r.Pieces = true },
		"heard again":          func(r *Round) { r.Heard = true },
		"a third unclear":      func(r *Round) { r.Notes[1].Verdict, r.Notes[2].Verdict = match.Unclear, match.Unclear },
	} {
		r := phraseOf(hunt.Known, 60, 62, 64, 65, 67, 69)
		change(&r)
		if got := Tries([]Round{r}); len(got) > 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
	one := phraseOf(hunt.Known, 60, 62, 64)
	one.Notes[2].Verdict = match.Unclear
	if got := Tries([]Round{one}); len(got) != 1 {
		t.Error("one unclear note takes the round its say")
	}
	if got := Sung([]Round{one}); len(got) != 2 {
		t.Errorf("an unclear note counts as sung: %v", got)
	}
}

// What the answers in pieces, those with written steps and those with something heard again count for.
func TestWhatCounts(t *testing.T) {
	var rounds []Round
	for i, change := range []func(*Round){
		func(*Round) {}, func(r *Round) { r.Pieces = true }, func(r *Round) { r.Heard = true }, func(r *Round) { r.Links = []LinkResult{{}} },
	} {
		r := phraseOf(hunt.Known, 60, 62, 64)
		r.Response = float64(i + 1)
		change(&r)
		rounds = append(rounds, r)
	}
	rounds[1].Label, rounds[1].Notes[0].Verdict = hunt.Searched, match.Different
	p := Of(rounds)
	if p.Known.Hits != 3 || p.Known.Trials != 3 || p.Pieces != 1 || p.Unsure != 0 || p.Answers != 4 {
		t.Errorf("known %+v, %d in pieces, %d unsure of %d; want 3 of 3, 1, 0 of 4", p.Known, p.Pieces, p.Unsure, p.Answers)
	}
	if p.Response.N != 1 || p.Response.Median != 1 {
		t.Errorf("response %+v, want that of the first round alone", p.Response)
	}
	if p.FirstTouch.Hits != 11 || p.FirstTouch.Trials != 12 {
		t.Errorf("first touch %+v, want 11 of 12: notes in pieces are right or wrong", p.FirstTouch)
	}
}

// Going back is no habit of somebody who plays in pieces.
func TestNoRestartsInPieces(t *testing.T) {
	var rounds []Round
	for i := range 3 {
		r := phraseOf(hunt.Searched, 60, 62, 64)
		r.Pieces = i > 0
		r.Notes[1].Kinds = KindOf(hunt.Restart)
		rounds = append(rounds, r)
	}
	p := Of(rounds)
	for _, h := range p.Habits {
		if h.Kind == hunt.Restart && (h.Share.Hits != 1 || h.Share.Trials != 1) {
			t.Errorf("restarts in %d of %d answers, want 1 of 1", h.Share.Hits, h.Share.Trials)
		}
	}
	if p.FirstTouch.Hits != 8 || p.FirstTouch.Trials != 9 {
		t.Errorf("first touch %+v, want 8 of 9", p.FirstTouch)
	}
	if rounds[2].Notes[1].Kinds != KindOf(hunt.Restart) {
		t.Error("the rounds given were changed")
	}
}
