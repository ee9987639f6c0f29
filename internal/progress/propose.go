package progress

import (
	"fmt"
	"math"
	"slices"

	"larkhand/internal/ladder"
	"larkhand/internal/plan"
	"larkhand/internal/stats"
)

// Direction is where the size of the next phrase lies from the one before.
type Direction string

// The directions.
const (
	Unknown Direction = "" // no round says anything of the size
	Up      Direction = "up"
	Stay    Direction = "stay"
	Down    Direction = "down"
)

// Proposal is what to sing next. Tempo is NaN where nothing is known of it.
type Proposal struct {
	Direction Direction
	Rung      int      // of ladder.Rungs
	Name      string   // of the rung: how to make a phrase of it
	Chance    float64  // that the answer to a phrase of this size will be known, 0 to 1
	Length    int      // notes of the phrase
	Leap      int      // largest interval, semitones; 0 for a single note
	Keys      []string // to sing in, the most wanted first
	Tempo     float64  // quarter notes a minute
	Held      Share    // of the last rounds that say something of the size, Least at most, those that held
	Reasons   []string // sentences
}

const (
	usual     = 10   // rounds whose median is the tempo that is played now. Own: the last minutes
	upTempo   = 1.05 // a step of tempo upward, and downward, where the ladder ends. Own: a step of a metronome
	downTempo = 0.9  //
	restsFor  = 30   // rounds after which a key that was sung before is proposed again. Own
)

// propose says what to sing next: the size by the ladder, the tempo and the keys by what is played now, what goes wrong, and what has
// rested. answers are in order of time.
func propose(answers []Round, list []Table, links []Link) Proposal {
	tries := Tries(answers)
	next := plan.Size(tries, nil)
	p := Proposal{
		Direction: Direction(next.Direction), Rung: next.Rung, Name: next.Name, Chance: next.Chance, Length: next.Size.Notes, Leap: next.Size.Leap,
		Tempo: math.NaN(), Held: heldShare(tries[max(0, len(tries)-Least):]),
	}
	if next.Direction == ladder.First {
		p.Direction = Unknown
	}
	p.reason("%s", next.Reason)
	if len(answers) > 0 {
		p.tempo(answers[max(0, len(answers)-usual):])
		p.keys(answers, list, links)
	}
	return p
}

func (p *Proposal) reason(format string, args ...any) {
	p.Reasons = append(p.Reasons, fmt.Sprintf(format, args...))
}

func heldShare(tries []ladder.Try) Share {
	hits := 0
	for _, t := range tries {
		if t.Known {
			hits++
		}
	}
	return shareOf(hits, len(tries))
}

// tempo is that of the last answers; where the ladder ends it goes on with it.
func (p *Proposal) tempo(last []Round) {
	var tempos []float64
	for i := range last {
		if t := last[i].Tempo; !math.IsNaN(t) {
			tempos = append(tempos, t)
		}
	}
	p.Tempo = math.Round(stats.Median(tempos))
	switch {
	case math.IsNaN(p.Tempo) || p.Direction != Stay || p.Held.Trials < Least:
	case p.Rung == len(ladder.Rungs)-1 && p.Chance >= ladder.Aim:
		p.Tempo = math.Round(p.Tempo * upTempo)
		p.reason("There is no larger size: take the loop a little faster, at %.0f.", p.Tempo)
	case p.Rung == 0 && p.Chance < masteredFrom:
		p.Tempo = math.Round(p.Tempo * downTempo)
		p.reason("There is no smaller size: take the loop slower, at %.0f.", p.Tempo)
	}
}

// keys adds to the key that is sung now the one in which the trouble is, or else the one in which a link fails, and one that has rested.
func (p *Proposal) keys(answers []Round, list []Table, links []Link) {
	p.Keys = []string{answers[len(answers)-1].Key}
	weak := slices.IndexFunc(Named(list), func(t Trouble) bool { return t.Dimension == ByKey })
	faults := NamedFaults(links)
	fault := slices.IndexFunc(faults, func(f Fault) bool { return f.Dimension == ByKey })
	switch {
	case weak >= 0:
		t := Named(list)[weak]
		p.wantKey(t.Name)
		p.reason("%s is where most goes wrong (%s): sing every second or third round in it, between the others.", t.Name, shareWords(t.Rounds))
	case fault >= 0:
		f := faults[fault]
		p.wantKey(f.Name)
		p.reason("%s is where %s fails most: sing every second or third round in it, and write the steps down.", f.Name, f.Link)
	}
	last := map[string]int{}
	for i, r := range answers {
		last[r.Key] = i
	}
	rested, oldest := "", len(answers)-restsFor
	for key, at := range last {
		if at < oldest || at == oldest && rested != "" && key < rested {
			rested, oldest = key, at
		}
	}
	if rested != "" && !slices.Contains(p.Keys, rested) {
		p.Keys = append(p.Keys, rested)
		p.reason("%s has rested for %d rounds: take it up again.", rested, len(answers)-1-oldest)
	}
}

// wantKey puts a key first.
func (p *Proposal) wantKey(key string) {
	p.Keys = append([]string{key}, slices.DeleteFunc(p.Keys, func(k string) bool { return k == key })...)
}
