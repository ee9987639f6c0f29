package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/internal/data/piano"
	"larkhand/internal/data/solos"
	"larkhand/match"
)

// How real performances are measured; own but where a source is named.
const (
	cutPasses    = 4     // times that each faultless performance is cut anew into phrases
	brushPasses  = 40    // the same for one with brushed keys, of which there are few
	errorCuts    = 20    // phrases cut around each real error
	mostEdits    = 20    // edits of a performance; above, the set's readme says to skip it
	brushSeconds = 0.070 // an extra note nearer than this to a right one is a slip of the hand (the data show a gap between 70 and 124 ms)
	brushSteps   = 2     // semitones from a right neighbour, at most
	laidShare    = 0.4   // of the neighbours' velocity: a softer key far from all right ones was only laid down
	laidSeconds  = 0.190 // s
	lateSeconds  = 0.100 // s later than the median rhythm: the flow is lost (in the data mostly 136 ms and more, or none)
	topNotes     = 3     // a start that is given up has at least so many notes
	pace         = 0.22  // s, about the mean interval of the performances
)

// Targets in percent.
const (
	knownTarget       = 0.3
	otherPianoTarget  = 0.6
	realErrorTarget   = 90
	strongTarget      = 97
	lightTarget       = 80
	lookAlikeSearched = 0.3
	lookAlikeNotKnown = 2
)

// errorClass is a class of real errors.
type errorClass string

// The classes. Only the first three are errors that nobody doubts to be search or repair; the others are counted for information.
const (
	restarted   errorClass = "from the top again"
	replayed    errorClass = "a few notes again, or several wrong keys"
	wrongRight  errorClass = "wrong key, then late the right one"
	flowLost    errorClass = "right key again, late"
	flowKept    errorClass = "right key again, in time"
	passing     errorClass = "another key, in time"
	laidFinger  errorClass = "finger laid down softly"
	brushed     errorClass = "brushed key"
	closingNote errorClass = "a key after the last note"
)

// errorClasses in the order of the table; realErrors, the first three, are those that should be found.
var (
	errorClasses = []errorClass{restarted, replayed, wrongRight, flowLost, flowKept, passing, laidFinger, brushed, closingNote}
	realErrors   = errorClasses[:3]
)

// errorGroup is a run of extra notes in an alignment of a whole performance.
type errorGroup struct {
	class    errorClass
	from, to int // pairs, to excluded
}

// errorGroups finds the runs of extra notes and sorts them.
func errorGroups(pairs []match.Pair, notes []match.Played, median []match.Sung) []errorGroup {
	var out []errorGroup
	for i := 0; i < len(pairs); {
		if pairs[i].Verdict != match.Added {
			i++
			continue
		}
		to := i
		for to < len(pairs) && pairs[to].Verdict == match.Added {
			to++
		}
		out = append(out, errorGroup{classify(pairs, i, to, notes, median), i, to})
		i = to
	}
	return out
}

// classify sorts the run of extra notes in pairs [from, to).
func classify(pairs []match.Pair, from, to int, notes []match.Played, median []match.Sung) errorClass {
	var right []match.Pair // before and after
	for _, k := range []int{from - 1, to} {
		if k >= 0 && k < len(pairs) && pairs[k].Played != match.None {
			right = append(right, pairs[k])
		}
	}
	farthest, farthestStep, again, soft := 0.0, 0.0, false, true
	for k := from; k < to; k++ {
		extra := notes[pairs[k].Played]
		nearest, step := math.Inf(1), math.Inf(1)
		for _, r := range right {
			n := notes[r.Played]
			nearest = math.Min(nearest, math.Abs(n.Onset-extra.Onset))
			step = math.Min(step, math.Abs(n.Pitch-extra.Pitch))
			soft = soft && float64(extra.Velocity) < laidShare*float64(n.Velocity)
		}
		farthest, farthestStep, again = math.Max(farthest, nearest), math.Max(farthestStep, step), again || step == 0
	}
	late := len(right) == 2 && lateness(right[0], right[1], notes, median) > lateSeconds
	switch {
	case from == 0 && to-from >= topNotes:
		return restarted
	case farthest < brushSeconds && farthestStep <= brushSteps:
		return brushed
	case to == len(pairs):
		return closingNote
	case soft && farthest > laidSeconds:
		return laidFinger
	case to-from >= 2 && late:
		return replayed
	case again && late:
		return flowLost
	case again:
		return flowKept
	case late:
		return wrongRight
	default:
		return passing
	}
}

