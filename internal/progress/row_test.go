package progress

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"larkhand/hunt"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/steps"
	"larkhand/match"
	"larkhand/voice"
)

func TestRow(t *testing.T) {
	key, err := music.ParseKey("C minor")
	if err != nil {
		t.Fatal(err)
	}
	take := func(centre ...float64) round.Take {
		var out round.Take
		for i, semitone := range []int{60, 63, 68} {
			out.Voice.Notes = append(out.Voice.Notes, voice.Note{Semitone: semitone, CentreCents: centre[i], SpreadCents: 10 + float64(i), Unclear: i == 1})
		}
		return out
	}
	response := 1.5
	r := round.Round{
		Key: key, Numbering: music.AlteredNumbers, Takes: []round.Take{take(-10, 49, 4), take(2, -3, -6)},
		Agreement: &round.Agreement{Agreement: match.Agreement{SamePhrase: true}},
		Phrase:    []match.Sung{{Semitone: 60, Onset: 0.5}, {Semitone: 63, Unclear: true, Onset: 1}, {Semitone: 68, Onset: 1.5}, {Semitone: 59, Onset: 2.25}},
		Pieces:    []float64{3}, Helped: round.Helped{Take1: 1, SungAgain: 1},
		Steps: &steps.Result{Links: []steps.Link{{Name: steps.Voice, Compared: 4}, {Name: steps.Ear, To: steps.Numbers, Compared: 4, Failed: true,
			Mistakes: []steps.Mistake{{Place: 2}, {Place: 0}, {Place: 2}, {Place: steps.None}}}, {Name: steps.Fingers, From: steps.Numbers, To: steps.Played, Compared: 3}}},
		ResponseSeconds: &response,
		Alignment: match.Alignment{Pairs: []match.Pair{
			{Sung: 0, Played: 0, Verdict: match.Same}, {Sung: match.None, Played: 1, Verdict: match.Added},
			{Sung: 1, Played: 2, Verdict: match.Unclear}, {Sung: 2, Played: 3, Verdict: match.Different}, {Sung: 3, Played: match.None, Verdict: match.LeftOut},
		}},
		Finding: hunt.Finding{Label: hunt.Searched, Evidence: []hunt.Evidence{
			{Kind: hunt.Creep, Sung: []int{0, 2}}, {Kind: hunt.Touch, Sung: []int{2}}, {Kind: hunt.Restart}}},
	}
	row := Row(r, seasonStart, true, false)
	want := []Note{{Degree: "1", Step: NoStep, Verdict: match.Same, Pitch: 60}, {Degree: "b3", Step: NoStep, Verdict: match.Unclear, Pitch: 63},
		{Degree: "b6", Step: NoStep, Verdict: match.Different, Kinds: KindOf(hunt.Creep) | KindOf(hunt.Touch), Pitch: 68},
		{Degree: "7", Step: -9, Verdict: match.LeftOut, Pitch: 59, Outside: true}}
	if !slices.Equal(row.Notes, want) {
		t.Errorf("notes %v, want %v", row.Notes, want)
	}
	// Clear notes only: of 10 and 4 the middle is 7, of 2 and 6 it is 4; spreads are 10 and 12.
	if want := [2]Centring{{7, 11}, {4, 11}}; row.Takes != want {
		t.Errorf("takes %v, want %v", row.Takes, want)
	}
	if row.Key != "C minor" || row.Response != 1.5 || !math.IsNaN(row.Tempo) || row.Agreement != SamePhrase || !row.Sang || row.Played || row.Label != hunt.Searched {
		t.Errorf("row %+v", row)
	}
	if row.Seconds != 1.75 || !row.Pieces || !row.Heard {
		t.Errorf("%v s, in pieces %v, heard %v", row.Seconds, row.Pieces, row.Heard)
	}
	links := []LinkResult{{Name: steps.Voice, Compared: 4}, {Name: steps.Ear, Compared: 4, Failed: true, Notes: []int{0, 2}}, {Name: steps.Fingers, Joined: true, Compared: 3}}
	if !reflect.DeepEqual(row.Links, links) {
		t.Errorf("links %+v, want %+v", row.Links, links)
	}
	r.Pieces, r.Helped, r.Steps = nil, round.Helped{SungAgain: 1}, nil
	if row := Row(r, seasonStart, true, false); row.Pieces || row.Heard || row.Links != nil {
		t.Errorf("a round without steps, pieces and sounds has %+v", row)
	}
	if c := CentringOf(round.WrittenTake("phrase.mid", nil)); !math.IsNaN(c.CentreCents) || !math.IsNaN(c.SpreadCents) {
		t.Errorf("a written take has the centre %v", c)
	}
}

func TestKinds(t *testing.T) {
	s := KindOf(hunt.Creep) | KindOf(hunt.Touch)
	for _, k := range AllKinds {
		if want := k == hunt.Creep || k == hunt.Touch; s.Has(k) != want {
			t.Errorf("%s: %v, want %v", k, s.Has(k), want)
		}
	}
	if KindOf("another") != 0 {
		t.Error("an unknown kind has a bit")
	}
}

// The outcome of a round: what the hands did wrong counts more than the label.
func TestOutcome(t *testing.T) {
	for _, c := range []struct {
		label   hunt.Label
		verdict match.Verdict
		want    outcome
	}{
		{hunt.Known, match.Same, held}, {hunt.Known, match.Unclear, held}, {hunt.Known, match.Different, failed}, {hunt.Known, match.LeftOut, failed},
		{hunt.Searched, match.Same, failed}, {hunt.Unsure, match.Same, open}, {hunt.Unsure, match.Different, failed},
	} {
		if got := (&Round{Label: c.label, Notes: []Note{{Verdict: c.verdict}}}).outcome(); got != c.want {
			t.Errorf("%s, %s: %d, want %d", c.label, c.verdict, got, c.want)
		}
	}
}
