package match

import "math"

// group is a range [from, to) of targets that sound as one chord.
type group struct{ from, to int }

// same is how near two log-probabilities must be to count as equal; rounding errors of sums of some hundred terms are
// far smaller, differences between real alternatives far larger.
const same = 1e-9

// contourBonus is the log-odds for two neighbouring pairs that move the same way, up, down or level. It is smaller than
// any difference between right and wrong pitch, so it decides only which of several sung notes a wrong note stands
// for, and keeps replayed parts whole. Own.
const contourBonus = 0.25

// lattice holds the scores of one alignment problem at one shift. Rows are sources, columns groups.
type lattice struct {
	sources []source
	targets []target
	groups  []group
	groupOf []int // per target

	match  []float64 // rows x columns: log-probability of joining, the rest of the chord added
	choice []int     // rows x columns: which target of the group is joined
	left   []float64 // per row
	extra  []float64 // per column

	joined, apart []float64 // (rows+1) x (columns+1): best score with the last pair joined, or with a gap at the end
	from          []byte    // back pointers of joined (low bits) and apart (high bits)
}

// Back pointers: which of the two tables the best predecessor lies in, and for a gap, on which side it is.
const (
	joinedFromJoined byte = 1 << iota // else from apart
	apartSkipsGroup                   // else skips a source
	apartFromJoined                   // else from apart
)

func newLattice(sources []source, targets []target, groups []group) *lattice {
	n, g := len(sources), len(groups)
	l := &lattice{
		sources: sources, targets: targets, groups: groups, groupOf: make([]int, len(targets)),
		match: make([]float64, n*g), choice: make([]int, n*g),
		left: make([]float64, n), extra: make([]float64, g),
		joined: make([]float64, (n+1)*(g+1)), apart: make([]float64, (n+1)*(g+1)),
		from: make([]byte, (n+1)*(g+1)),
	}
	for c, gr := range groups {
		for t := gr.from; t < gr.to; t++ {
			l.groupOf[t] = c
			l.extra[c] += targets[t].extra
		}
	}
	return l
}

// fill computes all scores for shift.
func (l *lattice) fill(shift int) {
	for i := range l.sources {
		l.left[i] = l.sources[i].left
		row := i * len(l.groups)
		for c := range l.groups {
			l.match[row+c], l.choice[row+c] = l.best(&l.sources[i], c, shift)
		}
	}
}

// best returns the best log-probability of joining s with a target of group c, the rest of the chord added, and that target.
func (l *lattice) best(s *source, c, shift int) (score float64, at int) {
	gr := l.groups[c]
	score, at = math.Inf(-1), gr.from
	for t := gr.from; t < gr.to; t++ {
		if v := fit(s, &l.targets[t], shift) - l.targets[t].extra; v > score+same {
			score, at = v, t
		}
	}
	return score + l.extra[c], at
}

// score returns the score of the best path at shift without the contour, which is the same at all shifts but for a few
// pairs. It keeps no path and takes half the time of fill and run.
func (l *lattice) score(shift int) float64 {
	before, now := make([]float64, len(l.groups)+1), make([]float64, len(l.groups)+1)
	for c, e := range l.extra {
		before[c+1] = before[c] + e
	}
	for i := range l.sources {
		s := &l.sources[i]
		now[0] = before[0] + s.left
		for c, e := range l.extra {
			joined, _ := l.best(s, c, shift)
			now[c+1] = max(before[c]+joined, before[c+1]+s.left, now[c]+e)
		}
		before, now = now, before
	}
	return before[len(l.groups)]
}

// run finds the best path and returns its score.
func (l *lattice) run() float64 {
	n, g := len(l.sources), len(l.groups)
	w := g + 1
	for i := 0; i <= n; i++ {
		for c := 0; c <= g; c++ {
			at := i*w + c
			l.joined[at], l.apart[at], l.from[at] = math.Inf(-1), math.Inf(-1), 0
			if i == 0 && c == 0 {
				l.apart[at] = 0
				continue
			}
			if i > 0 && c > 0 {
				l.join(at, i-1, c-1)
			}
			l.part(at, i, c)
		}
	}
	return math.Max(l.joined[n*w+g], l.apart[n*w+g])
}

// join scores the pair of source i and group c as the last step into cell at.
func (l *lattice) join(at, i, c int) {
	w := len(l.groups) + 1
	before := i*w + c
	score := l.apart[before]
	if v := l.joined[before]; !math.IsInf(v, -1) {
		if l.sameMotion(i, c) {
			v += contourBonus
		}
		if v >= score-same {
			score = v
			l.from[at] |= joinedFromJoined
		}
	}
	l.joined[at] = score + l.match[i*len(l.groups)+c]
}

// part scores a gap as the last step into the cell at, where i sources and c groups are used up. Of equal ways it lets
// the source go, so that the later groups stay free.
func (l *lattice) part(at, i, c int) {
	w := len(l.groups) + 1
	best := math.Inf(-1)
	if i > 0 {
		best = l.step(at, at-w, l.left[i-1], 0, best)
	}
	if c > 0 {
		best = l.step(at, at-1, l.extra[c-1], apartSkipsGroup, best)
	}
	l.apart[at] = best
}

// step scores the gap that comes from cell before, keeps it if it beats best, and returns the better score. Of equal
// ways into before the joined one is kept: the later notes win.
func (l *lattice) step(at, before int, cost float64, skip byte, best float64) float64 {
	score, flags := l.apart[before], skip
	if v := l.joined[before]; !math.IsInf(v, -1) && v >= score-same {
		score, flags = v, skip|apartFromJoined
	}
	if score += cost; score > best+same {
		l.from[at] = l.from[at]&joinedFromJoined | flags
		return score
	}
	return best
}

// sameMotion reports whether the voice from source i-1 to i moves as the answer from group c-1 to c.
func (l *lattice) sameMotion(i, c int) bool {
	g := len(l.groups)
	a, b := l.choice[(i-1)*g+c-1], l.choice[i*g+c]
	return sign(float64(l.sources[i].semitone-l.sources[i-1].semitone)) ==
		sign(math.Round(l.targets[b].pitch)-math.Round(l.targets[a].pitch))
}

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// path returns, for each source, the target that answers it on the best path, or None.
func (l *lattice) path() []int {
	n, g := len(l.sources), len(l.groups)
	w := g + 1
	mate := unanswered(n)
	i, c := n, g
	joined := l.joined[n*w+g] >= l.apart[n*w+g]-same
	for i > 0 || c > 0 {
		flags := l.from[i*w+c]
		switch {
		case joined:
			mate[i-1] = l.choice[(i-1)*g+c-1]
			joined = flags&joinedFromJoined != 0
			i, c = i-1, c-1
		case flags&apartSkipsGroup != 0:
			joined = flags&apartFromJoined != 0
			c--
		default:
			joined = flags&apartFromJoined != 0
			i--
		}
	}
	return mate
}

// unanswered returns n times None.
func unanswered(n int) []int {
	mate := make([]int, n)
	for i := range mate {
		mate[i] = None
	}
	return mate
}
