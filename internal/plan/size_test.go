package plan_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"larkhand/internal/ladder"
	"larkhand/internal/plan"
)

// singer is a simulated player: the chance that an answer is known falls with difficulty along a logistic curve.
type singer struct {
	ability, spread float64
	weights         ladder.Weights
	rng             *rand.Rand
}

func (s singer) knows(size ladder.Size) bool {
	return s.rng.Float64() < 1/(1+math.Exp((s.weights.Difficulty(size)-s.ability)/s.spread))
}

// TestSizeFollowsPlayers: players of different ability who sing what is proposed come to where about 85 % is known, also one to whom leaps are
// twice as hard as they are taken for; the proposal moves by one rung at most, whatever is fitted in between.
func TestSizeFollowsPlayers(t *testing.T) {
	leaps := ladder.Standard
	leaps[1] *= 2
	for _, c := range []struct {
		name    string
		ability float64
		weights ladder.Weights
	}{{"beginner", 4, ladder.Standard}, {"advanced", 7, ladder.Standard}, {"leaps are hard", 6, leaps}} {
		known, counted := 0, 0
		for seed := range uint64(2) {
			s := singer{c.ability, 0.9, c.weights, rand.New(rand.NewPCG(seed, 11))}
			var tries []ladder.Try
			rung := 0
			for n := range 110 {
				p := plan.Size(tries, nil)
				if p.Rung-rung > 1 || rung-p.Rung > 1 {
					t.Fatalf("%s, round %d: from rung %d to %d", c.name, n, rung, p.Rung)
				}
				rung = p.Rung
				try := ladder.Try{Size: p.Size, Known: s.knows(p.Size)}
				tries = append(tries, try)
				if n >= 50 {
					counted++
					if try.Known {
						known++
					}
				}
			}
		}
		if share := float64(known) / float64(counted); share < 0.78 || share > 0.92 { // 120 answers: two standard deviations are 7 points
			t.Errorf("%s: %.3f known", c.name, share)
		}
	}
}

// TestSizeOfALongPast: what lies before the window changes the proposal in few rounds, and by one rung.
func TestSizeOfALongPast(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	s := singer{6, 0.9, ladder.Standard, rand.New(rand.NewPCG(5, 5))}
	var tries []ladder.Try
	for range 330 {
		p := plan.Size(tries, nil)
		tries = append(tries, ladder.Try{Size: p.Size, Known: s.knows(p.Size)})
	}
	other := 0
	for n := 200; n <= 330; n += 10 {
		here, alone := plan.Size(tries[:n], nil).Rung, plan.Size(tries[n-180:n], nil).Rung
		if here != alone {
			other++
		}
		if here-alone > 1 || alone-here > 1 {
			t.Errorf("after %d rounds rung %d, after the last 180 of them %d", n, here, alone)
		}
	}
	if other > 3 { // of 14
		t.Errorf("another rung %d times", other)
	}
}

func tries(outcomes string, size func(rung int) ladder.Size) []ladder.Try {
	var out []ladder.Try
	for _, o := range outcomes {
		out = append(out, ladder.Try{Size: size(plan.Size(out, nil).Rung), Known: o == '+'})
	}
	return out
}

func asProposed(rung int) ladder.Size { return ladder.Rungs[rung].Size }

func TestReasons(t *testing.T) {
	for _, c := range []struct {
		name, outcomes string
		asked          []plan.Overrule
		rung           int
		reason         string
	}{
		{"nothing yet", "", nil, 0, "Begin small: one note."},
		{"up", "++++", nil, 4, "That size holds, 1 of 1 answer known, so one step up: four notes with one skip of a third."},
		{"down", "++++-", nil, 3, "Not often enough, 0 of 1 answer known since the last step, so one step down: four notes of the scale, up and back or down and back."},
		{"larger at once", "", []plan.Overrule{{0, 5}}, 5, "As you asked: five notes with skips of a third."},
		{"larger after some", "++", []plan.Overrule{{2, 6}}, 6, "As you asked: five notes with one leap of a fourth."},
		{"asked beyond the ladder", "++", []plan.Overrule{{2, 99}}, 15, "As you asked: twelve notes"},
		{"asked below it", "++", []plan.Overrule{{2, -5}}, 0, "As you asked: one note."},
		{"asked, and it went well", "+++", []plan.Overrule{{2, 5}}, 5, "The same size again"},
		{"asked before rounds that were taken out", "+", []plan.Overrule{{4, 3}}, 3, "As you asked: four notes of the scale"},
	} {
		p := plan.Size(tries(c.outcomes, asProposed), c.asked)
		if p.Rung != c.rung || !strings.Contains(p.Reason, c.reason) || p.Name != ladder.Rungs[p.Rung].Name || p.Asked != strings.HasPrefix(p.Reason, "As you asked") {
			t.Errorf("%s: rung %d, %q; want %d, %q", c.name, p.Rung, p.Reason, c.rung, c.reason)
		}
	}
}

func TestRange(t *testing.T) {
	scale := func(from, to int) (out []int) { // each semitone twice
		for p := from; p <= to; p++ {
			out = append(out, p, p)
		}
		return out
	}
	leap := func(semitones int) ladder.Size { return ladder.Size{Notes: 5, Leap: semitones} }
	many := scale(72, 84)
	for range 13 { // 338 notes: the old ones have no say
		many = append(many, scale(48, 60)...)
	}
	for _, c := range []struct {
		name      string
		sung      []int
		size      ladder.Size
		low, high int // -1: nothing is claimed
	}{
		{"nothing", nil, leap(5), -1, -1},
		{"too little", scale(60, 64), leap(5), -1, -1}, // 10 notes
		{"an octave and a half, a fourth", scale(50, 68), leap(5), 56, 63},
		{"an octave and a half, a step", scale(50, 68), leap(0), 57, 61},
		{"an octave and a half, an octave", scale(50, 68), leap(12), 52, 66},
		{"a fifth, an octave", scale(55, 62), leap(12), 52, 66},                  // the voice is asked for more than it showed, evenly
		{"mostly low", append(scale(50, 56), scale(50, 68)...), leap(5), 53, 60}, // the middle is 56,
		{"one note an octave too high", append(scale(50, 60), 95), leap(5), 52, 59},
		{"at the low end", append(append(scale(50, 51), scale(50, 51)...), scale(50, 62)...), leap(7), 50, 59},
		{"another voice, long ago", many, leap(5), 51, 58},
	} {
		low, high, ok := plan.Range(c.sung, c.size)
		if !ok {
			low, high = -1, -1
		}
		if low != c.low || high != c.high {
			t.Errorf("%s: %d to %d, want %d to %d", c.name, low, high, c.low, c.high)
		}
	}
}
