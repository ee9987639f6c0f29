package command

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
	"larkhand/internal/plan"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// liveRound is a round of written takes, played by the circle's player on steps of the key's scale, counted from 0; wrong plays the last note a semitone too high.
func liveRound(t *testing.T, number, player int, setup round.Setup, key music.Key, wrong bool, steps ...int) *practice.Finished {
	t.Helper()
	var sung []midiin.Note
	for i, s := range steps {
		classes := key.PitchClasses()
		pitch := 60 + classes[0] + (classes[s]-classes[0]+12)%12
		at := float64(i) * 0.5
		sung = append(sung, midiin.Note{Onset: at, Offset: at + 0.45, Key: pitch, Pitch: float64(pitch), Velocity: 80})
	}
	played := slices.Clone(sung)
	if wrong {
		played[len(played)-1].Key++
		played[len(played)-1].Pitch++
	}
	take := round.WrittenTake("", sung)
	judged, err := round.Judge([]round.Take{take, take}, round.Answer{Notes: played}, round.Options{Key: &key})
	if err != nil {
		t.Fatal(err)
	}
	singer := 0
	if n := len(setup.Players); n > 0 {
		singer = (player + n - 1) % n
	}
	return &practice.Finished{
		Facts: round.Facts{Round: number, Singer: singer, Player: player, Key: &key, Takes: []round.Span{{From: 10 * float64(number), To: 10*float64(number) + 5}}},
		Setup: setup, Judged: &judged, Began: time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC),
	}
}

