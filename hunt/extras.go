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

// term is the part of the model that an extra note belongs to.
type term int

const (
	probe  term = iota // a wrong key
	creep              // one of several keys that move up to the wanted one
	replay             // a key of the phrase, played again
	touch              // a soft, short note
	terms              // how many there are
)

var termWeight = [terms]float64{probeWeight, creepWeight, replayWeight, touchWeight}

var termCap = [terms]float64{probeCap, creepCap, replayCap, touchCap}

// try is one extra note that may be a try.
type try struct {
	played        int
	before, after int     // the anchors (sung notes) around it, match.None where there is none
	term          term    // what it counts as
	loud          float64 // 0 to 1: strength that cost time
	quiet         float64 // 0 to quietShare: strength that cost none
	run           int     // number of the replayed run it belongs to, match.None outside
	repeats       int     // the sung note that it repeats, match.None where none
}

// tries lists the extra notes that may be tries, with their strengths and terms.
func (ans *answer) tries(intervals []interval, ratio float64) []try {
	var list []try
	for p, note := range ans.played {
		if !note.extra() {
			continue
		}
		t := try{played: p, run: match.None, repeats: match.None}
		t.before, t.after = ans.around(p)
		far := ans.farness(p)
		switch {
		case note.loudness < touchLoudness && note.Offset-note.Onset < touchDuration:
			t.term, t.loud = touch, ramp(ans.distance(p, ans.nearestMatched(p)), slipDistance, errorDistance)
			if t.after == match.None {
				t.loud, t.quiet = 0, quietShare*t.loud
			}
		case t.after == match.None:
			t.quiet = quietShare * far
		case t.before == match.None:
			t.loud = far
		default:
			late := ramp(ans.interval(t.before, t.after).lateness(ratio), onTimeLateness, lateLateness)
			t.loud, t.quiet = far*late, quietShare*far*(1-late)
		}
		list = append(list, t)
	}
	ans.doubtFirst(list, intervals, ratio)
	ans.sortOut(list)
	return list
}

func (ans *answer) distance(p, q int) float64 {
	if q == match.None {
		return math.Inf(1)
	}
	return math.Abs(ans.played[p].Onset - ans.played[q].Onset)
}

func (ans *answer) nearestMatched(p int) int {
	before, after := ans.previousMatched(p), ans.nextMatched(p)
	if ans.distance(p, before) < ans.distance(p, after) {
		return before
	}
	return after
}

// farness is how far, 0 to 1, extra note p lies from the right notes around it to be more than a slip of the hand. A
// key that repeats one of them may have bounced, so it must lie further from that one.
func (ans *answer) farness(p int) float64 {
	far := 1.0
	for _, q := range []int{ans.previousMatched(p), ans.nextMatched(p)} {
		switch {
		case q == match.None:
		case ans.played[q].key == ans.played[p].key:
			far = min(far, ramp(ans.distance(p, q), repeatSlipDistance, repeatErrorDistance))
		default:
			far = min(far, ramp(ans.distance(p, q), slipDistance, errorDistance))
		}
	}
	return far
}

// doubtFirst lightens a single try before the first answered note: the voice tracker may have lost the note that was
// sung there. Only a neighbouring key that was left faster than the phrase goes speaks for itself.
func (ans *answer) doubtFirst(list []try, intervals []interval, ratio float64) {
	var first *try
	for i := range list {
		t := &list[i]
		if t.before != match.None || t.after == match.None || t.term == touch {
			continue
		}
		if first != nil {
			return
		}
		first = t
	}
	if first == nil || len(intervals) == 0 {
		return
	}
	lengths := make([]float64, len(intervals))
	for i, v := range intervals {
		lengths[i] = ratio * v.sung
	}
	target := ans.sung[first.after].partner
	steps := abs(ans.played[first.played].key - ans.played[target].key)
	quick := ans.distance(first.played, target) < firstQuick*percentile(lengths, 0.5)
	if steps > creepStep || steps > 0 && !quick {
		first.loud *= firstShare
	}
}

// sortOut gives every try that is no touch its term, target by target.
func (ans *answer) sortOut(list []try) {
	run := 0
	for from := 0; from < len(list); {
		to := from
		var row []*try
		for ; to < len(list) && list[to].after == list[from].after; to++ {
			if list[to].term != touch {
				row = append(row, &list[to])
			}
		}
		ans.sortOutRow(row, &run)
		from = to
	}
}

// sortOutRow gives terms to the tries before one target. Of a creep and a replayed run that share notes the longer
// one wins, and the creep where they are as long.
func (ans *answer) sortOutRow(row []*try, run *int) {
	creeping := ans.creepLength(row)
	rest := row[:len(row)-creeping]
	if start, length, sung := ans.longestRun(row); length > creeping && start+length > len(rest) {
		ans.markRun(row[start:start+length], sung, run)
		ans.sortOutRest(row[:start], run)
		ans.sortOutRest(row[start+length:], run)
		return
	}
	for _, t := range row[len(rest):] {
		t.term = creep
	}
	ans.sortOutRest(rest, run)
}

// sortOutRest gives terms to tries that are no creep: replayed runs first, then single repeats, the others are probes.
func (ans *answer) sortOutRest(row []*try, run *int) {
	start, length, sung := ans.longestRun(row)
	if length > 0 {
		ans.markRun(row[start:start+length], sung, run)
		ans.sortOutRest(row[:start], run)
		ans.sortOutRest(row[start+length:], run)
		return
	}
	for _, t := range row {
		for _, s := range []int{t.after, t.before} {
			if s != match.None && ans.sung[s].want == ans.played[t.played].key {
				t.term, t.repeats = replay, s
				break
			}
		}
	}
}

func (ans *answer) markRun(row []*try, sung int, run *int) {
	for i, t := range row {
		t.term, t.run, t.repeats = replay, *run, sung+i
	}
	*run++
}

// creepLength is how many of the last tries move in one direction, by steps of at most creepStep, up to the target.
func (ans *answer) creepLength(row []*try) int {
	if len(row) == 0 || row[0].after == match.None {
		return 0
	}
	key := ans.played[ans.sung[row[0].after].partner].key
	direction, length := 0, 0
	for i := len(row) - 1; i >= 0; i-- {
		step := key - ans.played[row[i].played].key
		if step == 0 || abs(step) > creepStep || step*direction < 0 {
			break
		}
		key, direction = key-step, step
		length++
	}
	if length < creepLength {
		return 0
	}
	return length
}

// longestRun finds the longest run of at least two tries that repeat neighbouring notes of the phrase. Among equally
// long ones it takes the first, and the part of the phrase that starts closest to the target.
func (ans *answer) longestRun(row []*try) (start, length, sung int) {
	for i := range row {
		for s := range ans.sung {
			n := 0
			for i+n < len(row) && s+n < len(ans.sung) && ans.played[row[i+n].played].key == ans.sung[s+n].want {
				n++
			}
			closer := length > 0 && i == start && n == length && row[0].after != match.None &&
				abs(s-row[0].after) < abs(sung-row[0].after)
			if n >= 2 && (n > length || closer) {
				start, length, sung = i, n, s
			}
		}
	}
	return start, length, sung
}

func abs(n int) int { return max(n, -n) }