// lateness is how much later the second right note comes than the median rhythm asks, s.
func lateness(before, after match.Pair, notes []match.Played, median []match.Sung) float64 {
	if before.Sung == match.None || after.Sung == match.None {
		return 0
	}
	return notes[after.Played].Onset - notes[before.Played].Onset - (median[after.Sung].Onset - median[before.Sung].Onset)
}

// realCount is what was found in the real performances.
type realCount struct {
	noise, pianist, pianistNoise, brushed hunted
	errors                                map[errorClass]hunted // all cuts
	tellable                              map[errorClass]hunted // those in which the phrase had not been played through before the error was mended
	trials                                map[errorClass]int
}

// real judges phrases cut from the performances.
func real(root string, seed uint64, step int) (realCount, error) {
	out := realCount{errors: map[errorClass]hunted{}, tellable: map[errorClass]hunted{}, trials: map[errorClass]int{}}
	performances, err := piano.Load(filepath.Join(root, "piano"))
	if err != nil {
		return out, err
	}
	keys, err := piano.Ideal(filepath.Join(root, "piano"))
	if err != nil {
		return out, err
	}
	runs := faultlessRuns(performances)
	median := medianSong(runs, keys)
	parts, err := inParallel(indices(len(runs)), func(r int) (realCount, error) {
		var part realCount
		if r%step != 0 {
			return part, nil
		}
		rng := generator(seed, "real", r, faultless)
		for range cutPasses {
			for from := 0; from+shortest <= len(keys); {
				n := min(shortest+rng.IntN(longest-shortest+1), len(keys)-from)
				played := runs[r][from : from+n]
				part.noise.count(find(rng, median[from:from+n], played, hunt.Options{}))
				other := sungBy(runs[otherThan(rng, r, len(runs))], keys)[from : from+n]
				part.pianist.count(hunt.Find(other, played, match.Align(other, played), hunt.Options{}))
				part.pianistNoise.count(find(rng, other, played, hunt.Options{}))
				from += n
			}
		}
		return part, nil
	})
	if err != nil {
		return out, err
	}
	for _, p := range parts {
		out.noise.add(p.noise)
		out.pianist.add(p.pianist)
		out.pianistNoise.add(p.pianistNoise)
	}
	for i, p := range performances {
		if p.Distance > 0 && p.Distance <= mostEdits {
			out.judgeErrors(generator(seed, "error", i, faultless), p.Notes, median)
		}
	}
	return out, nil
}

// otherThan draws another index.
func otherThan(rng *rand.Rand, i, n int) int {
	k := rng.IntN(n - 1)
	if k >= i {
		k++
	}
	return k
}

