package plan_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"larkhand/internal/ladder"
	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/plan"
)

var today = time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)

func card(daysAgo int, grades ...phrase.Grade) phrase.Card {
	var c phrase.Card
	for _, g := range grades {
		c = c.After(g, today.AddDate(0, 0, -daysAgo))
	}
	return c
}

// way is the keys that come one after the other, each tried with what the order makes of a phrase that was known.
func way(order phrase.Order, start int, cards map[string]phrase.Card, tries int) (tonics []string, whys []string) {
	k, last := plan.NewKeys(order, rand.New(rand.NewPCG(4, 2))), -1
	for range tries {
		t := plan.Tried{Start: start, Last: last, Cards: cards, Now: today}
		class, why := k.Next(t)
		if again, _ := k.Next(t); again != class {
			return []string{"asked again it is another key"}, nil
		}
		tonics, whys, last = append(tonics, phrase.Tonic(class)), append(whys, why), class
		cards[phrase.Tonic(class)] = cards[phrase.Tonic(class)].After(phrase.Knew, today)
	}
	return tonics, whys
}

func TestKeysInOrder(t *testing.T) {
	for _, c := range []struct {
		name  string
		order phrase.Order
		start int
		cards map[string]phrase.Card
		want  string
		why   string // of the last one
	}{
		{"fourths", phrase.Fourths, 5, nil, "F Bb Eb Ab", "Ab is a fourth above Eb."},
		{"semitones", phrase.Semitones, 11, nil, "B C Db", "Db is a semitone above C."},
		{"weak, nothing tried", phrase.Weak, 0, nil, "C F Bb", "Bb is the weakest key now: never tried in this key."},
		{"weak, two failed", phrase.Weak, 0, map[string]phrase.Card{"A": card(1, phrase.Lost), "D": card(1, phrase.Slipped), "C": card(1, phrase.Knew)}, "A D F Bb", "Bb is the weakest"},
		{"due, nothing tried", plan.Due, 0, nil, "C F", "No key is due; F was never tried."},
		{"due", plan.Due, 0, map[string]phrase.Card{"A": card(3, phrase.Knew), "D": card(9, phrase.Knew), "E": card(3, phrase.Knew, phrase.Knew)}, "D A C", "No key is due; C was never tried."},
	} {
		if c.cards == nil {
			c.cards = map[string]phrase.Card{}
		}
		got, whys := way(c.order, c.start, c.cards, strings.Count(c.want, " ")+1)
		if strings.Join(got, " ") != c.want || !strings.HasPrefix(whys[len(whys)-1], c.why) {
			t.Errorf("%s: %s, %q; want %s, %q", c.name, got, whys[len(whys)-1], c.want, c.why)
		}
	}
}

// TestKeyThatFailed: it does not come twice in a row, but as the next but one.
func TestKeyThatFailed(t *testing.T) {
	k := plan.NewKeys(phrase.Weak, nil)
	cards := map[string]phrase.Card{"C": card(0, phrase.Lost)}
	if class, _ := k.Next(plan.Tried{Last: 0, Cards: cards, Now: today}); class != 5 {
		t.Errorf("after C comes %s", phrase.Tonic(class))
	}
	cards["F"] = card(0, phrase.Knew)
	if class, why := k.Next(plan.Tried{Last: 5, Cards: cards, Now: today}); class != 0 || why != "C is the weakest key now: it failed last time, so it comes back after a day." {
		t.Errorf("after F comes %s: %s", phrase.Tonic(class), why)
	}
}

func TestAllKeysTriedAndNoneDue(t *testing.T) {
	cards := map[string]phrase.Card{}
	for class := range 12 {
		cards[phrase.Tonic(class)] = card(0, phrase.Knew, phrase.Knew)
	}
	cards["G"] = card(0, phrase.Knew)
	class, why := plan.NewKeys(plan.Due, nil).Next(plan.Tried{Last: 0, Cards: cards, Now: today})
	if class != 7 || why != "No key is due before 2026-03-11; G is the first." {
		t.Errorf("%s: %s", phrase.Tonic(class), why)
	}
}

// TestRandomKeys: each of twelve in a row is another one, and so are the last of twelve and the first of the next.
func TestRandomKeys(t *testing.T) {
	got, _ := way(phrase.Random, 0, map[string]phrase.Card{}, 36)
	for round := range 3 {
		twelve := slices.Sorted(slices.Values(got[12*round : 12*round+12]))
		if len(slices.Compact(twelve)) != 12 {
			t.Errorf("round %d: %v", round, got[12*round:12*round+12])
		}
	}
	if len(slices.Compact(slices.Clone(got))) != 36 || slices.Equal(got[:12], got[12:24]) {
		t.Errorf("the same key twice in a row, or the same order twice: %v", got)
	}
}

func TestTexts(t *testing.T) {
	p := plan.Size(nil, []plan.Overrule{{After: 0, Rung: 6}})
	var sung []int
	for pitch := 52; pitch <= 70; pitch++ {
		sung = append(sung, pitch)
	}
	circle := plan.Turn{Singer: "Sunnel", Player: "Ilvane"}
	minor, err := music.ParseKey("Ab minor")
	if err != nil {
		t.Fatal(err)
	}
	major, err := music.ParseKey("Eb major")
	if err != nil {
		t.Fatal(err)
	}
	sharp, err := music.ParseKey("F# major")
	if err != nil {
		t.Fatal(err)
	}
	for got, want := range map[string]string{
		p.Text(plan.Turn{}, nil, nil):               "Next: five notes with one leap of a fourth.",
		p.Text(plan.Turn{}, sung, nil):              "Next: five notes with one leap of a fourth, between about Bb3 and F4.", // a fourth and a step each side around C#4
		p.Text(circle, sung, &sharp):                "Next, Sunnel for Ilvane: five notes with one leap of a fourth, between about A#3 and E#4.",
		strings.Join(p.Why(9), "/"):                 "As you asked: five notes with one leap of a fourth.",
		plan.PhraseText(plan.Turn{}, "Rain", minor): "Sing Rain in Ab minor, then play it.",
		plan.PhraseText(plan.Turn{}, "Rain", major): "Sing Rain in Eb, then play it.",
		plan.PhraseText(circle, "Rain", major):      "Sunnel sings Rain in Eb, Ilvane plays it.",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if why := p.Why(10); len(why) != 2 || !strings.HasPrefix(why[1], "An answer of this size would be known about ") || ladder.Aim != 0.85 {
		t.Errorf("%q", why)
	}
}
