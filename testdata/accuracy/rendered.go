package main

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"larkhand/internal/data/solos"
	"larkhand/internal/metrics"
	"larkhand/internal/render"
)

// How much is rendered; own.
const (
	renderedPhrases      = 32   // of each renderer, style and pace
	renderedQuickPhrases = 8    // in the quick mode
	ornamentPace         = 0.20 // s, median interval of ghost notes, scoops, falls and enclosures: eighths at 150 quarter notes a minute
	renderedLeast        = 5    // notes of a phrase
	slowTarget           = 0.05 // NSERtol
	fastTarget           = 0.10
	shortestTarget       = 0.10 // s a note, down to which fastTarget holds
)

// runPaces are the median intervals of runs, s: eighths at 120, 160, 200 and 240 quarter notes a minute, and faster.
var runPaces = []float64{0.25, 0.1875, 0.15, 0.125, 0.10, 0.08}

// cell is one renderer, style and pace.
type cell struct {
	renderer render.Renderer
	style    render.Style
	pace     float64 // s; 0 for slow styles
}

// name of the style and pace, without the renderer.
func (c cell) name() string {
	if c.style == render.Runs {
		return fmt.Sprintf("%s, %.0f ms a note", c.style, 1000*c.pace)
	}
	return c.style.String()
}

// renderedCell is what the listeners heard in a cell.
type renderedCell struct {
	cell
	heard   []noteCount                        // by listener
	lengths [len(lengthBounds) + 1]lengthCount // of larkhand
}

// lengthBounds part notes by the interval to the next onset, s (the last of a phrase: by its length).
var lengthBounds = [...]float64{0.09, 0.11, 0.135, 0.165, 0.22, 0.3, 0.5}

// lengthCount are the notes of one range of lengths.
type lengthCount struct{ on, pitch tally }

// countLengths adds the notes of one phrase.
func (c *renderedCell) countLengths(ref, est []metrics.Note) {
	found := func(tol metrics.Tolerance) map[int]bool {
		out := map[int]bool{}
		for _, m := range metrics.MatchNotes(ref, est, tol) {
			out[m.Ref] = true
		}
		return out
	}
	on, pitch := found(metrics.COn), found(metrics.COnP)
	for i, n := range ref {
		long := n.Offset - n.Onset
		if i+1 < len(ref) {
			long = ref[i+1].Onset - n.Onset
		}
		at, _ := slices.BinarySearch(lengthBounds[:], long)
		c.lengths[at].on.count(on[i])
		c.lengths[at].pitch.count(pitch[i])
	}
}

// lengthTable says which share of the rendered notes is found, by their length, all styles and renderers pooled.
func lengthTable(cells []renderedCell, which string) table {
	t := table{title: "Rendered voices by length of note (" + which + "), all styles and renderers", head: []string{"interval to the next onset", "found", "with pitch", "notes"}}
	for k := range len(lengthBounds) + 1 {
		var all lengthCount
		for _, c := range cells {
			all.on.add(c.lengths[k].on)
			all.pitch.add(c.lengths[k].pitch)
		}
		t.add(lengthName(k), all.on.share(), all.pitch.share(), fmt.Sprint(all.on.of))
	}
	t.notes = []string{"Found: a note within 50 ms of the onset; with pitch: also within 50 cents."}
	return t
}

// lengthName names a range of lengths.
func lengthName(k int) string {
	switch {
	case k == 0:
		return fmt.Sprintf("up to %.0f ms", 1000*lengthBounds[0])
	case k == len(lengthBounds):
		return fmt.Sprintf("above %.0f ms", 1000*lengthBounds[k-1])
	default:
		return fmt.Sprintf("%.0f to %.0f ms", 1000*lengthBounds[k-1], 1000*lengthBounds[k])
	}
}

// styles lists the styles and paces, without a renderer.
func styles() []cell {
	var out []cell
	for style := range render.Styles {
		switch {
		case style == render.Runs:
			for _, pace := range runPaces {
				out = append(out, cell{style: style, pace: pace})
			}
		case style.Slow():
			out = append(out, cell{style: style})
		default:
			out = append(out, cell{style: style, pace: ornamentPace})
		}
	}
	return out
}

// cells lists what is rendered: every style and pace by every renderer that is at hand and can sing it.
func cells() []cell {
	var out []cell
	for _, c := range styles() {
		for _, r := range render.All() {
			if r.Missing() == "" && r.Sings(c.style) {
				out = append(out, cell{r, c.style, c.pace})
			}
		}
	}
	return out
}