// judgeErrors cuts phrases out of a performance with errors: anywhere, where all are brushed keys, else around each error.
func (c *realCount) judgeErrors(rng *rand.Rand, notes []match.Played, median []match.Sung) {
	pairs := match.Align(median, notes).Pairs
	groups := errorGroups(pairs, notes, median)
	harmless := func(g errorGroup) bool { return g.class == brushed }
	right := func(p match.Pair) bool { return p.Verdict == match.Same || p.Verdict == match.Added }
	if len(groups) > 0 && all(groups, harmless) && all(pairs, right) {
		for range brushPasses {
			for from := 0; from+shortest <= len(median); {
				n := min(shortest+rng.IntN(longest-shortest+1), len(median)-from)
				c.brushed.count(judgePart(rng, pairs, placeOf(pairs, from), placeOf(pairs, from+n-1), notes, median))
				from += n
			}
		}
	}
	for _, g := range groups {
		c.trials[g.class]++
		all, tellable := c.errors[g.class], c.tellable[g.class]
		for range errorCuts {
			first, last := around(rng, g, pairs)
			found := judgePart(rng, pairs, first, last, notes, median)
			all.count(found)
			if !playedThrough(partOf(pairs, first, last, notes, median)) {
				tellable.count(found)
			}
		}
		c.errors[g.class], c.tellable[g.class] = all, tellable
	}
}

// all tells whether all of a list are so.
func all[T any](list []T, so func(T) bool) bool {
	return !slices.ContainsFunc(list, func(x T) bool { return !so(x) })
}

// placeOf is the place of intended note i in the pairs.
func placeOf(pairs []match.Pair, i int) int {
	return slices.IndexFunc(pairs, func(p match.Pair) bool { return p.Sung == i })
}

// around draws a phrase of 3 to 12 notes around an error: pairs [first, last]. It holds as many notes before the error as the error has,
// since those may be what is played again; after a false start as many after it.
func around(rng *rand.Rand, g errorGroup, pairs []match.Pair) (first, last int) {
	extra := min(g.to-g.from, longest-1)
	before, after := extra, 1
	if g.class == restarted {
		before, after = 0, extra
	}
	n := rng.IntN(longest - before - after + 1)
	more := 0
	if g.class != restarted && n > 0 {
		more = rng.IntN(n + 1)
	}
	before, after = before+more, max(after+n-more, shortest-before-more)
	return reach(pairs, g.from, -1, before), reach(pairs, g.to-1, 1, after)
}

// reach walks from place i over n intended notes, as far as there are any.
func reach(pairs []match.Pair, i, step, n int) int {
	for n > 0 && i+step >= 0 && i+step < len(pairs) {
		i += step
		if pairs[i].Sung != match.None {
			n--
		}
	}
	return i
}

// judgePart judges the pairs [first, last].
func judgePart(rng *rand.Rand, pairs []match.Pair, first, last int, notes []match.Played, median []match.Sung) hunt.Finding {
	sung, played := partOf(pairs, first, last, notes, median)
	return find(rng, sung, played, hunt.Options{})
}

// playedThrough tells whether the whole phrase is played without a stop or a wrong key, and more keys follow. Such an answer cannot be told
// from a known one after which the player played on: nothing in it shows that the performer was still on the way.
func playedThrough(sung []match.Sung, played []match.Played) bool {
	for start := 0; start+len(sung) < len(played); start++ {
		fits := true
		for i, s := range sung {
			fits = fits && int(math.Round(played[start+i].Pitch)) == s.Semitone
		}
		if fits {
			return true
		}
	}
	return false
}

// partOf are the notes of the pairs [first, last].
func partOf(pairs []match.Pair, first, last int, notes []match.Played, median []match.Sung) (sung []match.Sung, played []match.Played) {
	for _, p := range pairs[first : last+1] {
		if p.Sung != match.None {
			sung = append(sung, median[p.Sung])
		}
		if p.Played != match.None {
			played = append(played, notes[p.Played])
		}
	}
	return sung, played
}

// medianSong is the piece as its median player plays it.
func medianSong(runs [][]match.Played, keys []int) []match.Sung {
	song := make([]match.Sung, len(keys))
	at := 0.0
	rhythm := simulate.MedianRhythm(runs)
	for i, key := range keys {
		interval := pace
		if i < len(rhythm) {
			interval *= rhythm[i]
		}
		song[i] = sureNote(at, at+interval, key)
		at += interval
	}
	return song
}

