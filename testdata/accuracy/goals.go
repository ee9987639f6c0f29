package main

import (
	"fmt"
	"math"
)

// goal is one target with what was measured.
type goal struct {
	name    string
	value   float64 // NaN: not measured
	bound   float64
	atLeast bool   // else at most
	format  string // of value and bound
}

// goals are the targets of all sections that were measured, for one table at the end.
type goals []goal

// most adds a target that the value should not pass.
func (g *goals) most(name string, value, bound float64, format string) {
	*g = append(*g, goal{name, value, bound, false, format})
}

// least adds a target that the value should reach.
func (g *goals) least(name string, value, bound float64, format string) {
	*g = append(*g, goal{name, value, bound, true, format})
}

// percent is a tally in percent, NaN of nothing.
func (t tally) percent() float64 {
	if t.of == 0 {
		return math.NaN()
	}
	return 100 * float64(t.hits) / float64(t.of)
}

// The two formats of goals.
const (
	rateFormat    = "%.3f"
	percentFormat = "%.2f %%"
)

// verdict says whether the goal is met.
func (g goal) verdict() string {
	switch {
	case math.IsNaN(g.value):
		return "skipped"
	case (g.atLeast && g.value >= g.bound) || (!g.atLeast && g.value <= g.bound):
		return "met"
	default:
		return "missed"
	}
}

// row lays the goal out.
func (g goal) row() []string {
	value := "-"
	if !math.IsNaN(g.value) {
		value = fmt.Sprintf(g.format, g.value)
	}
	side := "at most "
	if g.atLeast {
		side = "at least "
	}
	return []string{g.name, value, side + fmt.Sprintf(g.format, g.bound), g.verdict()}
}

// table lists all goals.
func (g goals) table(which string) table {
	t := table{title: "Targets (" + which + ")", head: []string{"measure", "value", "target", ""}}
	missed := 0
	for _, one := range g {
		t.add(one.row()...)
		if one.verdict() == "missed" {
			missed++
		}
	}
	t.notes = []string{fmt.Sprintf("%d of %d targets missed.", missed, len(g))}
	return t
}
