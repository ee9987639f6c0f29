package progress

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"larkhand/internal/stats"
)

// Direction is where the staircase goes.
type Direction string

// The directions.
const (
	Unknown Direction = "" // too few rounds
	Up      Direction = "up"
	Stay    Direction = "stay"
	Down    Direction = "down"
)

// Proposal is what to sing next. Sizes are 0, and Tempo NaN, where nothing is known of them.
type Proposal struct {
	Direction Direction
	Length    int      // notes of the phrase
	Leap      int      // largest interval, semitones
	Keys      []string // to sing in, the most wanted first
	Tempo     float64  // quarter notes a minute
	Held      Share    // of the rounds that the proposal rests on
	Reasons   []string // sentences
}

// The staircase; the package comment says where the numbers come from.
const (
	aim       = 0.85           // share of rounds that should hold
	downBelow = math.Sqrt2 / 2 // 0.5^(1/2)
	runUp     = 4              // rounds in a row that must hold before a step up
	sizeRange = 1              // notes by which a phrase may differ and still be of about the size
	usual     = 10             // rounds whose median is the size that is sung now. Own: the last minutes
	upTempo   = 1.05           // a step of tempo upward, and downward. Own: a step of a metronome
	downTempo = 0.9            //
	fewest    = 3              // notes of the shortest phrase that is proposed
	most      = 8              // notes of the longest
	restsFor  = 30             // rounds after which a key that was sung before is proposed again. Own
)

// leapsOf is the widest leap that goes with a phrase of 3 to 8 notes, semitones. Own: a third, a fourth, a fifth, a sixth, an
// octave; leaps are widened before phrases are lengthened.
var leapsOf = map[int]int{3: 2, 4: 4, 5: 5, 6: 7, 7: 9, 8: 12}

// propose says what to sing next; answers are in order of time.
func propose(answers []Round, list []Table) Proposal {
	p := Proposal{Tempo: math.NaN(), Held: shareOf(0, 0)}
	if len(answers) == 0 {
		p.Length, p.Leap = fewest, leapsOf[fewest]
		p.reason("There are no rounds yet: begin with %d notes that lie close together, in a key that you know.", fewest)
		return p
	}
	p.current(answers[max(0, len(answers)-usual):])
	if len(answers) < Least {
		p.reason("After %s of %d nothing can be said yet: go on with phrases of about %s.", counted(len(answers), "round"), Least, counted(p.Length, "note"))
		return p
	}
	like := p.lastLike(answers)
	p.Held = heldShare(like)
	switch {
	case len(like) < Least:
		p.Direction = Stay
		p.reason("Only %s of about %s can be told so far, so stay at this size until there are %d.", counted(len(like), "round"), counted(p.Length, "note"), Least)
	case p.Held.Value >= aim && heldLast(like):
		p.Direction = Up
		p.up()
	case p.Held.Value < downBelow:
		p.Direction = Down
		p.down(Named(list))
	default:
		p.Direction = Stay
		p.reason("%s held: near the %.0f %% that this aims at (a soft number), so stay at this size.", p.heldWords(), 100*aim)
	}
	p.keys(answers, list)
	return p
}

func (p *Proposal) reason(format string, args ...any) {
	p.Reasons = append(p.Reasons, fmt.Sprintf(format, args...))
}

// current sets the size, key and tempo that are sung now.
func (p *Proposal) current(last []Round) {
	var lengths, leaps, tempos []float64
	for i := range last {
		r := &last[i]
		lengths = append(lengths, float64(len(r.Notes)))
		leaps = append(leaps, float64(r.largestStep()))
		if !math.IsNaN(r.Tempo) {
			tempos = append(tempos, r.Tempo)
		}
	}
	p.Length, p.Leap = int(math.Round(stats.Median(lengths))), int(math.Round(stats.Median(leaps)))
	p.Tempo = math.Round(stats.Median(tempos))
	p.Keys = []string{last[len(last)-1].Key}
}

// lastLike are the last Least decided rounds of about the size that is sung now.
func (p *Proposal) lastLike(answers []Round) []Round {
	var like []Round
	for i := range slices.Backward(answers) {
		r := answers[i]
		if d := len(r.Notes) - p.Length; d >= 0 && d <= sizeRange && r.outcome() != open {
			like = append(like, r)
		}
		if len(like) == Least {
			break
		}
	}
	slices.Reverse(like)
	return like
}

func heldShare(rounds []Round) Share {
	hits := 0
	for i := range rounds {
		if rounds[i].outcome() == held {
			hits++
		}
	}
	return shareOf(hits, len(rounds))
}

func heldLast(rounds []Round) bool {
	return heldShare(rounds[len(rounds)-runUp:]).Hits == runUp
}

func (p *Proposal) heldWords() string {
	return fmt.Sprintf("Of the last %d rounds of about %s %d", p.Held.Trials, counted(p.Length, "note"), p.Held.Hits)
}

// up makes one thing harder: the leap, the length, or the tempo.
func (p *Proposal) up() {
	before := p.heldWords()
	wide := leapsOf[min(max(p.Length, fewest), most)]
	switch {
	case p.Leap < wide:
		p.Leap = wide
		p.reason("%s held, the last %d in a row: keep the length and let one leap be as wide as %s.", before, runUp, semitones(wide))
	case p.Length < most:
		p.Length++
		p.reason("%s held, the last %d in a row: sing one note more, %d.", before, runUp, p.Length)
	case !math.IsNaN(p.Tempo):
		p.Tempo = math.Round(p.Tempo * upTempo)
		p.reason("%s held, the last %d in a row: keep the phrase and take the loop a little faster, at %.0f.", before, runUp, p.Tempo)
	default:
		p.reason("%s held, the last %d in a row: keep the size and change the key.", before, runUp)
	}
}

// down makes one thing easier: the leap where wide ones are the trouble, else the length, else the tempo.
func (p *Proposal) down(named []Trouble) {
	before := p.heldWords()
	narrow := narrower(p.Leap, named)
	switch {
	case narrow < p.Leap:
		p.Leap = narrow
		p.reason("%s held, fewer than %.0f %%, and wide intervals are where the trouble is: keep the length and leap no further than %s.",
			before, 100*downBelow, semitones(narrow))
	case p.Length > fewest:
		p.Length--
		p.reason("%s held, fewer than %.0f %%: sing one note less, %d.", before, 100*downBelow, p.Length)
	case !math.IsNaN(p.Tempo):
		p.Tempo = math.Round(p.Tempo * downTempo)
		p.reason("%s held, fewer than %.0f %%: keep the phrase and take the loop slower, at %.0f.", before, 100*downBelow, p.Tempo)
	default:
		p.reason("%s held, fewer than %.0f %%: keep to %s that lie close together.", before, 100*downBelow, counted(p.Length, "note"))
	}
}

// narrower is the widest leap below the narrowest interval, wider than a step, that is named as a trouble; leap itself where
// there is none.
func narrower(leap int, named []Trouble) int {
	for i, interval := range intervalNames[1:] {
		below := intervalNames[i].upTo
		for _, t := range named {
			if t.Dimension == ByInterval && strings.HasPrefix(t.Name, interval.name+" ") {
				return min(leap, below)
			}
		}
	}
	return leap
}

// keys adds the key in which the trouble is, and a key that has rested.
func (p *Proposal) keys(answers []Round, list []Table) {
	for _, t := range Named(list) {
		if t.Dimension == ByKey {
			p.wantKey(t.Name)
			p.reason("%s is where most goes wrong (%s): sing every second or third round in it, between the others.", t.Name, shareWords(t.Rounds))
			break
		}
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