// sungBy takes a performance for a song.
func sungBy(run []match.Played, keys []int) []match.Sung {
	song := make([]match.Sung, len(keys))
	for i, key := range keys {
		song[i] = sureNote(run[i].Onset, run[i].Offset, key)
		if i+1 < len(keys) {
			song[i].Offset = math.Min(run[i].Offset, run[i+1].Onset)
		}
	}
	return song
}

// sureNote is a sung note as a sure tracker would report it.
func sureNote(onset, offset float64, key int) match.Sung {
	return match.Sung{Onset: onset, Offset: offset, Pitch: float64(key), Semitone: key, Chance: [3]float64{0.02, 0.96, 0.02}, Confidence: 0.95}
}

// realTables lays out the outcome.
func realTables(c realCount, g *goals) []table {
	t := table{title: "Known or searched for: real performances, phrases of 3 to 12 notes", head: []string{"answers", "any evidence", "not labelled known", "labelled searched", "phrases", "errors"}}
	row := func(name string, h hunted, trials string) {
		t.add(name, h.evidence.share(), h.half.share(), h.searched.share(), fmt.Sprint(h.half.of), trials)
	}
	row("faultless, singer: median rhythm, onsets 30 ms unsure", c.noise, "")
	row("faultless, singer: another pianist", c.pianist, "")
	row("faultless, singer: another pianist, onsets 30 ms unsure", c.pianistNoise, "")
	row("only brushed keys, onsets 30 ms unsure", c.brushed, "")
	for _, class := range errorClasses {
		row("with "+string(class), c.errors[class], fmt.Sprint(c.trials[class]))
		if slices.Contains(realErrors, class) {
			row("- of these not played through before", c.tellable[class], "")
		}
	}
	t.notes = []string{
		fmt.Sprintf("Each faultless performance is cut %d times into phrases, each one with brushed keys only %d times; %d phrases are cut around each error.", cutPasses, brushPasses, errorCuts),
		"Played through before: the cut-out phrase stands whole and unbroken before the keys that were played again, as in a known answer after which one plays on.",
		"They play a prepared piece: an error there is a repair, and no label says which repairs are search.",
	}
	known := c.noise.half
	known.add(c.brushed.half)
	g.most("real known answers (faultless and brushed keys) not called known, onsets 30 ms unsure", known.percent(), knownTarget, percentFormat)
	g.most("the same with another pianist as the singer, onsets 30 ms unsure", c.pianistNoise.half.percent(), otherPianoTarget, percentFormat)
	var found, tellable tally
	for _, class := range realErrors {
		found.add(c.errors[class].half)
		tellable.add(c.tellable[class].half)
	}
	g.least("real restarts, replays, wrong-then-right not called known", found.percent(), realErrorTarget, percentFormat)
	g.least("the same where the phrase had not been played through before", tellable.percent(), realErrorTarget, percentFormat)
	return []table{t}
}

// pooled are the generated cases of all kinds.
type pooled struct {
	strengths [3]hunted
	looks     hunted
	bins      [reliabilityBins]reliabilityBin
}

// reliabilityBins is how many equal ranges of the probability the reliability table has.
const reliabilityBins = 10

// reliabilityBin is one range of the probability: known and searched cases weigh the same in all.
type reliabilityBin struct{ weight, p, searched float64 }

func (p *pooled) see(f hunt.Finding, searched bool, weight float64) {
	b := &p.bins[min(reliabilityBins-1, int(f.Searched*reliabilityBins))]
	b.weight += weight
	b.p += weight * f.Searched
	if searched {
		b.searched += weight
	}
}

