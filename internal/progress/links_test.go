package progress

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"larkhand/hunt"
	"larkhand/internal/round"
	"larkhand/internal/steps"
	"larkhand/match"
)

// allSteps are the links of a round in which both steps were written down.
var allSteps = []steps.Name{steps.Voice, steps.Ear, steps.Names, steps.Fingers}

// fails is the chance that a link fails at a note.
type fails func(link steps.Name, n Note, key string) float64

// withSteps writes the steps down in a season's rounds; a link fails at notes as fails says.
func withSteps(rounds []Round, seed uint64, fail fails) []Round {
	rng := rand.New(rand.NewPCG(seed, 9))
	for i := range rounds {
		r := &rounds[i]
		for _, name := range allSteps {
			l := LinkResult{Name: name, Compared: len(r.Notes)}
			for at, n := range r.Notes {
				if rng.Float64() < fail(name, n, r.Key) {
					l.Failed, l.Notes = true, append(l.Notes, at)
				}
			}
			r.Links = append(r.Links, l)
		}
	}
	return rounds
}

// faultWords are the named faults as "link: place".
func faultWords(p Progress) (out []string) {
	for _, f := range NamedFaults(p.Links) {
		out = append(out, fmt.Sprintf("%s %s", f.Link, f.Place()))
	}
	slices.Sort(out)
	return out
}

func evenly(p float64) fails { return func(steps.Name, Note, string) float64 { return p } }

// Each player has one weakness that was planted, and it alone is named.
func TestPlantedLinksAreNamed(t *testing.T) {
	for _, c := range []struct {
		weakness string
		fail     fails
		link     LinkName // that fails more than the others; "" for none
		faults   []string
		sentence string
	}{
		{"letters in Ab major", func(l steps.Name, _ Note, key string) float64 {
			if l == steps.Names && key == "Ab major" {
				return 0.15
			}
			return 0.005
		}, NumbersToLetters, []string{"numbers to letters in Ab major"}, "Numbers to letters fails most in Ab major: "},
		{"the ear at degree 6", func(l steps.Name, n Note, _ string) float64 {
			if l == steps.Ear && n.Degree == "6" {
				return 0.3
			}
			return 0.005
		}, EarToNumbers, []string{"ear to numbers at degree 6"}, "Ear to numbers fails most at degree 6: "},
		{"the fingers after a fifth down", func(l steps.Name, n Note, _ string) float64 {
			if l == steps.Fingers && n.Step == -7 {
				return 0.5
			}
			return 0.005
		}, LettersToFingers, []string{"letters to fingers after a fifth down"}, "Letters to fingers fails most after a fifth down: "},
		{"the voice anywhere", func(l steps.Name, _ Note, _ string) float64 {
			if l == steps.Voice {
				return 0.06
			}
			return 0.005
		}, FromVoice, nil, "Of the links between voice and fingers, the voice fails most: in "},
		{"nothing", evenly(0.01), "", nil, "No link between voice and fingers stands out in 240 rounds"},
	} {
		p := Of(withSteps(steady().season(11, 20, 12), 2, c.fail))
		if got := faultWords(p); !slices.Equal(got, c.faults) {
			t.Errorf("%s: named %q, want %q", c.weakness, got, c.faults)
		}
		for _, l := range p.Links {
			if l.Named != (l.Name == c.link) {
				t.Errorf("%s: %s is named: %v", c.weakness, l.Name, l.Named)
			}
		}
		if p.Steps != 240 || !says(p, c.sentence) {
			t.Errorf("%s: %d rounds with steps, %q", c.weakness, p.Steps, p.Sentences)
		}
	}
}

// A key that is sung rarely is named where the evidence holds.
func TestRareKeyIsNamed(t *testing.T) {
	rounds := steady().season(12, 10, 10)
	for i := range rounds {
		rounds[i].Key = "C major"
		if i%11 == 0 { // 10 rounds
			rounds[i].Key = "Gb major"
		}
	}
	p := Of(withSteps(rounds, 1, func(l steps.Name, _ Note, key string) float64 {
		if l == steps.Names && key == "Gb major" {
			return 0.2
		}
		return 0.005
	}))
	if got := faultWords(p); !slices.Equal(got, []string{"numbers to letters in Gb major"}) {
		t.Errorf("named %q: %+v", got, p.Links)
	}
	if p.Next.Keys[0] != "Gb major" || !strings.Contains(strings.Join(p.Next.Reasons, " "), "Gb major is where numbers to letters fails most") {
		t.Errorf("keys %q, reasons %q", p.Next.Keys, p.Next.Reasons)
	}
}

// Where nothing is planted nothing is named: at most one player in twenty may have something, in links and in places each.
func TestLinksAreNotNamedByChance(t *testing.T) {
	const players = 50
	faults, named := 0, 0
	for seed := range uint64(players) {
		p := Of(withSteps(steady().season(300+seed, 10, 10), seed, evenly(0.03)))
		if len(NamedFaults(p.Links)) > 0 {
			faults++
		}
		if slices.ContainsFunc(p.Links, func(l Link) bool { return l.Named }) {
			named++
		}
	}
	const most = 6 // of 50 at 5 %, more than six come in one case of eighty (binomial)
	if faults > most || named > most {
		t.Errorf("of %d players %d have a fault and %d a link by chance", players, faults, named)
	}
}

