package progress

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"larkhand/hunt"
	"larkhand/internal/ladder"
	"larkhand/internal/plan"
	"larkhand/match"
)

// answersOf makes count answers of one length and leap, of which the rounds in missed (counted from the last, 0) did not hold.
func answersOf(count, length, leap int, tempo float64, missed ...int) []Round {
	rounds := make([]Round, count)
	for i := range rounds {
		r := Round{At: seasonStart.Add(time.Duration(i) * time.Minute), Played: true, Key: "C minor", Tempo: tempo, Label: hunt.Known, Response: math.NaN()}
		for k := range length {
			n := Note{Degree: "1", Step: 2, Verdict: match.Same}
			if k == 1 {
				n.Step = leap
			}
			r.Notes = append(r.Notes, n)
		}
		rounds[i] = r
	}
	for _, m := range missed {
		rounds[count-1-m].Label = hunt.Searched
		rounds[count-1-m].Notes[1].Kinds = KindOf(hunt.Correction)
	}
	return rounds
}

// after lets the second rounds follow the first.
func after(first, second []Round) []Round {
	end := first[len(first)-1].At
	for i := range second {
		second[i].At = end.Add(time.Duration(i+1) * time.Minute)
	}
	return append(first, second...)
}

func every(step, count int) (list []int) {
	for i := step - 1; i < count; i += step {
		list = append(list, i)
	}
	return list
}

// sung makes a phrase of a rung's size in C major: to and fro by its leap as often as it turns, then the same note again; the first notes
// below are Db, as many as lie outside the key.
func sung(size ladder.Size) (pitches []int) {
	const low = 60
	for i := range size.Notes {
		p := low
		switch {
		case i > size.Turns+1:
			p = pitches[i-1]
		case i%2 == 1:
			p += size.Leap
		case i/2 < size.Chromatic:
			p++
		}
		pitches = append(pitches, p)
	}
	return pitches
}

// The size is what package plan says of the same rounds, and practice asks there too.
func TestProposalIsTheLadders(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	var rounds []Round
	for i := range 40 {
		next := Of(rounds).Next
		want := plan.Size(Tries(rounds), nil)
		if next.Rung != want.Rung || next.Name != want.Name || next.Chance != want.Chance || next.Length != want.Size.Notes || next.Leap != want.Size.Leap || next.Reasons[0] != want.Reason {
			t.Fatalf("after %d rounds %+v, want %+v", i, next, want)
		}
		if direction := Direction(want.Direction); len(rounds) == 0 && next.Direction != Unknown || len(rounds) > 0 && next.Direction != direction {
			t.Errorf("after %d rounds direction %q, want %q", i, next.Direction, direction)
		}
		r := phraseOf(hunt.Known, sung(want.Size)...)
		r.At = seasonStart.Add(time.Duration(i) * time.Minute)
		if rng.Float64() < 0.3 {
			r.Label = hunt.Searched
		}
		rounds = append(rounds, r)
	}
}

// A player of fixed ability who sings what is proposed ends near the aim.
func TestProposalSettlesNearTheAim(t *testing.T) {
	for _, ability := range []float64{4.5, 6.5} {
		rng := rand.New(rand.NewPCG(8, uint64(10*ability)))
		var rounds []Round
		sum, told := 0.0, 0
		for len(rounds) < 160 {
			size := ladder.Rungs[Of(rounds).Next.Rung].Size
			r := phraseOf(hunt.Known, sung(size)...)
			r.At, r.Seconds = seasonStart.Add(time.Duration(len(rounds))*time.Minute), float64(size.Notes-1)/size.Rate
			hold := 1 / (1 + math.Exp(ladder.Standard.Difficulty(r.size())-ability))
			if rng.Float64() > hold {
				r.Label = hunt.Searched
			}
			rounds = append(rounds, r)
			if len(rounds) > 60 {
				sum += hold
				told++
			}
		}
		if m := sum / float64(told); m < 0.78 || m > 0.92 {
			t.Errorf("ability %g: settles where %.2f of the rounds hold", ability, m)
		}
	}
}

