package match

import (
	"math"
	"sort"
)

// latenessCap is the most that one late note counts, s, so that one long hesitation does not decide alone.
const latenessCap = 1.0

// latenessWeight is the log-odds per second of lateness against a pairing, where it is weighed with the doubt whether a
// note exists at all: 0.25 s late weigh as much as odds of 1 to e. Own.
const latenessWeight = 4.0

// settleRepeats chooses anew within runs of equal neighbouring notes, where pitch cannot tell which of them is joined:
// the pairing with the least summed lateness, and of equal ones the latest. The tempo comes from the other notes, where
// there are two of them.
func (l *lattice) settleRepeats(mate []int) {
	played, sung := l.playedRuns(mate), l.sungRuns(mate)
	ratio := l.tempoWithout(mate, played, sung)
	for _, r := range played {
		l.settlePlayed(mate, r, ratio)
	}
	for _, r := range sung {
		l.settleSung(mate, r, ratio)
	}
}

// takeFirstRun joins the first unbroken run of the answer that is the whole phrase as sung, and reports whether there is
// one. Once the phrase has been played, whatever comes later is added, not the answer. One note is no run.
func (l *lattice) takeFirstRun(mate []int, shift int) bool {
	n := len(l.sources)
	for from := 0; n > 1 && from+n <= len(l.groups); from++ {
		i := 0
		for i < n && l.asSung(i, from+i, shift) {
			i++
		}
		if i == n {
			for i := range mate {
				mate[i] = l.choice[i*len(l.groups)+from+i]
			}
			return true
		}
	}
	return false
}

// asSung reports whether group c holds the likeliest pitch of source i.
func (l *lattice) asSung(i, c, shift int) bool {
	s, t := &l.sources[i], &l.targets[l.choice[i*len(l.groups)+c]]
	return s.likeliest(t.nearest() - shift - s.semitone)
}

// run is a range [from, to) of equal neighbouring notes of which only some are joined.
type run struct{ from, to int }

// holds reports whether i is in one of the runs.
func holds(runs []run, i int) bool {
	at := sort.Search(len(runs), func(k int) bool { return runs[k].to > i })
	return at < len(runs) && runs[at].from <= i
}

// runs returns the ranges of equal neighbours of which some, but not all, are joined.
func runs(n int, equal func(a, b int) bool, joined func(int) bool) []run {
	var list []run
	for from := 0; from < n; {
		to, count := from, 0
		for to < n && equal(from, to) {
			if joined(to) {
				count++
			}
			to++
		}
		if count > 0 && count < to-from {
			list = append(list, run{from, to})
		}
		from = max(to, from+1)
	}
	return list
}

// playedRuns returns runs of groups.
func (l *lattice) playedRuns(mate []int) []run {
	joined := make([]bool, len(l.groups))
	for _, j := range mate {
		if j != None {
			joined[l.groupOf[j]] = true
		}
	}
	return runs(len(l.groups), l.equalGroups, func(c int) bool { return joined[c] })
}

// sungRuns returns runs of sources.
func (l *lattice) sungRuns(mate []int) []run {
	return runs(len(l.sources),
		func(a, b int) bool { return l.sources[a].semitone == l.sources[b].semitone },
		func(i int) bool { return mate[i] != None })
}

// tempoWithout returns the tempo ratio of the joined notes outside the runs, or of all where those are fewer than two.
func (l *lattice) tempoWithout(mate []int, played, sung []run) float64 {
	outside, count := unanswered(len(mate)), 0
	for i, j := range mate {
		if j != None && !holds(played, l.groupOf[j]) && !holds(sung, i) {
			outside[i] = j
			count++
		}
	}
	if count < 2 {
		outside = mate
	}
	return l.tempo(outside)
}

// late returns how late, s, target j comes for source i when source i0 was answered by target j0.
func (l *lattice) late(i0, j0, i, j int, ratio float64) float64 {
	if i0 == None || i == None {
		return 0
	}
	expected := ratio * (l.sources[i].onset - l.sources[i0].onset)
	return math.Min(math.Max(l.targets[j].onset-l.targets[j0].onset-expected, 0), latenessCap)
}

// equalGroups reports whether two groups are single notes of one and the same key; every group equals itself.
func (l *lattice) equalGroups(a, b int) bool {
	ga, gb := l.groups[a], l.groups[b]
	ta, tb := &l.targets[ga.from], &l.targets[gb.from]
	return a == b || ga.to-ga.from == 1 && gb.to-gb.from == 1 && ta.base == tb.base && ta.certain() && tb.certain()
}

