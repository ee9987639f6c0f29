package progress

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"larkhand/hunt"
	"larkhand/match"
)

func says(p Progress, part string) bool {
	return strings.Contains(strings.Join(p.Sentences, "\n"), part)
}

// firstNamed is the surest trouble, "" where none is named.
func firstNamed(p Progress) (Dimension, string) {
	if list := Named(p.Tables); len(list) > 0 {
		return list[0].Dimension, list[0].Name
	}
	return "", ""
}

// Each player has one planted habit, and it is named first.
func TestPlantedHabitsAreNamed(t *testing.T) {
	for _, c := range []struct {
		habit     string
		plant     func(*player)
		dimension Dimension
		name      string
		kind      hunt.Kind
	}{
		{"creeps to the 6th degree", func(pl *player) {
			pl.stumble = func(n Note, _, _ int, _ string, _ int) (float64, hunt.Kind) {
				if n.Degree == "6" {
					return 0.3, hunt.Creep
				}
				return 0.02, hunt.Correction
			}
		}, ByDegree, "6", hunt.Creep},
		{"waits before leaps of a fifth down", func(pl *player) {
			pl.stumble = func(n Note, _, _ int, _ string, _ int) (float64, hunt.Kind) {
				if n.Step == -7 {
					return 0.35, hunt.Hesitation
				}
				return 0.02, hunt.Correction
			}
		}, ByInterval, "a fifth down", hunt.Hesitation},
		{"gropes in Ab major", func(pl *player) {
			pl.stumble = func(_ Note, _, _ int, key string, _ int) (float64, hunt.Kind) {
				if key == "Ab major" {
					return 0.1, hunt.Correction
				}
				return 0.01, hunt.Correction
			}
		}, ByKey, "Ab major", hunt.Correction},
		{"starts again after the first note", func(pl *player) {
			pl.stumble = func(_ Note, place, _ int, _ string, _ int) (float64, hunt.Kind) {
				if place == 0 {
					return 0.25, hunt.Restart
				}
				return 0.02, hunt.Correction
			}
		}, ByPlace, "the first note", hunt.Restart},
	} {
		t.Run(c.habit, func(t *testing.T) {
			pl := steady()
			c.plant(&pl)
			p := Of(pl.season(1, 20, 20))
			if dimension, name := firstNamed(p); dimension != c.dimension || name != c.name {
				t.Fatalf("named %s %q first, want %s %q", dimension, name, c.dimension, c.name)
			}
			if kind := Named(p.Tables)[0].MainKind(); kind != c.kind {
				t.Errorf("mostly %q, want %q", kind, c.kind)
			}
			if !says(p, c.name) || !says(p, kindWords[c.kind]) {
				t.Errorf("the sentences do not tell it: %q", p.Sentences)
			}
		})
	}
}

// Where nothing is planted nothing is named: at most one season in twenty may name something, which is what the
// intervals promise.
func TestNothingIsNamedWithoutAHabit(t *testing.T) {
	const seasons = 60
	troubles, claimed := 0, 0
	for seed := range uint64(seasons) {
		p := Of(steady().season(100+seed, 30, 12))
		if len(Named(p.Tables)) > 0 {
			troubles++
		}
		if p.anyTrend() {
			claimed++
		}
	}
	const most = seasons / 20
	if troubles > most || claimed > most {
		t.Errorf("of %d seasons without habits %d name a trouble and %d a trend; at most %d may", seasons, troubles, claimed, most)
	}
}

func TestTrendsAreFound(t *testing.T) {
	pl := steady()
	pl.respond = func(day int) float64 { return 3 * math.Exp(-0.02*float64(day)) }
	pl.stumble = func(_ Note, _, _ int, _ string, day int) (float64, hunt.Kind) {
		return 0.12 * math.Exp(-0.05*float64(day)), hunt.Creep
	}
	p := Of(pl.season(2, 40, 12))
	if p.Sessions != 40 || p.Grain != BySession || len(p.Points) != 40 {
		t.Errorf("%d sessions, %d points by %s; want 40 by session", p.Sessions, len(p.Points), p.Grain)
	}
	for _, tr := range p.Trends {
		wanted := tr.Quantity == ResponseTime || tr.Quantity == KnownAnswers || tr.Quantity == FirstTouches
		if tr.Claimed != wanted {
			t.Errorf("%s: claimed %v, want %v (Z %.2f)", tr.Quantity, tr.Claimed, wanted, tr.Z)
		}
		// From 3 s on day 0 it falls to 3 exp(-0.02*39) = 1.38 s on day 78: about 0.58 s in 28 days.
		if tr.Quantity == ResponseTime && (tr.PerMonth > -0.45 || tr.PerMonth < -0.75) {
			t.Errorf("response time moves by %.2f s in four weeks", tr.PerMonth)
		}
	}
	if !says(p, "Your response time falls") || !says(p, "share of known answers rises") {
		t.Errorf("the sentences do not tell it: %q", p.Sentences)
	}
}