// Where the ladder ends the tempo goes on.
func TestTempoIsProposed(t *testing.T) {
	largest := sung(ladder.Size{Notes: 12, Leap: 12, Turns: 10})
	rounds := func(count int, label hunt.Label, tempo float64, pitches ...int) (list []Round) {
		for i := range count {
			r := phraseOf(label, pitches...)
			r.At, r.Tempo, r.Seconds = seasonStart.Add(time.Duration(i)*time.Minute), tempo, float64(len(pitches))/5
			list = append(list, r)
		}
		return list
	}
	for _, c := range []struct {
		name   string
		rounds []Round
		tempo  float64
		reason string
	}{
		{"none", nil, math.NaN(), "Begin small"},
		{"no loop", rounds(5, hunt.Known, math.NaN(), 60, 62), math.NaN(), "The same size again"},
		{"in the middle", rounds(5, hunt.Known, 96.4, 60, 62), 96, "The same size again"},
		{"all hold at the largest", rounds(60, hunt.Known, 100, largest...), 105, "take the loop a little faster, at 105"},
		{"nothing holds", rounds(30, hunt.Searched, 100, 60), 90, "take the loop slower, at 90"},
	} {
		got := Of(c.rounds).Next
		same := got.Tempo == c.tempo || math.IsNaN(got.Tempo) && math.IsNaN(c.tempo)
		if !same || !strings.Contains(strings.Join(got.Reasons, " "), c.reason) {
			t.Errorf("%s: %+v; want tempo %g and %q", c.name, got, c.tempo, c.reason)
		}
	}
}

func TestKeysAreProposed(t *testing.T) {
	pl := steady()
	pl.stumble = func(_ Note, _, _ int, key string, _ int) (float64, hunt.Kind) {
		if key == "Ab major" {
			return 0.1, hunt.Correction
		}
		return 0.01, hunt.Correction
	}
	if p := Of(pl.season(7, 20, 20)).Next; len(p.Keys) == 0 || p.Keys[0] != "Ab major" || !strings.Contains(strings.Join(p.Reasons, " "), "Ab major is where most goes wrong") {
		t.Errorf("keys %q, reasons %q", p.Keys, p.Reasons)
	}
	rounds := answersOf(80, 5, 5, 90)
	for i := range rounds[:20] {
		rounds[i].Key = "Eb dorian"
	}
	if p := Of(rounds).Next; len(p.Keys) != 2 || p.Keys[1] != "Eb dorian" || !strings.Contains(strings.Join(p.Reasons, " "), "Eb dorian has rested for 60 rounds") {
		t.Errorf("keys %q, reasons %q", p.Keys, p.Reasons)
	}
}

func TestMastered(t *testing.T) {
	// 40 rounds of 4 notes that held, then 40 of 6 of which half held.
	p := Of(after(answersOf(40, 4, 4, 90), answersOf(40, 6, 9, 90, every(2, 40)...)))
	// Of 80 rounds of 4 notes and more 60 held: Wilson's lower end is 64.5 %, below 70.7 %.
	if p.Length.Size != 0 || p.Leap.Size != 0 {
		t.Errorf("mastered %+v and %+v, want nothing", p.Length, p.Leap)
	}
	p = Of(after(answersOf(60, 4, 4, 90), answersOf(40, 6, 9, 90)))
	if p.Length.Size != 6 || p.Leap.Size != 9 || p.Length.Share.Trials != 40 || p.LongestHeld != 6 || p.WidestHeld != 9 {
		t.Errorf("mastered %+v and %+v, want 6 notes and 9 semitones", p.Length, p.Leap)
	}
	// 29 rounds are too few for their size, so the next smaller size counts.
	p = Of(after(answersOf(60, 4, 4, 90), answersOf(29, 6, 9, 90)))
	if p.Length.Size != 4 {
		t.Errorf("mastered %+v, want 4 notes", p.Length)
	}
}
