package hunt

import "larkhand/match"

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
