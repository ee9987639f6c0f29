package hunt

import (
	"math"

	"larkhand/match"
)

// markGhosts leaves out bounces of a neighbour's key and, with a guitar converter, its false triggers. One that the
// alignment took for a note of the phrase gives its place to a sound note of the same key, if there is one.
func (ans *answer) markGhosts(guitar bool) {
	for i := range ans.played {
		note := &ans.played[i]
		note.loudness = ans.loudnessOf(i)
		bounce := note.loudness < bounceLoudness && ans.neighbourKey(i)
		note.ignored = bounce || guitar && note.Offset-note.Onset < ghostDuration && note.loudness < ghostLoudness
	}
	for i := range ans.played {
		note := &ans.played[i]
		if s := note.partner; note.ignored && s != match.None {
			if heir := ans.heir(s); heir != match.None {
				ans.unpair(s)
				ans.pair(s, heir)
			} else {
				note.ignored = false
			}
		}
	}
}

// heir finds a free note of the same key that may take the place of sung note s's partner, match.None without one.
func (ans *answer) heir(s int) int {
	from, to := ans.bounds(s, s)
	for p := from; p < to; p++ {
		note := ans.played[p]
		if note.partner == match.None && !note.ignored && note.key == ans.played[ans.sung[s].partner].key {
			return p
		}
	}
	return match.None
}

// bounds gives the range of played notes, from included and to not, between the partners of the answered notes before
// sung note first and after sung note last.
func (ans *answer) bounds(first, last int) (from, to int) {
	before, after := ans.outside(first, last)
	to = len(ans.played)
	if before != match.None {
		from = ans.sung[before].partner + 1
	}
	if after != match.None {
		to = ans.sung[after].partner
	}
	return from, to
}

// loudnessOf is the velocity of played note i over the 67th percentile of its neighbours' velocities; 1 without them.
func (ans *answer) loudnessOf(i int) float64 {
	var near []float64
	for j := max(0, i-loudnessNeighbours); j <= min(len(ans.played)-1, i+loudnessNeighbours); j++ {
		if j != i {
			near = append(near, float64(ans.played[j].Velocity))
		}
	}
	if len(near) == 0 {
		return 1
	}
	usual := percentile(near, loudnessPercentile)
	if usual <= 0 {
		return 1
	}
	return float64(ans.played[i].Velocity) / usual
}

func (ans *answer) neighbourKey(i int) bool {
	key := ans.played[i].key
	return i > 0 && ans.played[i-1].key == key || i+1 < len(ans.played) && ans.played[i+1].key == key
}

// markStrokes leaves out extra notes that are chained to a matched note by gaps of at most chainGap: slips of the hand,
// chords, rolls.
func (ans *answer) markStrokes() {
	n := len(ans.played)
	chain := func(from, to, step int) {
		last := math.Inf(-1)
		for i := from; i != to; i += step {
			note := &ans.played[i]
			if note.matched() {
				last = note.Onset
			} else if math.Abs(note.Onset-last) <= chainGap+sameTime {
				note.ignored = true
				last = note.Onset
			}
		}
	}
	chain(0, n, 1)
	chain(n-1, -1, -1)
}

// markUnclear leaves out extra notes beside unclear sung notes.
func (ans *answer) markUnclear() {
	for p := range ans.played {
		if ans.played[p].extra() && ans.nearUnclear(p) {
			ans.played[p].ignored = true
		}
	}
}

// markKept gives extra notes that stand where sung notes were left out to those: wrong keys that were kept. The last
// tries win. Where one note was left out its slot is certain, and the pair carries the time like any other.
func (ans *answer) markKept() {
	for s := 0; s < len(ans.sung); s++ {
		if ans.sung[s].partner != match.None {
			continue
		}
		end := s
		for end < len(ans.sung) && ans.sung[end].partner == match.None {
			end++
		}
		extras := ans.extrasBeside(s, end-1)
		missing := end - s
		if missing == 1 && len(extras) > 0 {
			ans.pair(s, extras[len(extras)-1])
			ans.sung[s].wrong = true
		} else {
			for _, p := range extras[max(0, len(extras)-missing):] {
				ans.played[p].kept = true
			}
		}
		s = end
	}
}

// extrasBeside lists the extra notes between the answered notes around the sung notes first to last.
func (ans *answer) extrasBeside(first, last int) []int {
	from, to := ans.bounds(first, last)
	var extras []int
	for p := from; p < to; p++ {
		if ans.played[p].extra() {
			extras = append(extras, p)
		}
	}
	return extras
}

// markSecondVoices leaves out extra notes far from their target that sound on well into it.
func (ans *answer) markSecondVoices() {
	for i := range ans.played {
		note := &ans.played[i]
		target := ans.nextMatched(i)
		if !note.extra() || target == match.None {
			continue
		}
		next := ans.played[target]
		far := abs(note.key-next.key) >= heldInterval
		note.ignored = far && next.Onset-note.Onset < heldBefore && note.Offset-next.Onset > heldInto
	}
}

func (ans *answer) nextMatched(p int) int {
	for p++; p < len(ans.played); p++ {
		if ans.played[p].matched() {
			return p
		}
	}
	return match.None
}

func (ans *answer) previousMatched(p int) int {
	for p--; p >= 0; p-- {
		if ans.played[p].matched() {
			return p
		}
	}
	return match.None
}
