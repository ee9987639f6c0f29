package journal

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"larkhand/internal/progress"
	"larkhand/internal/round"
	"larkhand/internal/steps"
)

// What was done between singing and playing comes back: with the round, in the list, and in progress.
func TestWhatWasDoneComesBack(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	e := stepped(t, began)
	e.Misheard = false
	id := mustSave(t, j, withFiles(t, e))
	s := mustRound(t, j, id)
	took := 7.5
	want := &round.Written{Numbers: "1 2 5 4 3 2 1", Letters: "c eb g f e d c", NumbersSeconds: &took} // one space between words
	if !reflect.DeepEqual(s.Written, want) || !slices.Equal(s.PieceStarts, []float64{0.9, 1.8}) || s.Helped != e.Round.Helped {
		t.Errorf("written %+v, pieces %v, helped %+v", s.Written, s.PieceStarts, s.Helped)
	}
	for _, r := range []Row{s.Row, mustRounds(t, j, Filter{})[0]} {
		if r.PhraseName != "Rain on the roof" || r.Misheard || r.Numbers != want.Numbers || r.Letters != want.Letters || r.Pieces != 3 ||
			!slices.Equal(r.Weak, []string{string(steps.Ear), string(steps.Names)}) {
			t.Errorf("listed as %+v", r)
		}
	}
	rounds, err := j.Progress(ctx, "Tobrin", time.Time{}, time.Time{})
	if err != nil || len(rounds) != 1 || !rounds[0].Pieces || !rounds[0].Heard {
		t.Fatalf("progress knows %+v, %v", rounds, err)
	}
	links := []progress.LinkResult{
		{Name: steps.Voice, Compared: 7}, {Name: steps.Ear, Compared: 7, Failed: true, Notes: []int{1}},
		{Name: steps.Names, Compared: 7, Failed: true, Notes: []int{4}}, {Name: steps.Fingers, Compared: 7},
	}
	if !reflect.DeepEqual(rounds[0].Links, links) {
		t.Errorf("links %+v, want %+v", rounds[0].Links, links)
	}
	healthy(t, j)

	plainID := mustSave(t, j, plain(t, began.Add(time.Hour)))
	if s := mustRound(t, j, plainID); s.Written != nil || s.PieceStarts != nil || !s.Helped.Zero() || s.Weak != nil || s.Pieces != 1 || s.Numbers != "" {
		t.Errorf("a round without steps came back as %+v", s)
	}
}

// Judging again replaces the links, and keeps what the player did.
func TestJudgingAgainKeepsWhatWasDone(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	first := stepped(t, began)
	id := mustSave(t, j, first)
	before := mustRound(t, j, id)
	other := entryWith(t, began, "C minor", "", "", tune, round.Options{Written: &round.Written{Numbers: "1 3 5 4 3 2 1"}})
	other.Program = "v2"
	if _, err := j.Rejudge(ctx, id, Judgement{Entry: other, At: began.Add(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	s := mustRound(t, j, id)
	if !reflect.DeepEqual(s.Written, before.Written) || !slices.Equal(s.PieceStarts, before.PieceStarts) || s.Helped != before.Helped || !s.Misheard ||
		s.PhraseName != before.PhraseName || s.Pieces != 3 {
		t.Errorf("judging again made %+v of %+v", s, before)
	}
	if s.Weak != nil || s.Program != "v2" {
		t.Errorf("weak links %v by %s, want none by v2", s.Weak, s.Program)
	}
	healthy(t, j)
}

// In version 1 what was written down stood in the result alone. Judging again with it keeps it as such.
func TestJudgingAgainFindsWhatWasWritten(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	id := mustSave(t, j, plain(t, began))
	again := stepped(t, began)
	if _, err := j.Rejudge(ctx, id, Judgement{Entry: again, At: began}); err != nil {
		t.Fatal(err)
	}
	if s := mustRound(t, j, id); s.Written == nil || s.Numbers != "1 2 5 4 3 2 1" || *s.Written.NumbersSeconds != 7.5 || len(s.Weak) != 2 || s.Misheard {
		t.Errorf("came back as %+v, %+v", s.Row, s.Written)
	}
}
