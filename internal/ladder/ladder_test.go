package ladder_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/ladder"
)

func Example() {
	l := ladder.New(ladder.Standard)
	before := l.Rung()
	fmt.Println(l.Propose(before).Reason)
	l.Add(ladder.Try{Size: ladder.Rungs[before].Size, Known: true})
	fmt.Println(l.Propose(before).Reason)
	// Output:
	// Begin small: one note. It grows as soon as you know what you play.
	// That size holds, 1 of 1 answer known, so one step up: two neighbours of the scale.
}

func TestRungsRise(t *testing.T) {
	for i := 1; i < len(ladder.Rungs); i++ {
		before, here := ladder.Standard.Difficulty(ladder.Rungs[i-1].Size), ladder.Standard.Difficulty(ladder.Rungs[i].Size)
		if here <= before || here-before > 1.5 {
			t.Errorf("rung %d, %s: difficulty %.2f after %.2f", i, ladder.Rungs[i].Name, here, before)
		}
	}
}

// Counted by hand.
func TestSizeOf(t *testing.T) {
	white := func(p int) bool {
		return map[int]bool{0: true, 2: true, 4: true, 5: true, 7: true, 9: true, 11: true}[p%12]
	}
	for _, c := range []struct {
		pitches []int
		want    ladder.Size
	}{
		{[]int{60}, ladder.Size{Notes: 1}},
		{[]int{60, 62, 64, 62, 62, 63}, ladder.Size{Notes: 6, Leap: 2, Turns: 2, Chromatic: 1, Rate: 2.5}},
		{[]int{60, 72, 61}, ladder.Size{Notes: 3, Leap: 12, Turns: 1, Chromatic: 1, Rate: 1}},
	} {
		if got := ladder.SizeOf(c.pitches, white, 2); got != c.want {
			t.Errorf("%v: %+v, want %+v", c.pitches, got, c.want)
		}
	}
}

// player answers as a person of a true ability would, on a curve of a slope of its own.
type player struct {
	ability, spread float64
	rng             *rand.Rand
}

func (p player) knows(s ladder.Size) bool {
	return p.rng.Float64() < 1/(1+math.Exp((ladder.Standard.Difficulty(s)-p.ability)/p.spread))
}

// settled is the share of known answers of a player in rounds from to to; the ability grows by learns a round.
func settled(ability, spread, learns float64, from, to int, seed uint64) float64 {
	p, l, known := player{ability, spread, rand.New(rand.NewPCG(seed, 7))}, ladder.New(ladder.Standard), 0
	for round := range to {
		size := ladder.Rungs[l.Rung()].Size
		k := p.knows(size)
		l.Add(ladder.Try{Size: size, Known: k})
		if k && round >= from {
			known++
		}
		p.ability += learns
	}
	return float64(known) / float64(to-from)
}

// TestSettles: players of fixed ability, on curves steeper and flatter than the model's, come to where 80 to 90 % are known within 40
// rounds: the mean over 60 players of the 40 rounds after that.
func TestSettles(t *testing.T) {
	for _, ability := range []float64{4, 5.5, 7, 8.5} {
		for _, spread := range []float64{0.6, 0.9, 1.3} {
			sum := 0.0
			const players = 60
			for seed := range uint64(players) {
				sum += settled(ability, spread, 0, 40, 80, seed)
			}
			if share := sum / players; share < 0.80 || share > 0.90 {
				t.Errorf("ability %.1f, spread %.1f: %.3f known", ability, spread, share)
			}
		}
	}
}

// TestFollows: a player who improves by 3 steps of difficulty in 100 rounds keeps to 80 to 90 %, and ends on a higher rung.
func TestFollows(t *testing.T) {
	sum := 0.0
	const players = 60
	for seed := range uint64(players) {
		sum += settled(4, 0.9, 0.03, 40, 140, seed)
	}
	if share := sum / players; share < 0.80 || share > 0.92 {
		t.Errorf("%.3f known", share)
	}
}

// TestNearlyTheSize: a player who sings each size a quarter slower than the rung has it, neighbours a semitone apart, and knows all of it,
// gets to within two rungs of one who sings each size as it is.
func TestNearlyTheSize(t *testing.T) {
	after := func(change func(*ladder.Size)) int {
		l := ladder.New(ladder.Standard)
		for range 40 {
			size := ladder.Rungs[l.Rung()].Size
			change(&size)
			l.Add(ladder.Try{Size: size, Known: true})
		}
		return l.Rung()
	}
	exact := after(func(*ladder.Size) {})
	nearly := after(func(s *ladder.Size) {
		s.Rate *= 0.75
		if s.Notes == 2 {
			s.Leap = 1
		}
	})
	if exact < len(ladder.Rungs)/2 || nearly < exact-2 {
		t.Errorf("rung %d, and with sizes as they are rung %d", nearly, exact)
	}
}

// TestOneRungAtATime: whatever happens, the proposal moves one rung at most, up only after a known answer and down only after another.
func TestOneRungAtATime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := ladder.New(ladder.Standard)
		for range rapid.IntRange(1, 60).Draw(t, "rounds") {
			before := l.Rung()
			if rapid.IntRange(0, 9).Draw(t, "overrule") == 0 {
				l.Overrule(rapid.IntRange(-3, 30).Draw(t, "rung"))
				before = l.Rung()
			}
			size := ladder.Rungs[rapid.IntRange(0, len(ladder.Rungs)-1).Draw(t, "sung")].Size
			known := rapid.Bool().Draw(t, "known")
			l.Add(ladder.Try{Size: size, Known: known})
			p := l.Propose(before)
			if moved := p.Rung - before; moved > 1 || moved < -1 || moved > 0 && !known || moved < 0 && known {
				t.Fatalf("from %d to %d after known=%v", before, p.Rung, known)
			}
			if p.Chance <= 0 || p.Chance >= 1 || p.Reason == "" {
				t.Fatalf("proposal %+v", p)
			}
		}
	})
}

// TestFit: a player to whom only leaps are hard. The weight of the leap must rise against the others'.
func TestFit(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var tries []ladder.Try
	for range 400 {
		s := ladder.Size{Notes: 3 + rng.IntN(6), Leap: 1 + rng.IntN(12), Turns: rng.IntN(4), Chromatic: rng.IntN(3), Rate: 1 + 2*rng.Float64()}
		tries = append(tries, ladder.Try{Size: s, Known: rng.Float64() < 1/(1+math.Exp(float64(s.Leap)-6))})
	}
	w := ladder.Fit(tries)
	if ratio := w[1] / ladder.Standard[1]; ratio < 1.3 {
		t.Errorf("the leap weighs %.2f times the standard", ratio)
	}
	if ratio := w[0] / ladder.Standard[0]; ratio > 0.7 {
		t.Errorf("the number of notes weighs %.2f times the standard", ratio)
	}
	if got := ladder.Fit(tries[:ladder.FitFrom-1]); got != ladder.Standard {
		t.Errorf("fitted on too few rounds: %v", got)
	}
}
