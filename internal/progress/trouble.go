package progress

import (
	"cmp"
	"slices"

	"larkhand/hunt"
	"larkhand/internal/stats"
)

// Dimension is by what trouble is sorted.
type Dimension string

// The dimensions.
const (
	ByDegree   Dimension = "degree"
	ByInterval Dimension = "interval"
	ByKey      Dimension = "key"
	ByPlace    Dimension = "place"
)

// Table is where the trouble is, by one dimension.
type Table struct {
	Dimension Dimension
	Cells     []Cell // in the order of music: degrees by number, intervals by size, keys by name, places by time
}

// Cell is the trouble at one degree, interval, key or place.
type Cell struct {
	Name    string             // "b6", "a sixth up", "Ab major", "the first note"
	Notes   Share              // of the clear notes, those with trouble
	Rounds  Share              // of the rounds in which it occurs, those with trouble there
	Others  Share              // the same of all other cells of the table together
	Kinds   [len(AllKinds)]int // notes to which each kind of evidence leads, in the order of AllKinds
	Wrong   int                // notes that are different or left out and to which no evidence leads
	Named   bool               // the difference to the others is larger than chance explains, and large enough to matter
	atLeast float64            // lower end of the interval of that difference
}

// MainKind is the kind of evidence that stands there most often; "" where notes are rather wrong or left out.
func (c Cell) MainKind() hunt.Kind {
	best, most := hunt.Kind(""), c.Wrong
	for i, n := range c.Kinds {
		if n > most {
			best, most = AllKinds[i], n
		}
	}
	return best
}

// leastDifference is the difference to the others, as a share of rounds, below which a player need not care. Own.
const leastDifference = 0.1

// tally counts one cell.
type tally struct {
	name                   string
	order                  int
	notes, troubledNotes   int
	rounds, troubledRounds int
	wrong                  int
	kinds                  [len(AllKinds)]int
	round                  int // the last round that was counted, from 1
	troubled               bool
}

// add counts one note of a round, and whether it is a trouble; rounds come in order and count from 1.
func (t *tally) add(round int, n *Note, trouble bool) {
	t.notes++
	if t.round != round {
		t.round, t.troubled = round, false
		t.rounds++
	}
	if !trouble {
		return
	}
	t.troubledNotes++
	if !t.troubled {
		t.troubled = true
		t.troubledRounds++
	}
	if n.Kinds == 0 {
		t.wrong++
	}
	for i := range t.kinds {
		t.kinds[i] += int(n.Kinds >> i & 1)
	}
}

// tallies are the cells of one dimension, made as they turn up.
type tallies struct {
	list  []*tally
	index map[string]*tally
}

func (ts *tallies) at(name string, order int) *tally {
	if t := ts.index[name]; t != nil {
		return t
	}
	t := &tally{name: name, order: order}
	ts.list = append(ts.list, t)
	if ts.index == nil {
		ts.index = map[string]*tally{}
	}
	ts.index[name] = t
	return t
}

// tables counts all answers by all dimensions and names what stands out.
func tables(answers []Round) []Table {
	var degrees, intervals, keys, places tallies
	var steps [2*widestStep + 1]*tally // by the interval, as found in intervals
	for i := range answers {
		r := &answers[i]
		key := keys.at(r.Key, 0)
		for at := range r.Notes {
			n := &r.Notes[at]
			if !n.counts() {
				continue
			}
			trouble := n.trouble()
			key.add(i+1, n, trouble)
			degrees.at(n.Degree, degreeOrder(n.Degree)).add(i+1, n, trouble)
			places.at(placeOf(at, len(r.Notes))).add(i+1, n, trouble)
			if n.Step != NoStep {
				step := &steps[widestStep+within(n.Step, widestStep)]
				if *step == nil {
					*step = intervals.at(intervalOf(n.Step))
				}
				(*step).add(i+1, n, trouble)
			}
		}
	}
	list := []Table{
		{ByDegree, degrees.cells()}, {ByInterval, intervals.cells()}, {ByKey, keys.cells()}, {ByPlace, places.cells()},
	}
	nameCells(list)
	return list
}

