package class

import (
	"cmp"
	"math"
	"slices"
	"time"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/round"
	"larkhand/internal/stats"
	"larkhand/match"
)

// Round is one judged round as far as the table needs it.
type Round struct {
	Bundle string // where it came from, as the teacher names it
	UID    string // its name there
	Row    progress.Round
	Marks  []Mark
}

// Mark is a piece of evidence for searching.
type Mark struct {
	Kind   hunt.Kind
	Note   int     // of the phrase, from 0, to which it leads; match.None where it names none
	Weight float64 // its share of the log-odds
}

// RoundOf makes the row of a judged round, for somebody who sang or played in it.
func RoundOf(bundle, uid string, at time.Time, r round.Round, sang, played bool) Round {
	out := Round{Bundle: bundle, UID: uid, Row: progress.Row(r, at, sang, played)}
	for _, e := range r.Finding.Evidence {
		out.Marks = append(out.Marks, Mark{e.Kind, progress.Target(e), e.Weight})
	}
	return out
}

// Player is one player with all rounds in which he or she sang or played, in any order.
type Player struct {
	Label  string
	Rounds []Round
}

// Table is what a class shows.
type Table struct {
	From, To time.Time // begin of the first and of the last round; zero where there is none
	Rounds   int       // of all players, one that two players share counted for each
	Players  []Line    // those with enough answers first, the lowest share of known answers first; the others by name
}

// Line is one player.
type Line struct {
	Label    string
	From, To time.Time
	Sessions int
	Rounds   int // in which the player sang or played
	Answers  int // in which the player played
	Enough   bool
	Known    progress.Share // of the answers that were known or searched for, those that were known
	Unsure   int            // answers that cannot be told
	Pieces   int            // answers in pieces
	Habits   []Habit        // those that can be claimed, the surest first; none below progress.Least answers
	Response stats.Spread   // s
	Settling Settling
	Trends   []progress.Trend // those that can be claimed
	Steps    int              // rounds in which the player wrote down numbers or letters
	Weak     []WeakLink       // links between voice and fingers that fail more than the others, or somewhere, the one that fails most first
	Listen   []Listen         // the most wanted first
	links    []string         // sentences
}

// Of makes the table.
func Of(players []Player) Table {
	var t Table
	for _, p := range players {
		if len(p.Rounds) == 0 {
			continue
		}
		line := lineOf(p)
		t.Players = append(t.Players, line)
		t.Rounds += line.Rounds
		if t.From.IsZero() || line.From.Before(t.From) {
			t.From = line.From
		}
		if line.To.After(t.To) {
			t.To = line.To
		}
	}
	slices.SortStableFunc(t.Players, func(a, b Line) int {
		switch {
		case a.Enough != b.Enough:
			if a.Enough {
				return -1
			}
			return 1
		case !a.Enough:
			return cmp.Compare(a.Label, b.Label)
		}
		return cmp.Or(cmp.Compare(a.Known.Value, b.Known.Value), cmp.Compare(a.Label, b.Label))
	})
	return t
}

func lineOf(p Player) Line {
	rounds := slices.Clone(p.Rounds)
	slices.SortStableFunc(rounds, func(a, b Round) int { return a.Row.At.Compare(b.Row.At) })
	rows := make([]progress.Round, len(rounds))
	for i, r := range rounds {
		rows[i] = r.Row
	}
	over := progress.Of(rows)
	line := Line{
		Label: p.Label, From: over.From, To: over.To, Sessions: over.Sessions, Rounds: over.Rounds, Answers: over.Answers,
		Enough: over.Enough, Known: over.Known, Unsure: over.Unsure, Pieces: over.Pieces, Response: over.Response, Settling: settlingOf(rows),
		Steps: over.Steps, Weak: weakLinks(over), links: over.LinkSentences(),
	}
	for _, t := range over.Trends {
		if t.Claimed {
			line.Trends = append(line.Trends, t)
		}
	}
	answers := slices.DeleteFunc(slices.Clone(rounds), func(r Round) bool { return !r.Row.Played })
	if line.Enough {
		line.Habits = habitsOf(answers)
	}
	line.Listen = listenTo(rounds, answers, line)
	return line
}

// Settles says what second takes do.
type Settles string

// What second takes do. The zero value says that there are too few.
const (
	TooFew   Settles = ""
	Steadier Settles = "settles"
	NotTold  Settles = "no difference shown"
	Looser   Settles = "loosens"
)

// Settling compares take 2 with take 1 in the rounds in which both were sung and are one phrase.
type Settling struct {
	Takes    int             // rounds that are compared
	Spread   [2]stats.Spread // cents, of take 1 and take 2: medians over the notes of each take
	Centre   [2]stats.Spread // cents, distance from the tempered pitch
	Steadier progress.Share  // of the rounds in which the two spreads differ, those with the smaller one in take 2
	Other    progress.Share  // of the rounds with two takes, those in which take 2 is another phrase
	State    Settles
}

func settlingOf(rows []progress.Round) Settling {
	var s Settling
	var spread, centre [2][]float64
	var steadier, differ, other, two int
	for _, r := range rows {
		if !r.Sang || r.Agreement == progress.OneTake {
			continue
		}
		two++
		if r.Agreement == progress.OtherPhrase {
			other++
			continue
		}
		a, b := r.Takes[0], r.Takes[1]
		if math.IsNaN(a.SpreadCents) || math.IsNaN(b.SpreadCents) {
			continue
		}
		s.Takes++
		for i, take := range r.Takes {
			spread[i] = append(spread[i], take.SpreadCents)
			centre[i] = append(centre[i], take.CentreCents)
		}
		if a.SpreadCents != b.SpreadCents {
			differ++
		}
		if b.SpreadCents < a.SpreadCents {
			steadier++
		}
	}
	for i := range spread {
		s.Spread[i], s.Centre[i] = stats.Quartiles(spread[i]), stats.Quartiles(centre[i])
	}
	s.Steadier, s.Other = shareOf(steadier, differ), shareOf(other, two)
	const even = 0.5 // where take 2 is as often steadier as not
	switch {
	case s.Takes < progress.Least:
	case s.Steadier.Low > even:
		s.State = Steadier
	case s.Steadier.High < even:
		s.State = Looser
	default:
		s.State = NotTold
	}
	return s
}

func shareOf(hits, trials int) progress.Share {
	s := progress.Share{Hits: hits, Trials: trials, Value: math.NaN()}
	if trials > 0 {
		s.Value = float64(hits) / float64(trials)
	}
	s.Low, s.High = stats.Wilson(hits, trials)
	return s
}

// hasSay reports whether a note has a say, as in package progress.
func hasSay(n progress.Note) bool { return n.Verdict != match.Unclear }
