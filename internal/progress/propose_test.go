package progress

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"larkhand/hunt"
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

func TestStaircase(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name         string
		rounds       []Round
		direction    Direction
		length, leap int
		tempo        float64
		reason       string
	}{
		{"none", nil, Unknown, 3, 2, nan, "no rounds yet"},
		{"few", answersOf(29, 4, 4, nan), Unknown, 4, 4, nan, "After 29 rounds of 30"},
		{"all held, leap behind", answersOf(30, 5, 3, nan), Up, 5, 5, nan, "as wide as 5 semitones"},
		{"all held", answersOf(30, 5, 7, nan), Up, 6, 7, nan, "one note more, 6"},
		{"held, at the end of the ladder", answersOf(30, 8, 12, 100), Up, 8, 12, 105, "a little faster, at 105"},
		{"held, at the end without a loop", answersOf(30, 8, 12, nan), Up, 8, 12, nan, "change the key"},
		{"26 of 30 held but not the last", answersOf(30, 5, 7, nan, 0, 9, 12, 20), Stay, 5, 7, nan, "stay at this size"},
		{"24 of 30", answersOf(30, 5, 7, nan, every(5, 30)...), Stay, 5, 7, nan, "Of the last 30 rounds of about 5 notes 24 held"},
		{"half", answersOf(30, 5, 2, nan, every(2, 30)...), Down, 4, 2, nan, "one note less, 4"},
		{"half, shortest", answersOf(30, 3, 2, 100, every(2, 30)...), Down, 3, 2, 90, "slower, at 90"},
		{"half, shortest, no loop", answersOf(30, 3, 2, nan, every(2, 30)...), Down, 3, 2, nan, "close together"},
		{"half, at wide leaps", answersOf(60, 5, 9, nan, every(2, 60)...), Down, 5, 7, nan, "leap no further than 7 semitones"},
		{"another size before", after(answersOf(40, 3, 2, nan), answersOf(10, 8, 2, nan)), Stay, 8, 2, nan, "Only 10 rounds"},
	} {
		got := Of(c.rounds).Next
		sameTempo := got.Tempo == c.tempo || math.IsNaN(got.Tempo) && math.IsNaN(c.tempo)
		if got.Direction != c.direction || got.Length != c.length || got.Leap != c.leap || !sameTempo || !strings.Contains(strings.Join(got.Reasons, " "), c.reason) {
			t.Errorf("%s: %+v; want %s, %d notes, %d semitones, tempo %g, %q", c.name, got, c.direction, c.length, c.leap, c.tempo, c.reason)
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

// Where staircases settle: n successes in a row have an even chance (Levitt 1971), and the error rate of Wilson et al. 2019 is
// the normal distribution at -1.
func TestStaircaseLevels(t *testing.T) {
	for n, want := range map[float64]float64{2: 0.70711, 3: 0.79370, 4: 0.84090} {
		if got := math.Pow(0.5, 1/n); math.Abs(got-want) > 5e-6 {
			t.Errorf("%g successes: %.5f, want %.5f", n, got, want)
		}
	}
	if got := math.Pow(0.5, 1.0/2); math.Abs(got-downBelow) > 1e-15 {
		t.Errorf("down below %g, want %g", downBelow, got)
	}
	if got := 1 - 0.5*math.Erfc(1/math.Sqrt2); math.Abs(1-got-0.158655) > 5e-7 || math.Abs(got-aim) > 0.01 {
		t.Errorf("the aim is %g, that of the paper %.6f", aim, got)
	}
}

// A player of fixed ability who sings what is proposed ends near the aim, whatever the ability. A step of one
// note changes the chance by up to 23 points here, so the mean over the steps it moves between is what can be near.
func TestStaircaseSettlesNearTheAim(t *testing.T) {
	for _, ability := range []float64{4.5, 5.5, 6.5} {
		rng := rand.New(rand.NewPCG(8, uint64(10*ability)))
		var rounds []Round
		sum, counted := 0.0, 0
		for len(rounds) < 900 {
			next := Of(rounds).Next
			r := answersOf(1, next.Length, next.Leap, math.NaN())[0]
			r.At = seasonStart.Add(time.Duration(len(rounds)) * time.Minute)
			hold := 1 / (1 + math.Exp(-1.7*(ability-float64(next.Length)+1)))
			if rng.Float64() > hold {
				r.Label, r.Notes[1].Kinds = hunt.Searched, KindOf(hunt.Correction)
			}
			rounds = append(rounds, r)
			if len(rounds) > 300 {
				sum += hold
				counted++
			}
		}
		if m := sum / float64(counted); m < 0.80 || m > 0.90 {
			t.Errorf("ability %g: settles where %.2f of the rounds hold", ability, m)
		}
	}
}
