package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/internal/data/piano"
	"larkhand/internal/data/solos"
	"larkhand/match"
)

// huntingNoise is the error of a sung onset, s: about that of labels against labels (80 % within 30 ms).
const huntingNoise = 0.03

// hunted counts the findings of many answers.
type hunted struct{ evidence, half, searched tally }

func (h *hunted) count(f hunt.Finding) {
	h.evidence.count(len(f.Evidence) > 0)
	h.half.count(f.Label != hunt.Known)
	h.searched.count(f.Label == hunt.Searched)
}

// add sums two counts.
func (h *hunted) add(o hunted) {
	h.evidence.add(o.evidence)
	h.half.add(o.half)
	h.searched.add(o.searched)
}

// find judges an answer to a phrase whose onsets are blurred as a voice tracker would.
func find(rng *rand.Rand, sung []match.Sung, played []match.Played, opt hunt.Options) hunt.Finding {
	heard := simulate.Blur(rng, sung, huntingNoise)
	return hunt.Find(heard, played, match.Align(heard, played), opt)
}

// hunting measures the finding alone, on notes: no sound.
func hunting(root string, seed uint64, step int) ([]table, error) {
	performances, err := piano.Load(filepath.Join(root, "piano"))
	if err != nil {
		return nil, err
	}
	improvised, err := solos.Load(filepath.Join(root, "solos"))
	if err != nil {
		return nil, err
	}
	timing := simulate.NewRecorded(faultlessRuns(performances))
	phrases := soloPhrases(improvised, step)

	fluent := table{title: "Known or searched for, on notes: answers that were known", head: []string{"answers", "any evidence", "not labelled known", "labelled searched", "of", "target for the first two"}}
	addHunted(&fluent, "phrases of real solos, fluent", generated(phrases, timing, seed, hunt.Options{}, fluently), evidenceTarget.String())
	for _, look := range simulate.Looks {
		h := generated(phrases, timing, seed, hunt.Options{Guitar: look == simulate.Ghost},
			func(rng *rand.Rand, c simulate.Case) (simulate.Case, bool) {
				return simulate.LookAlike(rng, c, look), true
			})
		addHunted(&fluent, "with "+string(look), h, "")
	}
	found := table{title: "Known or searched for, on notes: generated searching in phrases of real solos", head: []string{"one fault, light / middle / heavy", "not labelled known", "labelled searched", "of each"}}
	for _, kind := range kinds {
		var half, searched [3]tally
		for k := range half {
			h := generated(phrases, timing, seed, hunt.Options{}, func(rng *rand.Rand, c simulate.Case) (simulate.Case, bool) {
				c = simulate.Put(rng, c, kind, k+1)
				return c, len(c.Faults) > 0
			})
			half[k], searched[k] = h.half, h.searched
		}
		found.add(string(kind), three(half), three(searched), fmt.Sprint(half[0].of))
	}
	found.notes = []string{
		fmt.Sprintf("Sung onsets off by a standard deviation of %.0f ms. Nobody in the recordings searches for a tune, so searching is generated.", 1000*huntingNoise),
		"The constants of the finding were chosen with these recordings in view.",
	}
	return []table{fluent, found}, nil
}

// fluently leaves a case as it is.
func fluently(_ *rand.Rand, c simulate.Case) (simulate.Case, bool) { return c, true }

// addHunted puts one row below the others.
func addHunted(t *table, name string, h hunted, goal string) {
	t.add(name, h.evidence.share(), h.half.share(), h.searched.share(), fmt.Sprint(h.half.of), goal)
}

// three is "light / middle / heavy".
func three(t [3]tally) string {
	return fmt.Sprintf("%s / %s / %s", t[0].share(), t[1].share(), t[2].share())
}

// soloPhrases are the phrases of 3 to 12 notes, every step-th.
func soloPhrases(improvised []solos.Solo, step int) [][]solos.Note {
	var out [][]solos.Note
	seen := 0
	for _, s := range improvised {
		for _, p := range s.Phrases() {
			if len(p) < shortest || len(p) > longest {
				continue
			}
			if seen%step == 0 {
				out = append(out, p)
			}
			seen++
		}
	}
	return out
}

// generated judges one answer to each phrase. put changes the fluent answer and says whether it fitted; else it is not counted.
func generated(phrases [][]solos.Note, timing simulate.Timing, seed uint64, opt hunt.Options, put func(*rand.Rand, simulate.Case) (simulate.Case, bool)) hunted {
	parts, _ := inParallel(indices(len(phrases)), func(i int) (hunted, error) {
		var h hunted
		rng := generator(seed, "solo", i, faultless)
		if c, fitted := put(rng, simulate.Answer(rng, song(rng, phrases[i]), timing)); fitted {
			h.count(find(rng, c.Sung, c.Played, opt))
		}
		return h, nil
	})
	var all hunted
	for _, h := range parts {
		all.add(h)
	}
	return all
}

// song sings a phrase of a solo, slowed as a singer would.
func song(rng *rand.Rand, notes []solos.Note) []match.Sung {
	keys := make([]int, len(notes))
	onsets, durations := make([]float64, len(notes)), make([]float64, len(notes))
	for i, n := range notes {
		keys[i], onsets[i], durations[i] = n.Key, n.Onset, n.Duration
	}
	return simulate.Sing(rng, keys, onsets, durations, 0)
}

// indices are 0 to n-1.
func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}