// pool judges generated searching of every kind and strength, look-alikes, and fluent answers.
func pool(root string, seed uint64, step int) (pooled, error) {
	var out pooled
	performances, err := piano.Load(filepath.Join(root, "piano"))
	if err != nil {
		return out, err
	}
	improvised, err := solos.Load(filepath.Join(root, "solos"))
	if err != nil {
		return out, err
	}
	timing := simulate.NewRecorded(faultlessRuns(performances))
	phrases := soloPhrases(improvised, step)
	parts, err := inParallel(indices(len(phrases)), func(i int) (*pooled, error) {
		return poolPhrase(phrases[i], timing, generator(seed, "pool", i, faultless)), nil
	})
	for _, p := range parts {
		for k := range out.strengths {
			out.strengths[k].add(p.strengths[k])
		}
		out.looks.add(p.looks)
		for k, b := range p.bins {
			o := &out.bins[k]
			o.weight, o.p, o.searched = o.weight+b.weight, o.p+b.p, o.searched+b.searched
		}
	}
	return out, err
}

// poolPhrase judges one phrase in all ways. In the reliability table half of the weight is searched, a quarter fluent, a quarter
// look-alikes.
func poolPhrase(notes []solos.Note, timing simulate.Timing, rng *rand.Rand) *pooled {
	p := &pooled{}
	fresh := func() simulate.Case { return simulate.Answer(rng, song(rng, notes), timing) }
	for _, kind := range kinds {
		for k := range p.strengths {
			c := simulate.Put(rng, fresh(), kind, k+1)
			if len(c.Faults) == 0 {
				continue
			}
			f := find(rng, c.Sung, c.Played, hunt.Options{})
			p.strengths[k].count(f)
			p.see(f, true, 0.5/float64(allKinds*len(p.strengths)))
		}
	}
	for _, look := range simulate.Looks {
		c := simulate.LookAlike(rng, fresh(), look)
		f := find(rng, c.Sung, c.Played, hunt.Options{Guitar: look == simulate.Ghost})
		p.looks.count(f)
		p.see(f, false, 0.25/float64(len(simulate.Looks)))
	}
	c := fresh()
	p.see(find(rng, c.Sung, c.Played, hunt.Options{}), false, 0.25)
	return p
}

// ofWeight is a mean, "-" of nothing.
func ofWeight(sum, weight float64) string {
	if weight == 0 {
		return "-"
	}
	return fmt.Sprintf("%.2f", sum/weight)
}

// poolTables lays out the outcome.
func poolTables(p pooled, g *goals) []table {
	t := table{title: "Known or searched for: generated answers, all kinds together", head: []string{"answers", "not labelled known", "labelled searched", "of"}}
	for k, h := range p.strengths {
		t.add(fmt.Sprintf("searching, strength %d", k+1), h.half.share(), h.searched.share(), fmt.Sprint(h.half.of))
	}
	t.add("look-alikes", p.looks.half.share(), p.looks.searched.share(), fmt.Sprint(p.looks.half.of))
	reliability := table{title: "Reliability of the probability of searching", head: []string{"probability", "share of cases", "mean probability", "truly searched"}}
	for k, b := range p.bins {
		var total float64
		for _, o := range p.bins {
			total += o.weight
		}
		reliability.add(fmt.Sprintf("%.1f to %.1f", float64(k)/reliabilityBins, float64(k+1)/reliabilityBins), fmt.Sprintf("%.1f %%", 100*b.weight/total),
			ofWeight(b.p, b.weight), ofWeight(b.searched, b.weight))
	}
	reliability.notes = []string{"Half searched (all kinds and strengths), a quarter fluent, a quarter look-alikes."}
	strong := p.strengths[1].searched
	strong.add(p.strengths[2].searched)
	g.least("generated searching of strength 2 and 3 called searched", strong.percent(), strongTarget, percentFormat)
	g.least("generated searching of strength 1 not called known", p.strengths[0].half.percent(), lightTarget, percentFormat)
	g.most("look-alikes called searched", p.looks.searched.percent(), lookAlikeSearched, percentFormat)
	g.most("look-alikes not called known", p.looks.half.percent(), lookAlikeNotKnown, percentFormat)
	return []table{t, reliability}
}
