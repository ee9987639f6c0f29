package progress

import (
	"cmp"
	"slices"

	"larkhand/internal/stats"
	"larkhand/internal/steps"
)

// LinkName names a link between voice and fingers as it is counted over many rounds.
type LinkName string

// The links. Where a step was left out two of them are one that is counted by itself, since nobody can say which of the two failed.
const (
	FromVoice        LinkName = "voice"
	EarToNumbers     LinkName = "ear to numbers"
	EarToLetters     LinkName = "ear to letters" // no numbers were written
	NumbersToLetters LinkName = "numbers to letters"
	NumbersToFingers LinkName = "numbers to fingers" // no letters were written
	LettersToFingers LinkName = "letters to fingers"
)

// LinkNames are all of them, in order.
var LinkNames = [...]LinkName{FromVoice, EarToNumbers, EarToLetters, NumbersToLetters, NumbersToFingers, LettersToFingers}

// Over is the link's name as it is counted over many rounds.
func (l *LinkResult) Over() LinkName {
	switch {
	case l.Joined && l.Name == steps.Ear:
		return EarToLetters
	case l.Joined && l.Name == steps.Fingers:
		return NumbersToFingers
	}
	return LinkName(l.Name)
}

// index is the link's place in LinkNames, -1 for an unknown one.
func (l *LinkResult) index() int { return slices.Index(LinkNames[:], l.Over()) }

// Link is what became of one link over many rounds.
type Link struct {
	Name   LinkName
	Failed Share   // of the rounds in which it was compared, those in which it failed
	Others Share   // the same of all other links together
	Named  bool    // it fails more than the others, and chance does not explain it
	Tables []Table // where it failed, by degree, by interval into the note, by key: Rounds and Others of the cells count rounds, the rest is 0
	least  float64 // lower end of the interval of the difference to the others
}

// Fault is a link at a degree, at an interval or in a key where it fails more than elsewhere.
type Fault struct {
	Link      LinkName
	Dimension Dimension
	Cell
}

// Holds reports whether note at of a round lies where the link fails.
func (f Fault) Holds(r Round, at int) bool {
	n := &r.Notes[at]
	switch f.Dimension {
	case ByDegree:
		return n.Degree == f.Name
	case ByKey:
		return r.Key == f.Name
	}
	if n.Step == NoStep {
		return false
	}
	name, _ := intervalOf(n.Step)
	return name == f.Name
}

// leastOfCell is how many rounds a degree, interval or key must have, and all others of the link together, to be looked at. It is fewer than
// Least, since steps are written down more rarely than answers are played and keys are many; the exact test answers for small numbers. Own.
const leastOfCell = 8

// chanceOfFault is the chance that anything is named in the links of a player who has no trouble anywhere.
const chanceOfFault = 0.05

// counted reports whether a link of the round is the player's own: the singer's is the voice, the rest is of who played.
func (r *Round) counted(l *LinkResult) bool {
	if l.Name == steps.Voice {
		return r.Sang && l.Compared > 0
	}
	return r.Played && l.Compared > 0
}

// links counts the links, and names where one fails. rounds are in order of time.
func links(rounds []Round) []Link {
	var at [len(LinkNames)]linkTally
	for i := range rounds {
		for k := range rounds[i].Links {
			if l := &rounds[i].Links[k]; rounds[i].counted(l) && l.index() >= 0 {
				at[l.index()].add(i+1, &rounds[i], l)
			}
		}
	}
	list := []Link{}
	var failed, all int
	for i := range at {
		failed += at[i].failed
		all += at[i].rounds
	}
	for i := range at {
		if t := &at[i]; t.rounds > 0 {
			list = append(list, Link{Name: LinkNames[i], Failed: shareOf(t.failed, t.rounds), Others: shareOf(failed-t.failed, all-t.rounds), Tables: t.tables()})
		}
	}
	nameLinks(list)
	nameFaults(list)
	return list
}

// linkTally counts one link.
type linkTally struct {
	rounds, failed           int
	degrees, intervals, keys tallies
}

