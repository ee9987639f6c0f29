package command

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
	"larkhand/internal/plan"
	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// phrasePlanner leads the players through the keys of a kept phrase, each on an own way, and notes the tries of who plays. A try is noted when nobody can mark
// its round as misheard any more.
type phrasePlanner struct {
	book  phrasebook.Book
	name  string // of the phrase
	order phrase.Order
	start music.Key // that is set, of the phrase's scale
	notes bool      // tries are noted
	now   func() time.Time
	rng   *rand.Rand

	keys   map[string]*plan.Keys // by player
	last   map[string]int        // key of the last try, as a pitch class, by player
	open   *liveTry              // not noted yet; nil for none
	faults []error               // of noting tries, not told yet
}

// liveTry is a try whose verdict stands.
type liveTry struct {
	keptTry
	round    int
	class    int // key
	at       time.Time
	misheard bool
}

// counts is true for a try of a player that counts so far.
func (t *liveTry) counts(player string) bool { return t != nil && t.player == player && !t.misheard }

// Plan proposes the phrase in a key.
func (p *phrasePlanner) Plan(_ context.Context, next practice.Next) practice.Plan {
	player := next.Player.Name
	out := practice.Plan{Why: p.told()}
	key := p.start
	if next.Key != nil {
		key = *next.Key
	}
	e, err := p.book.Find(p.name)
	if err != nil {
		out.Why = append(out.Why, fmt.Sprintf("The record of the phrase cannot be read, so the key stays: %v.", err))
		out.Text = plan.PhraseText(turnOf(next), shown(p.name), key)
		return out
	}
	cards := p.cards(e, player)
	if !next.Fixed && p.order != plan.Stay {
		class, why := p.way(player).Next(plan.Tried{Start: classOf(p.start), Last: p.lastOf(player), Cards: cards, Now: p.now()})
		shift := (class - classOf(p.start) + octave) % octave
		key, out.Shift = round.TransposedKey(p.start, shift), &shift
		if why != "" {
			out.Why = append(out.Why, why)
		}
	}
	out.Text = plan.PhraseText(turnOf(next), shown(p.name), key)
	if p.order != phrase.Weak && p.order != plan.Due { // these have said so
		out.Why = append(out.Why, standingIn(phrase.Tonic(classOf(key)), cards))
	}
	return out
}

const octave = 12 // semitones

func classOf(key music.Key) int { return key.PitchClasses()[0] }

// standingIn says what became of a phrase in a key so far.
func standingIn(tonic string, cards map[string]phrase.Card) string {
	c := cards[tonic]
	if c.Tries == 0 {
		return tonic + " was never tried."
	}
	return fmt.Sprintf("%s was tried %s and is due on %s: %s.", tonic, times(c.Tries), dueDate(c), c.Reason())
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// way is a player's own way through the keys.
func (p *phrasePlanner) way(player string) *plan.Keys {
	if p.keys[player] == nil {
		p.keys[player] = plan.NewKeys(p.order, p.rng)
	}
	return p.keys[player]
}

// lastOf is the key of a player's last try, -1 before one.
func (p *phrasePlanner) lastOf(player string) int {
	if p.open.counts(player) {
		return p.open.class
	}
	if class, ok := p.last[player]; ok {
		return class
	}
	return -1
}

// cards are a player's, with the try that is not noted yet.
func (p *phrasePlanner) cards(e phrasebook.Entry, player string) map[string]phrase.Card {
	cards := map[string]phrase.Card{}
	for tonic, c := range e.Cards[player] {
		cards[tonic] = c
	}
	if p.open.counts(player) {
		cards[p.open.tonic] = cards[p.open.tonic].After(p.open.grade, p.open.at)
	}
	return cards
}

// told says what became of the try whose verdict stands, and what could not be noted.
func (p *phrasePlanner) told() (why []string) {
	for _, err := range p.faults {
		why = append(why, sentence(err.Error())+".")
	}
	p.faults = nil
	switch {
	case p.open == nil:
	case p.open.misheard:
		why = append(why, "The round that was misheard does not count as a try.")
	default:
		if e, err := p.book.Find(p.name); err == nil {
			c := p.cards(e, p.open.player)[p.open.tonic]
			why = append(why, dueSentence(p.name, p.open.tonic, p.open.player, c))
		}
	}
	return why
}

// Judged lays the round beside the phrase.
func (p *phrasePlanner) Judged(f *practice.Finished) {
	e, err := p.book.Find(p.name)
	if err != nil {
		p.faults = append(p.faults, err)
		return
	}
	player := nameOf(f.Setup, f.Facts.Player)
	try, err := tryOf(f.Judged, p.book, e, player)
	if err != nil {
		p.faults = append(p.faults, err)
		return
	}
	f.Phrase = e.Name
	p.open = &liveTry{*try, f.Facts.Round, classOf(f.Judged.Key), p.now(), f.Facts.Misheard}
}

// Marked heeds a mark on the round whose verdict stands.
func (p *phrasePlanner) Marked(number int, misheard bool) {
	if p.open != nil && p.open.round == number {
		p.open.misheard = misheard
	}
}

// Settled notes the try.
func (p *phrasePlanner) Settled() {
	t := p.open
	p.open = nil
	if t == nil || t.misheard {
		return
	}
	p.last[t.player] = t.class
	if !p.notes {
		return
	}
	if _, err := t.book.Try(t.name, t.player, t.tonic, t.grade, t.at); err != nil {
		p.faults = append(p.faults, fmt.Errorf("the try of %s in %s could not be noted: %w", shown(t.name), t.tonic, err))
	}
}

// fault is what could not be noted and was not told.
func (p *phrasePlanner) fault() error { return errors.Join(p.faults...) }

// phraseNames are the names of the kept phrases.
func phraseNames(book phrasebook.Book) (names []string) {
	all, _ := book.List() // those that can be read
	for _, e := range all {
		names = append(names, e.Name)
	}
	return names
}
