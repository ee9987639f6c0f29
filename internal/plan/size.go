package plan

import (
	"fmt"

	"larkhand/internal/ladder"
)

// window is how many rounds, at least, the size rests on. Own: what a player could do longer ago says little, and the drift that the ladder reckons with has
// outgrown its first guess by then.
const window = 5 * ladder.FitFrom

// Overrule is a size that the player asked for.
type Overrule struct {
	After int // tries that lie before it
	Rung  int // of ladder.Rungs
}

// Proposal is the size of the next phrase.
type Proposal struct {
	ladder.Proposal
	Name  string // how to make a phrase of it: "five notes with one leap of a fourth"
	Size  ladder.Size
	Asked bool // the player asked for it
}

// Size proposes the size of the next phrase after the tries of a player and what the player asked for in between, both oldest first.
func Size(tries []ladder.Try, asked []Overrule) Proposal {
	from := max(0, (len(tries)-window)/ladder.FitFrom*ladder.FitFrom)
	l := ladder.New(ladder.Standard)
	before, overruled := l.Rung(), false
	heed := func(done int) {
		for ; len(asked) > 0 && min(asked[0].After, len(tries)) <= done; asked = asked[1:] {
			if asked[0].After >= from {
				l.Overrule(asked[0].Rung)
				overruled = true
			}
		}
	}
	for i, t := range tries[from:] {
		heed(from + i)
		before, overruled = l.Rung(), false
		l.Add(t)
		if done := i + 1; done%ladder.FitFrom == 0 {
			l.Refit(tries[from : from+done])
		}
	}
	heed(len(tries))
	if overruled {
		before = l.Rung()
	}
	p := Proposal{Proposal: l.Propose(before), Asked: overruled}
	rung := ladder.Rungs[p.Rung]
	p.Name, p.Size = rung.Name, rung.Size
	if overruled {
		p.Direction, p.Reason = ladder.Stay, fmt.Sprintf("As you asked: %s.", rung.Name)
	}
	return p
}