// settlePlayed chooses which of a run of equal played notes are joined.
func (l *lattice) settlePlayed(mate []int, r run, ratio float64) {
	var joined []int // sources
	for i, j := range mate {
		if j != None && l.groupOf[j] >= r.from && l.groupOf[j] < r.to {
			joined = append(joined, i)
		}
	}
	before, after := joinedBefore(mate, joined[0]), joinedAfter(mate, joined[len(joined)-1])
	target := func(slot int) int { return l.groups[r.from+slot].from }
	slots := place(len(joined), r.to-r.from, func(k, slot0, slot int) float64 {
		switch k {
		case 0:
			return l.late(before, mateOf(mate, before), joined[0], target(slot), ratio)
		case len(joined):
			return l.late(joined[k-1], target(slot0), after, mateOf(mate, after), ratio)
		}
		return l.late(joined[k-1], target(slot0), joined[k], target(slot), ratio)
	})
	for k, slot := range slots {
		mate[joined[k]] = target(slot)
	}
}

// settleSung chooses which of a run of equal sung notes are joined. Which of them exists counts beside the time: to let
// go a note that the voice is less sure of is worth the difference in log-probability.
func (l *lattice) settleSung(mate []int, r run, ratio float64) {
	var joined []int // targets
	for i := r.from; i < r.to; i++ {
		if mate[i] != None {
			joined = append(joined, mate[i])
		}
	}
	before, after := joinedBefore(mate, r.from), joinedAfter(mate, r.to-1)
	slots := place(len(joined), r.to-r.from, func(k, slot0, slot int) float64 {
		source0, source := r.from+slot0, r.from+slot
		switch k {
		case 0:
			return l.late(before, mateOf(mate, before), source, joined[0], ratio) + l.worth(source, joined[0])
		case len(joined):
			return l.late(source0, joined[k-1], after, mateOf(mate, after), ratio)
		}
		return l.late(source0, joined[k-1], source, joined[k], ratio) + l.worth(source, joined[k])
	})
	copy(mate[r.from:r.to], unanswered(r.to-r.from))
	for k, slot := range slots {
		mate[r.from+slot] = joined[k]
	}
}

// worth returns the cost, in s of lateness, of joining source i with target j instead of letting it go.
func (l *lattice) worth(i, j int) float64 {
	return (l.left[i] - l.match[i*len(l.groups)+l.groupOf[j]]) / latenessWeight
}

func mateOf(mate []int, i int) int {
	if i == None {
		return None
	}
	return mate[i]
}

// joinedBefore returns the nearest joined source before i, or None.
func joinedBefore(mate []int, i int) int {
	for i--; i >= 0; i-- {
		if mate[i] != None {
			return i
		}
	}
	return None
}

// joinedAfter returns the nearest joined source after i, or None.
func joinedAfter(mate []int, i int) int {
	for i++; i < len(mate); i++ {
		if mate[i] != None {
			return i
		}
	}
	return None
}

// place puts k things in order into n >= k slots at the least cost; of equal costs the later slots win. cost(0, None, s)
// is that of the first thing in slot s, cost(j, s0, s) that of thing j in slot s after thing j-1 in s0, and
// cost(k, s0, None) that of ending in s0.
func place(k, n int, cost func(thing, slot0, slot int) float64) []int {
	total := make([][]float64, k)
	back := make([][]int, k)
	for j := range total {
		total[j], back[j] = make([]float64, n), make([]int, n)
		for s := j; s <= n-k+j; s++ {
			if j == 0 {
				total[0][s] = cost(0, None, s)
				continue
			}
			total[j][s] = math.Inf(1)
			for s0 := j - 1; s0 < s; s0++ {
				if v := total[j-1][s0] + cost(j, s0, s); v <= total[j][s]+same {
					total[j][s], back[j][s] = v, s0
				}
			}
		}
	}
	best, at := math.Inf(1), k-1
	for s := k - 1; s < n; s++ {
		if v := total[k-1][s] + cost(k, s, None); v <= best+same {
			best, at = v, s
		}
	}
	slots := make([]int, k)
	for j := k - 1; j >= 0; j-- {
		slots[j] = at
		at = back[j][at]
	}
	return slots
}
