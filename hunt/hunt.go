package hunt

import (
	"math"
	"slices"

	"larkhand/match"
)

// Options are what the finding depends on besides the notes.
type Options struct {
	Guitar       bool    // the answer came from a guitar converter: very short, soft notes are false triggers
	PriorLogOdds float64 // ln(odds) that an answer of this player was searched for before anything is heard; 0 is even
}

// Find says whether the answer was known or searched for, and by which evidence. It takes the notes that the alignment
// was made from; pairs with indices that do not exist, and notes whose time or pitch is not a number, are left out of
// account. Where no sung note was answered, nothing can be told: the label is Unsure and the probability the prior's.
func Find(sung []match.Sung, played []match.Played, a match.Alignment, opt Options) Finding {
	prior := min(max(opt.PriorLogOdds, -longestPrior), longestPrior)
	if math.IsNaN(prior) {
		prior = 0
	}
	ans := newAnswer(sung, played, a)
	ans.prepare(opt.Guitar)
	intervals := ans.intervals()
	if len(intervals) == 0 && !ans.judgeable() {
		return Finding{Searched: probability(prior), Label: Unsure}
	}
	ratio := steadyTempo(intervals, match.FitTempo(times(intervals)))
	tries := ans.tries(intervals, ratio)
	limitTries(tries)
	places := ans.places(tries, intervals, patientTempos(intervals, ratio))
	sum := baseLogOdds + prior
	for _, e := range places {
		sum += e.Weight
	}
	p := probability(sum)
	label := labelOf(p)
	return Finding{Searched: p, Label: label, Evidence: shown(places, label)}
}

// prepare settles which played notes answer the phrase, and which of the others have no say.
func (ans *answer) prepare(guitar bool) {
	ans.markGhosts(guitar)
	ans.settle()
	ans.markStrokes()
	ans.markUnclear()
	ans.markKept()
	ans.markSecondVoices()
}

// judgeable says that at least one clear sung note was answered.
func (ans *answer) judgeable() bool {
	return slices.ContainsFunc(ans.sung, sungNote.anchors)
}

func probability(logOdds float64) float64 { return 1 / (1 + math.Exp(-logOdds)) }

func labelOf(p float64) Label {
	switch {
	case p < knownBelow:
		return Known
	case p > searchedAbove:
		return Searched
	}
	return Unsure
}

// limitTries scales the strengths down to the caps: quiet ones together, then each term.
func limitTries(tries []try) {
	var quiet float64
	for _, t := range tries {
		quiet += t.quiet
	}
	var sums [terms]float64
	for i := range tries {
		tries[i].quiet *= within(quiet, quietCap)
		sums[tries[i].term] += tries[i].strength()
	}
	for i := range tries {
		scale := within(sums[tries[i].term], termCap[tries[i].term])
		tries[i].loud *= scale
		tries[i].quiet *= scale
	}
}

func (t try) strength() float64 { return t.loud + t.quiet }

// within is the factor, 0 to 1, that brings sum down to most.
func within(sum, most float64) float64 {
	if sum <= most {
		return 1
	}
	return most / sum
}

// shown keeps the evidence that weighs enough to be named.
func shown(places []Evidence, label Label) []Evidence {
	least := shownWeightUnsure
	if label == Known {
		least = shownWeight
	}
	return slices.DeleteFunc(places, func(e Evidence) bool { return e.Weight < least })
}
