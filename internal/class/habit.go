package class

import (
	"cmp"
	"slices"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/stats"
)

// Habit is a kind of evidence at a place.
type Habit struct {
	Kind   hunt.Kind
	By     progress.Dimension // progress.ByDegree or progress.ByInterval; "" anywhere
	Place  string             // "degree 6", "a leap up"; "" anywhere
	Share  progress.Share     // of the rounds that have the place (anywhere: of the answers), those with the evidence there
	Others progress.Share     // the same at all other places of its dimension together; no trials where anywhere
	least  float64            // lower end of the interval of the difference; anywhere, of the share
}

const (
	habitFrom       = 0.2 // share of answers, at the lower end of its interval, from which a kind is a habit anywhere: as in package progress
	leastDifference = 0.1 // difference to other places below which a teacher need not care: as in package progress
	mostPlaces      = 3   // of one kind; own: more is no place any more but everywhere
)

// habitsOf finds the habits in a player's answers, the surest first.
func habitsOf(answers []Round) []Habit {
	z := stats.BonferroniZ(comparisons(answers))
	var out []Habit
	whole := slices.DeleteFunc(slices.Clone(answers), func(r Round) bool { return r.Row.Pieces })
	for _, kind := range progress.AllKinds {
		answers := answers
		if kind == hunt.Restart { // going back is how an answer in pieces is played
			answers = whole
		}
		var named []Habit
		for len(named) < mostPlaces {
			best, found := surest(answers, kind, named, z)
			if !found {
				break
			}
			named = append(named, best)
		}
		hits := 0
		for _, r := range answers {
			if slices.ContainsFunc(r.Row.Notes, func(n progress.Note) bool { return hasSay(n) && n.Kinds.Has(kind) && !covered(n, named) }) {
				hits++
			}
		}
		if s := shareOf(hits, len(answers)); s.Low >= habitFrom {
			named = append(named, Habit{Kind: kind, Share: s, Others: shareOf(0, 0), least: s.Low})
		}
		out = append(out, named...)
	}
	slices.SortStableFunc(out, func(a, b Habit) int { return cmp.Compare(b.least, a.least) })
	return out
}

// place is a note's place by one dimension; "" where it has none.
func place(n progress.Note, by progress.Dimension) string {
	if by == progress.ByDegree {
		return "degree " + n.Degree
	}
	return leapOf(n.Step)
}

// leapOf names the interval into a note as teachers sort them: a leap is larger than a third (common practice, no source).
func leapOf(step int) string {
	const second, third = 2, 4 // semitones, the largest of each
	if step == progress.NoStep {
		return ""
	}
	size, way := step, " up"
	if step < 0 {
		size, way = -step, " down"
	}
	switch {
	case size == 0:
		return "the same note again"
	case size <= second:
		return "a step" + way
	case size <= third:
		return "a third" + way
	}
	return "a leap" + way
}

var dimensions = []progress.Dimension{progress.ByDegree, progress.ByInterval}

// covered reports whether a note lies at a place that is named already.
func covered(n progress.Note, named []Habit) bool {
	return slices.ContainsFunc(named, func(h Habit) bool { return place(n, h.By) == h.Place })
}

// cell counts the rounds of one place.
type cell struct{ hits, trials int }

// cellsOf counts, by one dimension, the rounds that have each place, and those with the evidence there.
func cellsOf(answers []Round, by progress.Dimension, kind hunt.Kind, named []Habit) map[string]cell {
	cells := map[string]cell{}
	for _, r := range answers {
		here := map[string]bool{} // the places of this round, true with the evidence
		for _, n := range r.Row.Notes {
			if at := place(n, by); at != "" && hasSay(n) && !covered(n, named) {
				here[at] = here[at] || n.Kinds.Has(kind)
			}
		}
		for at, hit := range here {
			c := cells[at]
			c.trials++
			if hit {
				c.hits++
			}
			cells[at] = c
		}
	}
	return cells
}

// surest is the place at which the evidence stands out most; the places that are named are set aside.
func surest(answers []Round, kind hunt.Kind, named []Habit, z float64) (best Habit, found bool) {
	for _, by := range dimensions {
		cells := cellsOf(answers, by, kind, named)
		var all cell
		for _, c := range cells {
			all.hits += c.hits
			all.trials += c.trials
		}
		for at, c := range cells {
			others := cell{all.hits - c.hits, all.trials - c.trials}
			if !enough(c, others) {
				continue
			}
			h := Habit{Kind: kind, By: by, Place: at, Share: shareOf(c.hits, c.trials), Others: shareOf(others.hits, others.trials)}
			h.least, _ = stats.ShareDifference(z, c.hits, c.trials, others.hits, others.trials)
			if h.least <= 0 || h.Share.Value-h.Others.Value < leastDifference {
				continue
			}
			if !found || h.least > best.least || h.least == best.least && h.Place < best.Place {
				best, found = h, true
			}
		}
	}
	return best, found
}

func enough(c, others cell) bool {
	return c.trials >= progress.Least && others.trials >= progress.Least
}

// comparisons is how many kinds and places of a player are looked at.
func comparisons(answers []Round) int {
	n := 0
	for _, by := range dimensions {
		cells := cellsOf(answers, by, "", nil)
		all := 0
		for _, c := range cells {
			all += c.trials
		}
		for _, c := range cells {
			if enough(c, cell{trials: all - c.trials}) {
				n += len(progress.AllKinds)
			}
		}
	}
	return n
}
