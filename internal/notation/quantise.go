package notation

import (
	"math"
	"slices"
)

// How onsets are laid on ticks. Own choices, held against the demo's phrases and the tests of this package.
const (
	// tripletCost is by how much, squared ticks, triplets must fit a beat better than sixteenths.
	tripletCost = 2.0
	// collisionCost is what a second onset on a tick costs, squared ticks: more than any distance.
	collisionCost = float64(TicksPerQuarter * TicksPerQuarter)
	// legatoShare is the part of the time to the next onset from which a note lasts until there.
	legatoShare = 0.6
)

// mostBars bounds what is written: beyond, times are nonsense or the piece is no phrase.
const mostBars = 2000

// grid knows on which ticks the notes of a piece may begin and end.
type grid struct {
	meter
	triplet map[int]bool // by the start of a group
}

// nearest is the nearest place to begin in the group of a tick.
func (g grid) nearest(tick float64) int {
	start, end := g.groupAt(tick)
	return nearestIn(tick, start, end, g.cellOf(start))
}

func (g grid) cellOf(group int) int {
	if g.triplet[group] {
		return tripletCell
	}
	return g.cell
}

func nearestIn(tick float64, start, end, cell int) int {
	return min(start+int(math.Round((tick-float64(start))/float64(cell)))*cell, end)
}

// after is the next place after a tick on which something may begin.
func (g grid) after(tick int) int {
	start, end := g.groupAt(float64(tick))
	cell := g.cellOf(start)
	return min(start+((tick-start)/cell+1)*cell, end)
}

// span is a note on the grid.
type span struct{ start, end int } // ticks

// quantise lays notes, in order of onset, on ticks after Time.Bar. Notes that begin too far from it are left out of the answer's
// end.
func quantise(notes []Note, t Time) ([]span, grid) {
	g := grid{meter: meterOf(t.Beats, t.Unit), triplet: map[int]bool{}}
	places := make([]float64, len(notes))
	for i, n := range notes {
		places[i] = t.ticks(n.Onset)
	}
	if g.triplets {
		g.chooseTriplets(places)
	}
	spans := make([]span, len(notes))
	for i, p := range places {
		spans[i].start = g.nearest(p)
		if i > 0 && spans[i].start <= spans[i-1].start {
			spans[i].start = g.after(spans[i-1].start)
		}
	}
	for i, n := range notes {
		end := max(g.nearest(t.ticks(n.Offset)), g.after(spans[i].start))
		if i+1 < len(notes) {
			next := spans[i+1].start
			if n.Offset-n.Onset >= legatoShare*(notes[i+1].Onset-n.Onset) {
				end = next
			}
			end = min(end, next)
		}
		spans[i].end = end
	}
	return spans, g
}

// chooseTriplets marks the groups whose onsets fit triplets better.
func (g grid) chooseTriplets(places []float64) {
	for i := 0; i < len(places); {
		start, end := g.groupAt(places[i])
		j := i + 1
		for j < len(places) && places[j] < float64(end) {
			j++
		}
		here := places[i:j]
		if end-start == TicksPerQuarter && cost(here, start, end, tripletCell)+tripletCost < cost(here, start, end, g.cell) {
			g.triplet[start] = true
		}
		i = j
	}
}

// cost is how badly onsets fit a grid, squared ticks.
func cost(places []float64, start, end, cell int) float64 {
	sum := 0.0
	var taken []int
	for _, p := range places {
		at := nearestIn(p, start, end, cell)
		sum += (p - float64(at)) * (p - float64(at))
		if slices.Contains(taken, at) {
			sum += collisionCost
		}
		taken = append(taken, at)
	}
	return sum
}