// cells turns counts into shares.
func (ts *tallies) cells() []Cell {
	slices.SortFunc(ts.list, func(a, b *tally) int {
		return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.name, b.name))
	})
	var rounds, troubled int
	for _, t := range ts.list {
		rounds += t.rounds
		troubled += t.troubledRounds
	}
	cells := []Cell{}
	for _, t := range ts.list {
		if t.notes == 0 {
			continue
		}
		cells = append(cells, Cell{
			Name: t.name, Notes: shareOf(t.troubledNotes, t.notes), Rounds: shareOf(t.troubledRounds, t.rounds),
			Others: shareOf(troubled-t.troubledRounds, rounds-t.rounds), Kinds: t.kinds, Wrong: t.wrong,
		})
	}
	return cells
}

// nameCells marks the cells that stand out, all dimensions looked at together.
func nameCells(list []Table) {
	comparisons := 0
	for _, t := range list {
		for _, c := range t.Cells {
			if c.enough() {
				comparisons++
			}
		}
	}
	z := stats.BonferroniZ(comparisons)
	for _, t := range list {
		for i := range t.Cells {
			c := &t.Cells[i]
			c.atLeast, _ = stats.ShareDifference(z, c.Rounds.Hits, c.Rounds.Trials, c.Others.Hits, c.Others.Trials)
			c.Named = c.enough() && c.atLeast > 0 && c.Rounds.Value-c.Others.Value >= leastDifference
		}
	}
}

func (c Cell) enough() bool { return c.Rounds.Trials >= Least && c.Others.Trials >= Least }

// Trouble is a cell that stands out.
type Trouble struct {
	Dimension Dimension
	Cell
}

// Named lists the cells that stand out, the surest difference first.
func Named(list []Table) []Trouble {
	var out []Trouble
	for _, t := range list {
		for _, c := range t.Cells {
			if c.Named {
				out = append(out, Trouble{t.Dimension, c})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Trouble) int { return cmp.Compare(b.atLeast, a.atLeast) })
	return out
}

// degreeOrder sorts degrees by number, flat before plain before sharp.
func degreeOrder(degree string) int {
	const spread = 8 // more than the accidentals that a degree can have on either side
	order := 0
	for _, c := range degree {
		switch {
		case c == 'b':
			order--
		case c == '#':
			order++
		case c >= '0' && c <= '9':
			order += 2 * spread * int(c-'0')
		}
	}
	return order
}

// intervalNames are the intervals by size: the widest of each, in semitones, and its name.
var intervalNames = []struct {
	upTo int
	name string
}{{2, "a step"}, {4, "a third"}, {6, "a fourth"}, {7, "a fifth"}, {9, "a sixth"}, {11, "a seventh"}, {widestStep, "an octave or more"}}

// intervalOf names an interval and gives its place in the table: from the widest downward to the widest upward.
func intervalOf(step int) (name string, order int) {
	if step == 0 {
		return "the same note again", 0
	}
	size, sign, way := step, 1, " up"
	if step < 0 {
		size, sign, way = -step, -1, " down"
	}
	at := 0
	for at < len(intervalNames)-1 && size > intervalNames[at].upTo {
		at++
	}
	return intervalWords[way][at], sign * (at + 1)
}

// intervalWords are the names with their direction, made once.
var intervalWords = func() map[string][]string {
	words := map[string][]string{}
	for _, way := range []string{" up", " down"} {
		for _, n := range intervalNames {
			words[way] = append(words[way], n.name+way)
		}
	}
	return words
}()

// placeOf names the place of note at of count. Own: the first and the last by themselves, what lies between in thirds.
func placeOf(at, count int) (name string, order int) {
	const thirds = 3
	switch {
	case at == 0:
		return "the first note", 0
	case at == count-1:
		return "the last note", thirds + 1
	}
	part := thirds * (at - 1) / (count - 2)
	return [thirds]string{"the beginning", "the middle", "the end before the last note"}[part], part + 1
}