func keyOf(t *testing.T, name string) music.Key {
	t.Helper()
	key, err := music.ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// phraseOf is a planner of the phrase Rain, 1 2 3 5 of a minor scale.
func phraseOf(t *testing.T, order phrase.Order) (*phrasePlanner, phrasebook.Book) {
	t.Helper()
	p, err := phrase.Read("1 2 3 5", "minor", music.ScaleNumbers)
	if err != nil {
		t.Fatal(err)
	}
	p.Name = "Rain"
	book := phrasebook.Open(filepath.Join(t.TempDir(), "phrases"))
	if _, err := book.Keep(p, time.Now()); err != nil {
		t.Fatal(err)
	}
	return &phrasePlanner{
		book: book, name: "Rain", order: order, start: keyOf(t, "C minor"), notes: true, rng: rand.New(rand.NewPCG(1, 1)),
		now:  func() time.Time { return time.Date(2026, 3, 2, 18, 0, 0, 0, time.Local) },
		keys: map[string]*plan.Keys{}, last: map[string]int{},
	}, book
}

func cardsOf(t *testing.T, book phrasebook.Book, player string) map[string]phrase.Card {
	t.Helper()
	e, err := book.Find("Rain")
	if err != nil {
		t.Fatal(err)
	}
	return e.Cards[player]
}

var rain = []int{0, 1, 2, 4}

// TestPhrasePlanner: a phrase goes through keys; each try is noted with its grade when the next round records, and its date is told with the reason.
func TestPhrasePlanner(t *testing.T) {
	p, book := phraseOf(t, phrase.Fourths)
	c, f := keyOf(t, "C minor"), keyOf(t, "F minor")
	got := p.Plan(t.Context(), practice.Next{Key: &c})
	if got.Text != "Sing Rain in C minor, then play it." || got.Shift == nil || *got.Shift != 0 || !slices.Equal(got.Why, []string{"C was never tried."}) {
		t.Errorf("first plan %+v", got)
	}
	one := liveRound(t, 1, 0, round.Setup{}, c, false, rain...)
	p.Judged(one)
	if one.Phrase != "Rain" || !slices.Contains(one.Judged.Remarks, "The answer is Rain as it is kept.") {
		t.Errorf("phrase %q, remarks %q", one.Phrase, one.Judged.Remarks)
	}
	got = p.Plan(t.Context(), practice.Next{Key: &c})
	why := []string{"Rain in C: due on 2026-03-03 (recalled once, so it comes back after a day).", "F is a fourth above C.", "F was never tried."}
	if got.Text != "Sing Rain in F minor, then play it." || got.Shift == nil || *got.Shift != 5 || !slices.Equal(got.Why, why) {
		t.Errorf("second plan %+v", got)
	}
	if cards := cardsOf(t, book, ""); len(cards) != 0 {
		t.Errorf("noted while it can be marked: %+v", cards)
	}
	p.Settled()
	two := liveRound(t, 2, 0, round.Setup{}, f, true, rain...)
	p.Judged(two)
	if !slices.Contains(two.Judged.Remarks, "The answer differs from Rain as it is kept in 1 note.") {
		t.Errorf("remarks %q", two.Judged.Remarks)
	}
	p.Settled()
	cards := cardsOf(t, book, "")
	if len(cards) != 2 || cards["C"].Repetitions != 1 || cards["F"].Repetitions != 0 || cards["F"].Tries != 1 {
		t.Errorf("cards %+v", cards)
	}
	if fixed := p.Plan(t.Context(), practice.Next{Key: &c, Fixed: true}); fixed.Shift != nil || fixed.Text != "Sing Rain in C minor, then play it." {
		t.Errorf("with a fixed key %+v", fixed)
	}
	if err := p.fault(); err != nil {
		t.Error(err)
	}
}

// TestMisheardRoundIsNoTry: marked at the verdict it is not noted, and its key comes again; the mark taken back, it counts.
func TestMisheardRoundIsNoTry(t *testing.T) {
	c := keyOf(t, "C minor")
	for _, marks := range [][]bool{{true}, {true, false}} {
		p, book := phraseOf(t, phrase.Fourths)
		p.Judged(liveRound(t, 1, 0, round.Setup{}, c, false, rain...))
		for _, m := range marks {
			p.Marked(1, m)
		}
		misheard := marks[len(marks)-1]
		next := p.Plan(t.Context(), practice.Next{Key: &c})
		again := next.Shift != nil && *next.Shift == 0 && next.Why[0] == "The round that was misheard does not count as a try."
		p.Settled()
		if noted := len(cardsOf(t, book, "")) > 0; again != misheard || noted == misheard {
			t.Errorf("marks %v: next %+v, noted %v", marks, next, noted)
		}
	}
	p, book := phraseOf(t, phrase.Weak)
	r := liveRound(t, 1, 0, round.Setup{}, c, false, rain...)
	r.Facts.Misheard = true // marked before the verdict
	p.Judged(r)
	p.Settled()
	if len(cardsOf(t, book, "")) != 0 {
		t.Error("a round that was marked before its verdict is noted")
	}
}

// TestPhraseOfACircle: each player has a card and a way of their own.
func TestPhraseOfACircle(t *testing.T) {
	p, book := phraseOf(t, phrase.Fourths)
	setup := round.Setup{Players: []round.Person{{Name: "Sunnel"}, {Name: "Ilvane"}}}
	sunnel, ilvane := setup.Players[0], setup.Players[1]
	c := keyOf(t, "C minor")
	p.Judged(liveRound(t, 1, 1, setup, c, true, rain...)) // Ilvane plays
	next := p.Plan(t.Context(), practice.Next{Singer: ilvane, Player: sunnel, Key: &c})
	if next.Text != "Ilvane sings Rain in C minor, Sunnel plays it." || next.Why[0] != "Rain in C: due on 2026-03-03 for Ilvane (it failed last time, so it comes back after a day)." {
		t.Errorf("for Sunnel %+v", next)
	}
	p.Settled()
	if next = p.Plan(t.Context(), practice.Next{Singer: sunnel, Player: ilvane, Key: &c}); *next.Shift != 5 {
		t.Errorf("for Ilvane %+v", next)
	}
	p.Judged(liveRound(t, 2, 0, setup, c, false, rain...))
	p.Settled()
	if s, i := cardsOf(t, book, "Sunnel")["C"], cardsOf(t, book, "Ilvane")["C"]; s.Repetitions != 1 || i.Repetitions != 0 || i.Tries != 1 {
		t.Errorf("Sunnel %+v, Ilvane %+v", s, i)
	}
}

// TestGradeOfHelp: an answer in pieces, or after the take was heard again, was not simply known.
func TestGradeOfHelp(t *testing.T) {
	for _, c := range []struct {
		change func(*round.Round)
		want   phrase.Grade
	}{
		{func(*round.Round) {}, phrase.Knew},
		{func(r *round.Round) { r.Pieces = []float64{2} }, phrase.Searched},
		{func(r *round.Round) { r.Helped.Take2 = 1 }, phrase.Searched},
		{func(r *round.Round) { r.Helped.Key = 1 }, phrase.Knew},
	} {
		p, _ := phraseOf(t, plan.Stay)
		f := liveRound(t, 1, 0, round.Setup{}, keyOf(t, "C minor"), false, rain...)
		c.change(f.Judged)
		p.Judged(f)
		if p.open.grade != c.want {
			t.Errorf("grade %d, want %d", p.open.grade, c.want)
		}
	}
}

// TestPhraseThatIsGone: whoever removes a phrase while it is practised is told so, and practice goes on.
func TestPhraseThatIsGone(t *testing.T) {
	p, book := phraseOf(t, phrase.Fourths)
	c := keyOf(t, "C minor")
	p.Judged(liveRound(t, 1, 0, round.Setup{}, c, false, rain...))
	if err := book.Remove("Rain"); err != nil {
		t.Fatal(err)
	}
	p.Settled()
	next := p.Plan(t.Context(), practice.Next{Key: &c})
	if next.Shift != nil || next.Text != "Sing Rain in C minor, then play it." || !strings.HasPrefix(next.Why[0], "The try of Rain in C could not be noted: no such phrase") {
		t.Errorf("%+v", next)
	}
}

// TestSizePlannerWithoutJournal: the size follows the rounds of the session, what the player asks for is heeded, and a round that was misheard has no say.
func TestSizePlannerWithoutJournal(t *testing.T) {
	p := &sizePlanner{asked: map[string][]plan.Overrule{}}
	c := keyOf(t, "C minor")
	setup := round.Setup{Players: []round.Person{{Name: "Sunnel"}, {Name: "Ilvane"}}}
	sunnel, ilvane := setup.Players[0], setup.Players[1]
	expect := func(what string, next practice.Next, text, why string) {
		t.Helper()
		got := p.Plan(t.Context(), next)
		if got.Text != text || got.Shift != nil || len(got.Why) == 0 || !strings.HasPrefix(got.Why[0], why) {
			t.Errorf("%s: %q, %q; want %q, %q", what, got.Text, got.Why, text, why)
		}
	}
	forIlvane := practice.Next{Singer: sunnel, Player: ilvane}
	expect("first", forIlvane, "Next, Sunnel for Ilvane: one note.", "Begin small")
	p.Judged(liveRound(t, 1, 1, setup, c, false, 0))
	expect("the other", practice.Next{Singer: ilvane, Player: sunnel}, "Next, Ilvane for Sunnel: one note.", "Begin small")
	expect("known", forIlvane, "Next, Sunnel for Ilvane: two neighbours of the scale.", "That size holds")
	p.Marked(1, true)
	expect("misheard", forIlvane, "Next, Sunnel for Ilvane: one note.", "Begin small")
	p.Marked(1, false)
	forIlvane.Rungs = 3
	expect("larger", forIlvane, "Next, Sunnel for Ilvane: four notes with one skip of a third.", "As you asked")
	forIlvane.Rungs = 2
	expect("a little less", forIlvane, "Next, Sunnel for Ilvane: four notes of the scale, up and back or down and back.", "As you asked")
	p.Judged(liveRound(t, 2, 1, setup, c, false, 0, 1, 2, 1))
	forIlvane.Rungs = 0
	expect("it went well", forIlvane, "Next, Sunnel for Ilvane: four notes of the scale, up and back or down and back.", "The same size again")
	for n := range 3 {
		p.Judged(liveRound(t, 3+n, 1, setup, c, true, 0, 1, 2, 1))
	}
	// 17 notes of Sunnel are a range: C4, D4 and Eb4, half of them D4.
	expect("and then not", forIlvane, "Next, Sunnel for Ilvane: one note, between about C4 and E4.", "Not often enough")
}