// add counts a round; rounds count from 1. Where a link failed as a whole, degrees and intervals have no part in it.
func (t *linkTally) add(round int, r *Round, l *LinkResult) {
	t.rounds++
	if l.Failed {
		t.failed++
	}
	nothing := &Note{} // no evidence is counted here
	t.keys.at(r.Key, 0).add(round, nothing, l.Failed)
	if l.Failed && len(l.Notes) == 0 {
		return
	}
	for at := range r.Notes {
		n := &r.Notes[at]
		if !n.counts() {
			continue
		}
		here := slices.Contains(l.Notes, at)
		t.degrees.at(n.Degree, degreeOrder(n.Degree)).add(round, nothing, here)
		if n.Step != NoStep {
			t.intervals.at(intervalOf(n.Step)).add(round, nothing, here)
		}
	}
}

// tables turns counts into shares.
func (t *linkTally) tables() []Table {
	list := []Table{{ByDegree, t.degrees.cells()}, {ByInterval, t.intervals.cells()}, {ByKey, t.keys.cells()}}
	for _, table := range list {
		for i, c := range table.Cells {
			table.Cells[i] = Cell{Name: c.Name, Rounds: c.Rounds, Others: c.Others}
		}
	}
	return list
}

// nameLinks marks the links that fail more than the others, by the rule for other trouble.
func nameLinks(list []Link) {
	comparisons := 0
	for _, l := range list {
		if l.enough() {
			comparisons++
		}
	}
	z := stats.BonferroniZ(comparisons)
	for i := range list {
		l := &list[i]
		l.least, _ = stats.ShareDifference(z, l.Failed.Hits, l.Failed.Trials, l.Others.Hits, l.Others.Trials)
		l.Named = l.enough() && l.least > 0 && l.Failed.Value-l.Others.Value >= leastDifference
	}
}

func (l *Link) enough() bool { return l.Failed.Trials >= Least && l.Others.Trials >= Least }

// nameFaults marks where a link fails: its share there lies above its own in all, at the lower end of the interval and by so much that it
// matters, and the exact test, widened for all cells of all links after Bonferroni, does not explain it by chance.
func nameFaults(list []Link) {
	var cells []*Cell
	var own []float64
	for _, l := range list {
		if l.Failed.Trials < Least {
			continue
		}
		for _, table := range l.Tables {
			for i := range table.Cells {
				if c := &table.Cells[i]; c.Rounds.Trials >= leastOfCell && c.Others.Trials >= leastOfCell {
					cells, own = append(cells, c), append(own, shareOfTwo(c.Rounds, c.Others))
				}
			}
		}
	}
	for i, c := range cells {
		chance := stats.MoreThan(c.Rounds.Hits, c.Rounds.Trials, c.Others.Hits, c.Others.Trials)
		c.atLeast = c.Rounds.Low - own[i]
		c.Named = c.atLeast > 0 && c.Rounds.Value-c.Others.Value >= leastDifference && chance*float64(len(cells)) < chanceOfFault
	}
}

// shareOfTwo is the share of both together.
func shareOfTwo(a, b Share) float64 { return float64(a.Hits+b.Hits) / float64(a.Trials+b.Trials) }

// NamedFaults lists where links fail, the surest first.
func NamedFaults(list []Link) []Fault {
	var out []Fault
	for _, l := range list {
		for _, t := range l.Tables {
			for _, c := range t.Cells {
				if c.Named {
					out = append(out, Fault{l.Name, t.Dimension, c})
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Fault) int { return cmp.Compare(b.atLeast, a.atLeast) })
	return out
}

// Weakest lists the links that fail more than the others, or somewhere, the one that fails most first.
func Weakest(list []Link) []Link {
	faulty := map[LinkName]bool{}
	for _, f := range NamedFaults(list) {
		faulty[f.Link] = true
	}
	var out []Link
	for _, l := range list {
		if l.Named || faulty[l.Name] {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b Link) int { return cmp.Compare(b.Failed.Value, a.Failed.Value) })
	return out
}
