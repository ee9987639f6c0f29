package hunt

import (
	"cmp"
	"slices"

	"larkhand/match"
)

// places lists all evidence, however light, in time order. Its weights add up to what the model adds to the base.
func (ans *answer) places(tries []try, intervals []interval, tempos []float64) []Evidence {
	var list []Evidence
	for from := 0; from < len(tries); {
		to := from
		for to < len(tries) && tries[to].after == tries[from].after {
			to++
		}
		list = append(list, ans.groups(tries[from:to])...)
		from = to
	}
	list = ans.addHesitations(list, tries, intervals, tempos)
	slices.SortStableFunc(list, func(a, b Evidence) int { return cmp.Compare(a.Onset, b.Onset) })
	return list
}

// groups makes one evidence of each kind out of the tries before one target; each replayed run is one of its own.
func (ans *answer) groups(tries []try) []Evidence {
	type group struct {
		term term
		run  int
	}
	var order []group
	members := map[group][]try{}
	for _, t := range tries {
		g := group{t.term, t.run}
		if t.strength() <= 0 {
			continue
		}
		if _, ok := members[g]; !ok {
			order = append(order, g)
		}
		members[g] = append(members[g], t)
	}
	var list []Evidence
	for _, g := range order {
		list = append(list, ans.evidenceOf(members[g]))
	}
	return list
}

var kindOf = [terms]Kind{probe: Correction, creep: Creep, replay: Restart, touch: Touch}

// evidenceOf describes tries of one term before one target.
func (ans *answer) evidenceOf(tries []try) Evidence {
	first, last := tries[0], tries[len(tries)-1]
	e := Evidence{
		Kind:   kindOf[first.term],
		Onset:  ans.played[first.played].Onset,
		Offset: ans.played[last.played].Offset,
		Text:   ans.textOf(tries),
	}
	for _, t := range tries {
		e.Played = append(e.Played, ans.played[t.played].index)
		e.Weight += termWeight[t.term]*t.strength() + hesitationWeight*t.waited
		if t.run != match.None || t.repeats != match.None {
			e.Sung = appendNew(e.Sung, ans.sung[t.repeats].index)
		}
	}
	if first.after != match.None {
		target := ans.sung[first.after]
		e.Sung = appendNew(e.Sung, target.index)
		if first.term != touch {
			e.Played = append(e.Played, ans.played[target.partner].index)
			e.Offset = ans.played[target.partner].Onset
		}
	}
	return e
}

func appendNew(list []int, n int) []int {
	if slices.Contains(list, n) {
		return list
	}
	return append(list, n)
}

// addHesitations adds the lateness of the intervals. Where an interval holds tries, the time that went by after the
// first of them is theirs: it adds to their weight, and only a wait before it is a hesitation of its own.
func (ans *answer) addHesitations(list []Evidence, tries []try, intervals []interval, tempos []float64) []Evidence {
	var sum float64
	for i, v := range intervals {
		sum += hesitation(v.excess(tempos[i]))
	}
	unit := hesitationWeight * within(sum, hesitationCap)
	for i, v := range intervals {
		ratio := tempos[i]
		whole := hesitation(v.excess(ratio))
		if whole <= 0 {
			continue
		}
		end := ans.firstTry(tries, v)
		at := ans.carrier(list, v)
		alone := whole
		if at != match.None {
			from := ans.played[ans.sung[v.from].partner].Onset
			alone = min(whole, hesitation(excessLateness(ans.played[end].Onset-from, v.Sung, ratio)))
			list[at].Weight += unit * (whole - alone)
		} else {
			end = ans.sung[v.to].partner
		}
		if alone > 0 {
			list = append(list, ans.hesitationAt(v, end, ratio, unit*alone))
		}
	}
	return list
}

// firstTry is the first played note after the interval's start that is a try, or its end.
func (ans *answer) firstTry(tries []try, v interval) int {
	for _, t := range tries {
		if t.after == v.to && t.strength() > 0 {
			return t.played
		}
	}
	return ans.sung[v.to].partner
}

// carrier finds the heaviest evidence inside the interval, match.None where there is none of weight.
func (ans *answer) carrier(list []Evidence, v interval) int {
	from, to := ans.played[ans.sung[v.from].partner].Onset, ans.played[ans.sung[v.to].partner].Onset
	best := match.None
	for i, e := range list {
		inside := e.Kind != Hesitation && e.Onset > from && e.Onset < to
		if inside && e.Weight >= shownWeightUnsure && (best == match.None || e.Weight > list[best].Weight) {
			best = i
		}
	}
	return best
}

func (ans *answer) hesitationAt(v interval, end int, ratio, weight float64) Evidence {
	start := ans.sung[v.from].partner
	due := ans.played[start].Onset + ratio*v.Sung
	return Evidence{
		Kind:   Hesitation,
		Onset:  due,
		Offset: ans.played[end].Onset,
		Sung:   []int{ans.sung[v.from].index, ans.sung[v.to].index},
		Played: []int{ans.played[start].index, ans.played[end].index},
		Text:   hesitationText(ans.sung[v.to].index, ans.played[end].Onset-due),
		Weight: weight,
	}
}
