package main

import (
	"fmt"
	"math"

	"larkhand/internal/bleed"
	"larkhand/internal/bleed/trial"
)

// Targets of takes that were sung beside a loudspeaker: how much NSERtol may rise above that of the clean voice.
const (
	stillRise   = 0.03
	movingRise  = 0.06
	afterTarget = 1.0 // s a take
	bleedStep   = 3   // every third clip meets the conditions, so that the whole command stays within its time
)

// bleed measures how well the known loop is taken out.
func (r *report) bleed() ([]table, error) {
	var some = r.clips[:0:0]
	for i := 0; i < len(r.clips); i += bleedStep {
		some = append(some, r.clips[i])
	}
	rows, err := trial.Run(some, trial.Conditions(), r.seed)
	if err != nil {
		return nil, err
	}
	t := table{title: fmt.Sprintf("The known loop taken out of the take (%s; every third of them)", r.which), head: trial.Head(), rows: trial.Cells(rows)}
	t.notes = []string{
		"Simulated rooms and speakers, loops in the singer's key, delays of 20 to 150 ms, clocks 0, 20, 50 and -50 ppm apart, one pass of the loop before the voice.",
		"NSERtol by which a row lies above clean is known to about 0.02: each has some 200 notes.",
	}
	bleedGoals(rows, &r.goals)
	return []table{t}, nil
}

// bleedGoals pools the rows that have the same target.
func bleedGoals(rows []trial.Row, g *goals) {
	groups := []struct {
		name  string
		bound float64
		in    func(trial.Condition) bool
	}{
		{"loop taken out, still rooms, -20 to 0 dB: NSERtol above clean", stillRise, func(c trial.Condition) bool { return c.Kind == trial.Still }},
		{"loop taken out, microphone moves: NSERtol above clean", movingRise, func(c trial.Condition) bool { return c.Kind == trial.Moving }},
		{"loop taken out, bad speaker, or voice-free stretch not told: NSERtol above clean", stillRise, func(c trial.Condition) bool { return c.Kind == trial.Other }},
		{"loop known only by ear: NSERtol above clean", stillRise, func(c trial.Condition) bool { return c.Kind == trial.ByEar }},
	}
	for _, group := range groups {
		var cleaned, clean trial.Count
		worst, name := math.Inf(-1), ""
		for _, row := range rows {
			if group.in(row.Condition) {
				cleaned, clean = cleaned.Plus(row.Cleaned), clean.Plus(row.Clean)
				if row.Rise() > worst {
					worst, name = row.Rise(), row.Condition.Name
				}
			}
		}
		value := math.NaN()
		if clean.Ref > 0 {
			value = cleaned.NSER() - clean.NSER()
		}
		g.most(group.name, value, group.bound, "%+.3f")
		g.most(fmt.Sprintf("- worst of them (%s)", name), worst, group.bound, "%+.3f")
	}
	var usual, unsaid tally
	for _, row := range rows {
		if row.Condition.Kind == trial.Broken {
			usual.hits += row.Verdicts[bleed.Usual] + row.Verdicts[bleed.SomeBleed]
			usual.of += row.Takes
			unsaid.hits += row.Unsaid
			unsaid.of += row.Takes
		}
	}
	g.most("automatic gain or a dropout: takes neither marked nor refused", usual.percent(), 0, percentFormat)
	g.most("- and with more notes wrong than in the clean voice", unsaid.percent(), 0, percentFormat)
	takes, work, blind, blindWork := 0, 0.0, 0, 0.0
	for _, row := range rows {
		takes, work = takes+row.Takes, work+row.CPU
		if row.Condition.Blind {
			blind, blindWork = blind+row.Takes, blindWork+row.CPU
		}
	}
	g.most("taking the loop out of a take of about 27 s, s of processor time of its thread", work/float64(max(takes, 1)), afterTarget, rateFormat)
	g.most("- where the voice-free stretch is not told", blindWork/float64(max(blind, 1)), afterTarget, rateFormat)
}