// rendered renders phrases of the solos in all cells and lets the listeners hear them.
func rendered(root, set string, seed uint64, count int) ([]renderedCell, error) {
	improvised, err := solos.Load(filepath.Join(root, "solos"))
	if err != nil {
		return nil, err
	}
	phrases := renderablePhrases(improvised, set)
	return inParallel(cells(), func(c cell) (renderedCell, error) {
		out := renderedCell{cell: c}
		sounds, err := c.renderer.Render(context.Background(), performances(c, phrases, seed, count))
		if err != nil {
			return out, fmt.Errorf("%s, %s: %w", c.renderer.Name(), c.name(), err)
		}
		var recordings []recording
		for _, s := range sounds {
			recordings = append(recordings, recording{s.Samples, render.Rate, renderedTruth(s.Notes)})
		}
		for m, l := range listeners() {
			var heard noteCount
			if l.missing == "" {
				notes, _, err := l.hear(recordings)
				if err != nil {
					return out, fmt.Errorf("%s, %s: %w", c.renderer.Name(), c.name(), err)
				}
				for i, r := range recordings {
					heard.addNotes(r.ref, notes[i])
					if m == 0 {
						out.countLengths(r.ref, notes[i])
					}
				}
			}
			out.heard = append(out.heard, heard)
		}
		return out, nil
	})
}

// renderablePhrases are the phrases of 5 to 12 notes of every second solo: the even ones for the set tune, the odd ones for kept.
func renderablePhrases(improvised []solos.Solo, set string) [][]solos.Note {
	var out [][]solos.Note
	for i, s := range improvised {
		if (set == "tune" && i%2 == 1) || (set == "kept" && i%2 == 0) {
			continue
		}
		for _, p := range s.Phrases() {
			if len(p) >= renderedLeast && len(p) <= longest {
				out = append(out, p)
			}
		}
	}
	return out
}

// performances draws phrases and performs them; every renderer gets the same.
func performances(c cell, phrases [][]solos.Note, seed uint64, count int) [][]render.Note {
	rng := generator(seed, "rendered", int(c.style), variant(1000*c.pace))
	var out [][]render.Note
	for range count {
		phrase := phrases[rng.IntN(len(phrases))]
		var keys []int
		var onsets, durations []float64
		for _, n := range phrase {
			keys, onsets, durations = append(keys, n.Key), append(onsets, n.Onset), append(durations, n.Duration)
		}
		out = append(out, render.Perform(rng, c.style, c.pace, keys, onsets, durations))
	}
	return out
}

// renderedTruth are the notes for the scorer.
func renderedTruth(notes []render.Note) []metrics.Note {
	var out []metrics.Note
	for _, n := range notes {
		out = append(out, metrics.Note{Onset: n.Onset, Offset: n.Offset, Pitch: n.Pitch})
	}
	return out
}

// renderedTables lays out the outcome.
func renderedTables(cells []renderedCell, which string, g *goals) []table {
	t := table{title: "Rendered voices (" + which + ")",
		head: []string{"style", "renderer", "notes", "heard", "COn", "COnP", "NSERtol"}}
	t.head = append(t.head, peerHeads()...)
	for _, c := range cells {
		self := c.heard[0]
		row := []string{c.name(), c.renderer.Name(), fmt.Sprint(self.ref), fmt.Sprint(self.est), self.f(self.on), self.f(self.pitch), fmt.Sprintf("%.3f", self.noteErrorRate())}
		t.add(append(row, peerRates(c.heard)...)...)
	}
	t.notes = []string{
		"Real phrases of improvised solos, transposed into a voice's range, sung by general-purpose programs. Slow styles have a median interval of 0.25 to 0.45 s,",
		fmt.Sprintf("ghost notes, scoops, falls and enclosures one of %.2f s. Onset: of the vowel; for sampled voices the start of the recorded attack.", ornamentPace),
	}
	for _, r := range render.All() {
		if missing := r.Missing(); missing != "" {
			t.notes = append(t.notes, fmt.Sprintf("%s: skipped: %s.", r.Name(), missing))
		}
	}
	renderedGoals(cells, g)
	return []table{t, lengthTable(cells, which)}
}

// renderedGoals adds one target a style and pace, all renderers pooled, the worst of them named.
func renderedGoals(cells []renderedCell, g *goals) {
	for _, wanted := range styles() {
		if wanted.style == render.Runs && wanted.pace < shortestTarget {
			continue
		}
		var all noteCount
		worst, name := -1.0, fmt.Sprintf("rendered: %s, NSERtol", wanted.name())
		full := name
		for _, c := range cells {
			if c.name() != wanted.name() {
				continue
			}
			self := c.heard[0]
			all.add(self)
			if e := self.noteErrorRate(); e > worst {
				worst, full = e, fmt.Sprintf("%s (worst: %s %.3f)", name, c.renderer.Name(), e)
			}
		}
		value, bound := all.noteErrorRate(), fastTarget
		if all.ref == 0 {
			value = math.NaN()
		}
		if wanted.style.Slow() {
			bound = slowTarget
		}
		g.most(full, value, bound, rateFormat)
	}
}
