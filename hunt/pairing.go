package hunt

import (
	"math"

	"larkhand/match"
)

// settle chooses, among notes of equal key, those that answer the phrase. The first complete run through the phrase is
// the answer, and what comes later came after it. Without one the later of two equal notes is the answer, so that the
// tries lie before it. Of equal neighbouring keys those are taken that come nearest to the rhythm.
func (ans *answer) settle() {
	ratio := match.FitTempo(times(ans.intervals()))
	if !ans.takeFirstRun() {
		ans.takeLater()
	}
	ans.takeBack(ratio)
	ans.takeNearest(ratio)
}

// takeFirstRun pairs the first complete run through the phrase, and says whether there is one. Slips of the hand do not
// interrupt a run.
func (ans *answer) takeFirstRun() bool {
	if len(ans.sung) < 2 {
		return false
	}
	for start := range ans.played {
		if run := ans.runFrom(start); run != nil {
			for s := range ans.sung {
				ans.unpair(s)
			}
			for s, p := range run {
				ans.pair(s, p)
				ans.sung[s].wrong = false
			}
			return true
		}
	}
	return false
}

// runFrom lists the notes that play the whole phrase from played note start on, nil where they do not.
func (ans *answer) runFrom(start int) []int {
	run := make([]int, 0, len(ans.sung))
	for p := start; p < len(ans.played) && len(run) < len(ans.sung); p++ {
		note, next := ans.played[p], ans.sung[len(run)]
		switch {
		case note.ignored:
		case note.key == next.want, next.unclear && abs(note.key-next.want) <= unclearReach:
			run = append(run, p)
		case len(run) == 0 || !ans.stroked(p):
			return nil
		}
	}
	if len(run) < len(ans.sung) {
		return nil
	}
	return run
}

// stroked says that played note p came in one stroke with the note before or after it.
func (ans *answer) stroked(p int) bool {
	return p > 0 && ans.distance(p, p-1) <= chainGap+sameTime ||
		p+1 < len(ans.played) && ans.distance(p, p+1) <= chainGap+sameTime
}

// takeLater moves each right pair to the latest equal key before the next pair. The last note of the phrase stays:
// once it was played the phrase is complete. A key that is struck together with the next note is a slip, no answer.
func (ans *answer) takeLater() {
	limit := match.None
	for s := len(ans.sung) - 1; s >= 0; s-- {
		p := ans.sung[s].partner
		if p == match.None {
			continue
		}
		if limit != match.None && !ans.sung[s].wrong {
			for later := limit - 1; later > p; later-- {
				note := ans.played[later]
				slip := ans.played[limit].Onset-note.Onset <= chainGap+sameTime
				if note.partner == match.None && !note.ignored && !slip && note.key == ans.played[p].key {
					ans.unpair(s)
					ans.pair(s, later)
					break
				}
			}
		}
		limit = ans.sung[s].partner
	}
}

// takeBack moves a right pair to an earlier free note of its key that fits the rhythm clearly better: the later one was
// a slip or part of a chord. A key that was played again fits about as well as its first stroke, and stays.
func (ans *answer) takeBack(ratio float64) {
	for s := len(ans.sung) - 1; s >= 0; s-- {
		p := ans.sung[s].partner
		if p == match.None || ans.sung[s].wrong {
			continue
		}
		from, _ := ans.bounds(s, s)
		best, least := p, ans.offAround(s, p, ratio)-pairingMargin
		for earlier := from; earlier < p; earlier++ {
			note := ans.played[earlier]
			if note.partner != match.None || note.ignored || note.key != ans.played[p].key {
				continue
			}
			if off := ans.offAround(s, earlier, ratio); off < least {
				best, least = earlier, off
			}
		}
		if best != p {
			ans.unpair(s)
			ans.pair(s, best)
		}
	}
}

// offAround is how far (s) sung note s on played note p is off the rhythm with its answered neighbours.
func (ans *answer) offAround(s, p int, ratio float64) float64 {
	before, after := ans.outside(s, s)
	off := ans.offBetween(before, match.None, s, p, ratio)
	if after != match.None {
		off += ans.offBetween(s, p, after, match.None, ratio)
	}
	return off
}

// takeNearest goes through the rows of equal neighbouring keys and pairs the notes that fit the rhythm best.
func (ans *answer) takeNearest(ratio float64) {
	for start := 0; start < len(ans.played); {
		row, next := ans.rowFrom(start)
		var owners []int
		for _, p := range row {
			if s := ans.played[p].partner; s != match.None {
				owners = append(owners, s)
			}
		}
		if len(owners) > 0 && len(owners) < len(row) && len(row) <= pairingMost {
			ans.pairRow(row, owners, ratio)
		}
		start = next
	}
}

// rowFrom lists the notes from start on that follow one another on one key, and where the next row starts.
func (ans *answer) rowFrom(start int) (row []int, next int) {
	for next = start; next < len(ans.played); next++ {
		note := ans.played[next]
		if note.ignored {
			continue
		}
		if len(row) > 0 && note.key != ans.played[row[0]].key {
			break
		}
		row = append(row, next)
	}
	return row, next
}

// pairRow gives each of the sung notes one of the notes of the row, in order, by dynamic programming over the summed
// distance from the rhythm (each at most pairingCap). Where two choices are equal the later one wins.
func (ans *answer) pairRow(row, owners []int, ratio float64) {
	before, after := ans.outside(owners[0], owners[len(owners)-1])
	cost := make([][]float64, len(owners)) // cost[k][j]: least sum with owner k on row note j
	from := make([][]int, len(owners))
	for k, s := range owners {
		cost[k] = make([]float64, len(row))
		from[k] = make([]int, len(row))
		for j, p := range row {
			if k == 0 {
				cost[k][j] = ans.offBetween(before, match.None, s, p, ratio)
				continue
			}
			cost[k][j] = math.Inf(1)
			for i := range j {
				c := cost[k-1][i] + ans.offBetween(owners[k-1], row[i], s, p, ratio)
				if c <= cost[k][j]+sameTime {
					cost[k][j], from[k][j] = c, i
				}
			}
		}
	}
	last := len(owners) - 1
	best, bestCost := 0, math.Inf(1)
	for j, p := range row {
		c := cost[last][j]
		if after != match.None {
			c += ans.offBetween(owners[last], p, after, match.None, ratio)
		}
		if c <= bestCost+sameTime {
			best, bestCost = j, c
		}
	}
	for _, s := range owners {
		ans.unpair(s)
	}
	for k := last; k >= 0; k-- {
		ans.pair(owners[k], row[best])
		best = from[k][best]
	}
}

// outside gives the answered sung notes next to the sung notes first to last, match.None where there is none.
func (ans *answer) outside(first, last int) (before, after int) {
	before, after = first-1, match.None
	for before >= 0 && ans.sung[before].partner == match.None {
		before--
	}
	for s := last + 1; s < len(ans.sung); s++ {
		if ans.sung[s].partner != match.None {
			after = s
			break
		}
	}
	return before, after
}

// offBetween is how far (s, 0 to pairingCap) sung note t on played note q is off the rhythm after sung note s on played
// note p; match.None for p or q means the note's own partner, and for s that nothing came before.
func (ans *answer) offBetween(s, p, t, q int, ratio float64) float64 {
	if s == match.None {
		return 0
	}
	if p == match.None {
		p = ans.sung[s].partner
	}
	if q == match.None {
		q = ans.sung[t].partner
	}
	late := ans.played[q].Onset - ans.played[p].Onset - ratio*(ans.sung[t].Onset-ans.sung[s].Onset)
	return min(math.Abs(late), pairingCap)
}
