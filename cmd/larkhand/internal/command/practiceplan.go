package command

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"larkhand/internal/journal"
	"larkhand/internal/phrase"
	"larkhand/internal/plan"
	"larkhand/internal/practice"
	over "larkhand/internal/progress"
	"larkhand/internal/round"
	"larkhand/internal/screen"
)

// sessionPlanner is a Planner that tells, at the session's end, what went wrong.
type sessionPlanner interface {
	practice.Planner
	fault() error
}

// planner makes the planner of a session; a kept phrase gives the key its scale.
func (p *practising) planner(s screen.Settings, setup *round.Setup, k *roundsPlace) (sessionPlanner, error) {
	if !s.HasPhrase() {
		return &sizePlanner{j: k.j, asked: map[string][]plan.Overrule{}}, nil
	}
	book := p.journal.book()
	e, err := book.Find(s.Phrase)
	if err != nil {
		return nil, err
	}
	key, err := e.Key(setup.Key.Tonic())
	if err != nil {
		return nil, err
	}
	setup.Key = &key
	return &phrasePlanner{
		book: book, name: e.Name, order: phrase.Order(s.PhraseKeys), start: key, notes: k.j != nil || k.kept, now: time.Now,
		rng: rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 0)), keys: map[string]*plan.Keys{}, last: map[string]int{},
	}, nil
}

// turnOf names who sings and who plays in a circle.
func turnOf(next practice.Next) plan.Turn {
	if next.Singer == next.Player {
		return plan.Turn{}
	}
	return plan.Turn{Singer: shown(next.Singer.Name), Player: shown(next.Player.Name)}
}

// sizePlanner proposes the size of the next phrase: to each player by the answers so far, and in the range of who sings it.
type sizePlanner struct {
	j     *journal.Journal           // nil: there are only the rounds of this session
	own   []sessionRound             // of this session, where there is no journal
	asked map[string][]plan.Overrule // what players asked for and then practised
	wish  *wish                      // what was asked for the next round; nil for nothing
}

// sessionRound is a round that is kept in no journal.
type sessionRound struct {
	number         int
	singer, player string
	misheard       bool
	row            over.Round
}

// wish is a size that a player asked for.
type wish struct {
	player string
	size   plan.Overrule
}

// rounds are those of a player, oldest first.
func (p *sizePlanner) rounds(ctx context.Context, player string) ([]over.Round, error) {
	if p.j != nil {
		return p.j.Progress(ctx, player, time.Time{}, time.Time{})
	}
	var out []over.Round
	for _, r := range p.own {
		row := r.row
		row.Sang, row.Played = r.singer == player, r.player == player
		if !r.misheard && (row.Sang || row.Played) {
			out = append(out, row)
		}
	}
	return out, nil
}

// Plan proposes a size.
func (p *sizePlanner) Plan(ctx context.Context, next practice.Next) practice.Plan {
	player := next.Player.Name
	rounds, err := p.rounds(ctx, player)
	sang := rounds
	if err == nil && next.Singer != next.Player {
		sang, err = p.rounds(ctx, next.Singer.Name)
	}
	if err != nil {
		return practice.Plan{Why: []string{fmt.Sprintf("No size is proposed, since the rounds so far cannot be read: %v.", err)}}
	}
	tries := over.Tries(rounds)
	size := plan.Size(tries, p.asked[player])
	p.wish = nil
	if next.Rungs != 0 {
		p.wish = &wish{player, plan.Overrule{After: len(tries), Rung: size.Rung + next.Rungs}}
		size = plan.Size(tries, append(slices.Clone(p.asked[player]), p.wish.size))
	}
	return practice.Plan{Text: size.Text(turnOf(next), over.Sung(sang), next.Key), Why: size.Why(len(tries))}
}

// Judged keeps what the player asked for, now that it was practised, and the round where no journal does.
func (p *sizePlanner) Judged(f *practice.Finished) {
	singer, player := nameOf(f.Setup, f.Facts.Singer), nameOf(f.Setup, f.Facts.Player)
	if p.wish != nil && p.wish.player == player {
		p.asked[player] = append(p.asked[player], p.wish.size)
	}
	p.wish = nil
	if p.j == nil {
		p.own = append(p.own, sessionRound{f.Facts.Round, singer, player, f.Facts.Misheard, over.Row(*f.Judged, beganAt(*f), true, true)})
	}
}

// Marked leaves a round out, or takes it in again; the journal does so by itself.
func (p *sizePlanner) Marked(number int, misheard bool) {
	for i := range p.own {
		if p.own[i].number == number {
			p.own[i].misheard = misheard
		}
	}
}

// Settled has nothing to do.
func (p *sizePlanner) Settled() {}

func (p *sizePlanner) fault() error { return nil }