func TestNothingIsClaimedFromFewRounds(t *testing.T) {
	pl := steady()
	pl.stumble = func(n Note, _, _ int, _ string, _ int) (float64, hunt.Kind) { return 0.9, hunt.Creep }
	for _, rounds := range []int{0, 1, Least - 1} {
		p := Of(pl.season(3, 1, rounds))
		if p.Enough || p.anyTrend() || len(Named(p.Tables)) > 0 || p.Length.Size > 0 || !math.IsNaN(p.Recent.Response) {
			t.Errorf("%d rounds: something is claimed: %+v", rounds, p)
		}
		for _, h := range p.Habits {
			if h.Named {
				t.Errorf("%d rounds: %s is called a habit", rounds, h.Kind)
			}
		}
		if !says(p, "nothing is claimed") || len(p.Next.Reasons) != 1 {
			t.Errorf("%d rounds: %q", rounds, p.Sentences)
		}
	}
	if p := Of(pl.season(3, 1, Least)); !p.Enough || !says(p, "You creep up to a note key by key in 30 of 30 answers") {
		t.Errorf("%d rounds of creeping: %q", Least, p.Sentences)
	}
}

// hand is a small list whose sums can be done by hand.
func hand() []Round {
	minute := func(m int) time.Time { return seasonStart.Add(time.Duration(m) * time.Minute) }
	nan := math.NaN()
	return []Round{
		{At: minute(2), Sang: true, Played: true, Key: "C minor", Tempo: nan, Label: hunt.Searched, Response: 3, Agreement: OtherPhrase,
			Takes: [2]Centring{{10, 20}, {8, 30}},
			Notes: []Note{{Degree: "1", Step: NoStep, Verdict: match.Same}, {Degree: "b3", Step: 3, Verdict: match.Same, Kinds: KindOf(hunt.Creep)}, {Degree: "5", Step: 4, Verdict: match.Unclear, Kinds: KindOf(hunt.Touch)}}},
		{At: minute(0), Sang: true, Played: true, Key: "C minor", Tempo: nan, Label: hunt.Known, Response: 1, Agreement: SamePhrase,
			Takes: [2]Centring{{20, 40}, {14, 30}},
			Notes: []Note{{Degree: "1", Step: NoStep, Verdict: match.Same}, {Degree: "b3", Step: 3, Verdict: match.Different}, {Degree: "5", Step: 4, Verdict: match.Same, Kinds: KindOf(hunt.Hesitation)}}},
		{At: minute(60), Played: true, Key: "F minor", Tempo: 96, Label: hunt.Unsure, Response: nan, Takes: [2]Centring{{99, 99}, {99, 99}},
			Notes: []Note{{Degree: "1", Step: NoStep, Verdict: match.Same}, {Degree: "2", Step: 2, Verdict: match.LeftOut}}},
		{At: minute(61), Sang: true, Key: "F minor", Tempo: 96, Label: hunt.Known, Response: 9, Takes: [2]Centring{{30, 60}, unsung},
			Notes: []Note{{Degree: "1", Step: NoStep, Verdict: match.Same}}},
	}
}