func TestFewStepsClaimNothing(t *testing.T) {
	for _, rounds := range []int{1, Least - 1} {
		p := Of(withSteps(steady().season(5, 1, rounds), 1, func(l steps.Name, _ Note, _ string) float64 {
			if l == steps.Ear {
				return 0.9
			}
			return 0
		}))
		if len(faultWords(p)) > 0 || len(Weakest(p.Links)) > 0 || !says(p, "below 30 nothing is claimed of the links") {
			t.Errorf("%d rounds: %+v, %q", rounds, p.Links, p.Sentences)
		}
	}
	if p := Of(steady().season(5, 10, 10)); len(p.Links) > 0 || says(p, "link") || says(p, "teps were") {
		t.Errorf("links without written steps: %+v, %q", p.Links, p.Sentences)
	}
}

// Counts by hand: whose link it is, what joined links are called, and what a link that fails as a whole says of degrees.
func TestLinkSums(t *testing.T) {
	r := phraseOf("known", 60, 62, 64)
	r.Notes[1].Degree, r.Notes[2].Degree = "2", "3"
	r.Links = []LinkResult{
		{Name: steps.Voice, Compared: 3}, {Name: steps.Ear, Joined: true, Compared: 3, Failed: true, Notes: []int{2}}, {Name: steps.Fingers, Compared: 3, Failed: true},
	}
	other := phraseOf("known", 60, 62, 64)
	other.Notes[1].Degree, other.Notes[2] = "2", Note{Degree: "3", Step: NoStep, Verdict: match.Unclear}
	other.Sang = false
	other.Links = []LinkResult{
		{Name: steps.Voice, Compared: 3, Failed: true}, {Name: steps.Ear, Compared: 3, Failed: true, Notes: []int{1}},
		{Name: steps.Fingers, Joined: true, Compared: 3}, {Name: steps.Names, Compared: 0},
	}
	var got []string
	for _, l := range Of([]Round{r, other}).Links {
		got = append(got, fmt.Sprintf("%s %d/%d", l.Name, l.Failed.Hits, l.Failed.Trials))
		for _, table := range l.Tables {
			for _, c := range table.Cells {
				got = append(got, fmt.Sprintf("%s %d/%d", c.Name, c.Rounds.Hits, c.Rounds.Trials))
			}
		}
	}
	want := []string{
		"voice 0/1", "1 0/1", "2 0/1", "3 0/1", "a step up 0/1", "C major 0/1",
		"ear to numbers 1/1", "1 0/1", "2 1/1", "a step up 1/1", "C major 1/1",
		"ear to letters 1/1", "1 0/1", "2 0/1", "3 1/1", "a step up 1/1", "C major 1/1",
		"numbers to fingers 0/1", "1 0/1", "2 0/1", "a step up 0/1", "C major 0/1",
		"letters to fingers 1/1", "C major 1/1",
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// The ear of a player gets better over the weeks, and only that is told.
func TestLinkTrend(t *testing.T) {
	rounds := steady().season(6, 40, 12)
	at := 0
	p := Of(withSteps(rounds, 3, func(l steps.Name, n Note, _ string) float64 {
		at++ // notes of links, in order of time
		if l == steps.Ear {
			return 0.12 * (1 - float64(at)/float64(len(rounds)*6*len(allSteps)))
		}
		return 0.01
	}))
	for _, tr := range p.Trends {
		if want := tr.Quantity == FailureOf(EarToNumbers); tr.Claimed != want {
			t.Errorf("%s: claimed %v, want %v (P %.4f)", tr.Quantity, tr.Claimed, want, tr.P)
		}
	}
	if !says(p, "The share of rounds in which ear to numbers fails falls by") || len(p.Trends) != 9 {
		t.Errorf("%d trends, %q", len(p.Trends), p.Sentences)
	}
}

// A round whose numbers are right, whose letters are wrong at note 2, and whose answer was searched for.
func TestLinksOf(t *testing.T) {
	if LinksOf(round.Round{}) != nil {
		t.Error("links where nothing was written down")
	}
	r := round.Round{
		Phrase: []match.Sung{{Semitone: 60}, {Semitone: 62}, {Semitone: 64}},
		Steps: &steps.Result{
			Finding: hunt.Finding{Evidence: []hunt.Evidence{{Kind: hunt.Creep, Sung: []int{1, 2}}, {Kind: hunt.Touch}}},
			Links: []steps.Link{
				{Name: steps.Voice, From: steps.Sung, To: steps.Sung, Compared: 3},
				{Name: steps.Ear, From: steps.Sung, To: steps.Numbers, Compared: 3},
				{Name: steps.Names, From: steps.Numbers, To: steps.Letters, Compared: 3},
				{Name: steps.Fingers, From: steps.Letters, To: steps.Played, Compared: 3, Failed: true, Searched: true},
			},
		},
	}
	if got := LinksOf(r)[3]; !got.Failed || got.Joined || !slices.Equal(got.Notes, []int{2}) {
		t.Errorf("fingers %+v, want a failure at note 2", got)
	}
	names := &r.Steps.Links[2]
	names.Failed, names.Mistakes = true, []steps.Mistake{{Place: 1, Wanted: 2, Given: 3}, {Place: steps.None, Wanted: steps.Nothing, Given: 5}, {Place: 1, Wanted: 2, Given: 4}}
	got := LinksOf(r)
	if !slices.Equal(got[2].Notes, []int{1}) || len(got[3].Notes) > 0 {
		t.Errorf("letters %+v, fingers %+v; want note 1, and none where the letters are another phrase", got[2], got[3])
	}
	r.Steps.Links = []steps.Link{r.Steps.Links[0], {Name: steps.Ear, From: steps.Sung, To: steps.Letters}, {Name: steps.Fingers, From: steps.Letters, To: steps.Played}}
	if got := LinksOf(r); !got[1].Joined || got[2].Joined {
		t.Errorf("without numbers: %+v", got)
	}
}