func TestSumsByHand(t *testing.T) {
	p := Of(hand())
	if p.Rounds != 4 || p.Answers != 3 || p.Sessions != 2 || p.Unsure != 1 {
		t.Errorf("%d rounds, %d answers, %d sessions, %d unsure; want 4, 3, 2, 1", p.Rounds, p.Answers, p.Sessions, p.Unsure)
	}
	if p.Known.Hits != 1 || p.Known.Trials != 2 || p.Known.Value != 0.5 {
		t.Errorf("known %+v, want 1 of 2", p.Known)
	}
	// Clear notes: 2 + 3 + 2. At first touch: the 1 of the first, 1 and 5 of the second, the 1 of the third.
	if p.FirstTouch.Hits != 4 || p.FirstTouch.Trials != 7 {
		t.Errorf("first touch %+v, want 4 of 7", p.FirstTouch)
	}
	if p.Response.N != 2 || p.Response.Median != 2 {
		t.Errorf("response %+v, want the median 2 of 2", p.Response)
	}
	if c := p.Takes[0].CentreCents; c.N != 3 || c.Median != 20 {
		t.Errorf("centre of take 1 %+v, want the median 20 of 3", c)
	}
	if c := p.Takes[1].SpreadCents; c.N != 2 || c.Median != 30 {
		t.Errorf("spread of take 2 %+v, want the median 30 of 2", c)
	}
	if s := p.Settling; s.SamePhrase.Hits != 1 || s.SamePhrase.Trials != 2 || s.CentreChangeCents.Median != -6 || s.SpreadChangeCents.Median != -10 {
		t.Errorf("settling %+v", s)
	}
	degrees := p.Tables[0].Cells
	var names []string
	for _, c := range degrees {
		names = append(names, c.Name)
	}
	if want := []string{"1", "2", "b3", "5"}; !slices.Equal(names, want) {
		t.Fatalf("degrees %v, want %v", names, want)
	}
	if b3 := degrees[2]; b3.Notes.Hits != 2 || b3.Notes.Trials != 2 || b3.Wrong != 1 || b3.Kinds != [5]int{0, 1, 0, 0, 0} || b3.Others.Trials != 5 || b3.Others.Hits != 2 {
		t.Errorf("b3: %+v", b3)
	}
	if from := p.Points[0].From; from != seasonStart || p.To != seasonStart.Add(61*time.Minute) {
		t.Errorf("from %v to %v", from, p.To)
	}
}

func TestPlaceAndIntervalNames(t *testing.T) {
	var places []string
	for i := range 8 {
		name, _ := placeOf(i, 8)
		places = append(places, name)
	}
	want := []string{"the first note", "the beginning", "the beginning", "the middle", "the middle",
		"the end before the last note", "the end before the last note", "the last note"}
	if !slices.Equal(places, want) {
		t.Errorf("places %q, want %q", places, want)
	}
	for count := 1; count <= 3; count++ {
		if name, _ := placeOf(0, count); name != "the first note" {
			t.Errorf("the first of %d is %q", count, name)
		}
	}
	order := math.MinInt
	for _, c := range []struct {
		step int
		name string
	}{{-60, "an octave or more down"}, {-12, "an octave or more down"}, {-7, "a fifth down"}, {-1, "a step down"}, {0, "the same note again"},
		{2, "a step up"}, {3, "a third up"}, {6, "a fourth up"}, {9, "a sixth up"}, {11, "a seventh up"}, {12, "an octave or more up"}} {
		name, at := intervalOf(c.step)
		if name != c.name || at < order {
			t.Errorf("%d semitones: %q at %d, want %q from %d on", c.step, name, at, c.name, order)
		}
		order = at
	}
}

// A plot never gets more points than can be told apart, whatever the number of years.
func TestGrainGrows(t *testing.T) {
	for _, c := range []struct {
		sessions int
		grain    Grain
	}{{100, BySession}, {400, ByWeek}, {1500, ByMonth}} {
		p := Of(steady().season(4, c.sessions, 1))
		total := 0
		for _, point := range p.Points {
			total += point.Rounds
		}
		if p.Grain != c.grain || len(p.Points) > mostPoints || total != c.sessions {
			t.Errorf("%d sessions: %d points by %s with %d rounds", c.sessions, len(p.Points), p.Grain, total)
		}
	}
}

func TestSettlingIsTold(t *testing.T) {
	settles := steady()
	if p := Of(settles.season(5, 4, 20)); !says(p, "the distance from the centre stays") && !says(p, "the distance from the centre falls") {
		t.Errorf("%q", p.Sentences)
	}
	worse := steady()
	worse.settle = 1.5
	if p := Of(worse.season(5, 4, 20)); !says(p, "the distance from the centre rises") || !says(p, "the spread rises") {
		t.Errorf("%q", p.Sentences)
	}
	rounds := steady().season(5, 4, 20)
	for i := range rounds {
		if i%2 == 0 {
			rounds[i].Agreement = OtherPhrase
		}
	}
	if p := Of(rounds); !says(p, "In 40 of 80 rounds the second take was another phrase") {
		t.Errorf("%q", p.Sentences)
	}
}

// The rows given are not changed, and their order does not matter.
func TestOrderDoesNotMatter(t *testing.T) {
	rounds := steady().season(6, 5, 10)
	mixed := slices.Clone(rounds)
	slices.Reverse(mixed)
	first := mixed[0].At
	a, b := Of(rounds), Of(mixed)
	if !slices.Equal(a.Sentences, b.Sentences) || a.Known != b.Known || !a.From.Equal(b.From) || mixed[0].At != first {
		t.Errorf("%q\n%q", a.Sentences, b.Sentences)
	}
}
