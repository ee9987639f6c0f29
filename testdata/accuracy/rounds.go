package main

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/internal/data/piano"
	"larkhand/internal/data/sightsing"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/match"
)

// The targets for whole rounds, percent.
var (
	blameTarget    = target{percent: 0.5}
	missedTarget   = target{percent: 3}
	unclearTarget  = target{percent: 5}
	evidenceTarget = target{percent: 5}
)

const (
	faultSlack = 0.5 // s around the place of a fault within which evidence counts as found
	longWait   = 0.8 // s; before a note that was due later than this, 0.7 s more is hard to tell from holding freely
	allKinds   = 5
)

// kinds of evidence in the order of the table.
var kinds = [allKinds]hunt.Kind{hunt.Correction, hunt.Creep, hunt.Hesitation, hunt.Restart, hunt.Touch}

// verdicts counts what became of labelled notes.
type verdicts struct {
	same, different, leftOut, unclear, unheard tally
}

func (v *verdicts) add(o verdicts) {
	v.same.add(o.same)
	v.different.add(o.different)
	v.leftOut.add(o.leftOut)
	v.unclear.add(o.unclear)
	v.unheard.add(o.unheard)
}

// count adds one note; an empty verdict says that no sung note was heard there.
func (v *verdicts) count(w match.Verdict) {
	v.same.count(w == match.Same)
	v.different.count(w == match.Different)
	v.leftOut.count(w == match.LeftOut)
	v.unclear.count(w == match.Unclear)
	v.unheard.count(w == "")
}

// roundCount is everything that the rounds' tables need.
type roundCount struct {
	cut     cutCount
	refused tally // phrases that the program refuses to judge, with a sentence of what would work

	blame    tally    // right notes called different or left out; heard notes without a label that are called so count too
	right    verdicts // right notes whose key the labels tell
	unscored verdicts // notes whose key the labels do not tell
	outside  verdicts // notes with a known key of faultless answers to the phrases that are left out as unsure
	added    tally    // right strokes called added
	shifted  [2]tally // answers in which a transposition or a wrong octave was found; none was played. [1]: phrases between two keys

	wrong    verdicts // wrong strokes, by their own verdict; unheard: called added
	omitted  verdicts // the sung notes that were left out
	omission tally    // left-out notes found; in a run of one key any of its notes will do

	found      [variants]tally           // any evidence at the place of the fault
	named      [variants]tally           // evidence of the fault's kind there
	waited     [2]tally                  // hesitations found, [1]: where the note was due late anyway
	notKnown   [variants]tally           // answers not labelled known
	searched   [variants]tally           // answers labelled searched
	raised     [variants][allKinds]tally // answers with evidence of a kind that was not put in
	suspicious [2]tally                  // faultless answers with any evidence or not labelled known; [1]: phrases left out as unsure
}

func (c *roundCount) add(o *roundCount) {
	c.cut.add(o.cut)
	c.refused.add(o.refused)
	c.right.add(o.right)
	c.unscored.add(o.unscored)
	c.outside.add(o.outside)
	c.wrong.add(o.wrong)
	c.omitted.add(o.omitted)
	for _, pair := range [][2]*tally{{&c.blame, &o.blame}, {&c.added, &o.added}, {&c.shifted[0], &o.shifted[0]},
		{&c.shifted[1], &o.shifted[1]}, {&c.waited[0], &o.waited[0]}, {&c.waited[1], &o.waited[1]}, {&c.omission, &o.omission}, {&c.suspicious[0], &o.suspicious[0]}, {&c.suspicious[1], &o.suspicious[1]}} {
		pair[0].add(*pair[1])
	}
	for v := range variants {
		c.found[v].add(o.found[v])
		c.named[v].add(o.named[v])
		c.notKnown[v].add(o.notKnown[v])
		c.searched[v].add(o.searched[v])
		for k := range kinds {
			c.raised[v][k].add(o.raised[v][k])
		}
	}
}

// realHand is the timing and touch of the faultless performances.
func realHand(root string) (simulate.Timing, error) {
	performances, err := piano.Load(filepath.Join(root, "piano"))
	if err != nil {
		return nil, err
	}
	return simulate.NewRecorded(faultlessRuns(performances)), nil
}

// rounds judges every phrase of the clips with every variant of answer.
func rounds(root string, clips []sightsing.Clip, seed uint64) (roundCount, error) {
	hand, err := realHand(root)
	if err != nil {
		return roundCount{}, err
	}
	parts, err := inParallel(clips, func(clip sightsing.Clip) (*roundCount, error) { return clipRounds(clip, hand, seed) })
	var all roundCount
	for _, part := range parts {
		all.add(part)
	}
	return all, err
}

// faultlessRuns are the notes of the performances without an edit.
func faultlessRuns(performances []piano.Performance) [][]match.Played {
	var out [][]match.Played
	for _, p := range performances {
		if p.Distance == 0 {
			out = append(out, p.Notes)
		}
	}
	return out
}

// clipRounds judges the phrases of one clip.
func clipRounds(clip sightsing.Clip, hand simulate.Timing, seed uint64) (*roundCount, error) {
	count := &roundCount{}
	phrases, cuts := cut(&clip)
	count.cut = cuts
	sound, err := soundfile.Read(clip.Sound)
	if err != nil {
		return count, err
	}
	for _, p := range phrases {
		from, to := int(p.from*float64(sound.Rate)), min(len(sound.Samples), int(p.to*float64(sound.Rate)))
		take, err := round.SungTake(clip.ID, sound.Samples[from:to], sound.Rate)
		if err != nil {
			return count, fmt.Errorf("clip %s at %.1f s: %w", clip.ID, p.from, err)
		}
		refused := round.CheckTake(take, clip.ID) != nil
		if !p.unsure {
			count.refused.count(refused)
		}
		if refused {
			continue
		}
		for v := range variants {
			if p.unsure && v != faultless {
				break
			}
			a := play(p, v, hand, generator(seed, clip.ID, p.index, v))
			if err := judge(count, p, []round.Take{take}, a); err != nil {
				return count, fmt.Errorf("clip %s at %.1f s, %s: %w", clip.ID, p.from, v, err)
			}
		}
	}
	return count, nil
}

// generator gives each answer its own random numbers, whatever the order of work.
func generator(seed uint64, id string, index int, v variant) *rand.Rand {
	h := fnv.New64a()
	fmt.Fprintf(h, "%s %d %d", id, index, v)
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// judge sends one round through the program's own path and counts the outcome.
func judge(count *roundCount, p phrase, takes []round.Take, a answer) error {
	played, err := a.read()
	if err != nil {
		return err
	}
	r, err := round.Judge(takes, round.Answer{Notes: played}, round.Options{})
	if err != nil {
		return err
	}
	if p.unsure {
		countOutside(count, p, r)
		return nil
	}
	countNotes(count, p, a, r)
	countEvidence(count, a, r)
	return nil
}

// countNotes counts the verdicts of one round.
func countNotes(count *roundCount, p phrase, a answer, r round.Round) {
	bySung := make([]match.Verdict, len(r.Phrase))
	for _, pair := range r.Alignment.Pairs {
		if pair.Sung != match.None {
			bySung[pair.Sung] = pair.Verdict
		} else if label := a.of[pair.Played]; label >= 0 && p.notes[label].scored && label != a.fault {
			count.added.hits++
		}
	}
	owner, heard := owners(p, r.Phrase)
	for i, n := range p.notes {
		verdict := match.Verdict("")
		if heard[i] >= 0 {
			verdict = bySung[heard[i]]
		}
		switch {
		case i == a.fault && a.variant == wrongNote:
			count.wrong.count(wrongVerdict(p, a, r, heard, bySung))
		case i == a.fault && a.variant == leftOut:
			count.omitted.count(verdict)
			count.omission.count(calledNear(p, i, heard, bySung, match.LeftOut))
		case !n.scored:
			count.unscored.count(verdict)
		default:
			count.right.count(verdict)
			count.added.of++
			count.blame.of++
		}
	}
	for d, verdict := range bySung {
		if (verdict == match.Different || verdict == match.LeftOut) && blameless(p, a, owner[d]) {
			count.blame.hits++
		}
	}
	count.shifted[index(p.betweenKeys)].count(r.Alignment.Transposition != 0 || r.Alignment.Octaves != a.octaves)
}

// countOutside counts the verdicts and the finding of a faultless answer to a phrase that is left out.
func countOutside(count *roundCount, p phrase, r round.Round) {
	bySung := make([]match.Verdict, len(r.Phrase))
	for _, pair := range r.Alignment.Pairs {
		if pair.Sung != match.None {
			bySung[pair.Sung] = pair.Verdict
		}
	}
	_, heard := owners(p, r.Phrase)
	for i, n := range p.notes {
		if !n.scored {
			continue
		}
		verdict := match.Verdict("")
		if heard[i] >= 0 {
			verdict = bySung[heard[i]]
		}
		count.outside.count(verdict)
	}
	count.suspicious[1].count(suspicious(r.Finding))
}

// owners says which label each heard note belongs to (-1: none), by the longest time together, and which heard note stands for
// each label (-1: none).
func owners(p phrase, heard []match.Sung) (owner, main []int) {
	owner, main = make([]int, len(heard)), make([]int, len(p.notes))
	longest := make([]float64, len(p.notes))
	for i := range main {
		main[i] = -1
	}
	for d, h := range heard {
		owner[d] = -1
		best := 0.0
		for i, n := range p.notes {
			if o := math.Min(n.offset, h.Offset) - math.Max(n.onset, h.Onset); o > best {
				best, owner[d] = o, i
			}
		}
		if i := owner[d]; i >= 0 && best > longest[i] {
			longest[i], main[i] = best, d
		}
	}
	return owner, main
}

// blameless tells whether a fault called at a heard note of the given label is the program's own: the label's key is known, or there
// is no label, and the player made no fault there. Within a run of one key nobody can tell which note was wrong or left out.
func blameless(p phrase, a answer, label int) bool {
	if label < 0 {
		return true
	}
	if !p.notes[label].scored {
		return false
	}
	switch a.variant {
	case wrongNote, leftOut:
		return !slices.Contains(sameKeyRun(p, a.fault), label)
	default:
		return true
	}
}

// sameKeyRun lists the notes around i that have its key, without another key between.
func sameKeyRun(p phrase, i int) []int {
	first, last := i, i
	for first > 0 && p.notes[first-1].semitone == p.notes[i].semitone {
		first--
	}
	for last+1 < len(p.notes) && p.notes[last+1].semitone == p.notes[i].semitone {
		last++
	}
	var out []int
	for k := first; k <= last; k++ {
		out = append(out, k)
	}
	return out
}

// calledNear tells whether a note of the run around i got one of the verdicts.
func calledNear(p phrase, i int, heard []int, bySung []match.Verdict, wanted ...match.Verdict) bool {
	return slices.ContainsFunc(sameKeyRun(p, i), func(k int) bool { return heard[k] >= 0 && slices.Contains(wanted, bySung[heard[k]]) })
}

// wrongVerdict is the verdict of the wrong stroke; empty where it was called added. A stroke that was paired with a note of its own
// key, while the note of the run that it should have played is called wrong or left out, was noticed too.
func wrongVerdict(p phrase, a answer, r round.Round, heard []int, bySung []match.Verdict) match.Verdict {
	for _, pair := range r.Alignment.Pairs {
		switch {
		case pair.Played != a.fault:
		case pair.Sung == match.None:
			return ""
		case pair.Verdict == match.Same && calledNear(p, a.fault, heard, bySung, match.Different, match.LeftOut):
			return match.Different
		default:
			return pair.Verdict
		}
	}
	return ""
}

// index is 1 for true.
func index(b bool) int {
	if b {
		return 1
	}
	return 0
}

// countEvidence counts the finding of one round.
func countEvidence(count *roundCount, a answer, r round.Round) {
	v := a.variant
	own := map[variant]hunt.Kind{corrected: hunt.Correction, hesitated: hunt.Hesitation}[v]
	var found, named bool
	var raised [allKinds]bool
	for _, e := range r.Finding.Evidence {
		here := own != "" && e.Onset-faultSlack <= a.at && a.at <= e.Offset+faultSlack
		found = found || here
		named = named || here && e.Kind == own
		raised[slices.Index(kinds[:], e.Kind)] = !here || raised[slices.Index(kinds[:], e.Kind)]
	}
	if own != "" {
		count.found[v].count(found)
		count.named[v].count(named)
	}
	if v == hesitated {
		count.waited[index(a.wait > longWait)].count(named)
	}
	for k := range kinds {
		count.raised[v][k].count(raised[k])
	}
	count.notKnown[v].count(r.Finding.Label != hunt.Known)
	count.searched[v].count(r.Finding.Label == hunt.Searched)
	if v == faultless {
		count.suspicious[0].count(suspicious(r.Finding))
	}
}

// suspicious tells whether a finding says anything against the answer.
func suspicious(f hunt.Finding) bool { return len(f.Evidence) > 0 || f.Label != hunt.Known }

// roundTables lays out the outcome.
func roundTables(c roundCount, which string, g *goals) []table {
	g.most("right notes called different or left out (blame without cause)", c.blame.percent(), blameTarget.percent, percentFormat)
	g.most("wrong notes called same", c.wrong.same.percent(), missedTarget.percent, percentFormat)
	g.most("right notes called unclear", c.right.unclear.percent(), unclearTarget.percent, percentFormat)
	notes := table{title: fmt.Sprintf("Rounds on real singing (%s): notes", which), head: shareHead("verdicts")}
	notes.addShare("right notes called different or left out (blame without cause)", c.blame, blameTarget)
	notes.addShare("wrong notes called same", c.wrong.same, missedTarget)
	notes.addShare("right notes called unclear", c.right.unclear, unclearTarget)
	notes.addShare("right notes called same", c.right.same, target{})
	notes.addShare("right notes that were not heard as a note of their own", c.right.unheard, target{})
	notes.addShare("right strokes called added", c.added, target{})
	notes.addShare("wrong notes called different", c.wrong.different, target{})
	notes.addShare("wrong notes called added", c.wrong.unheard, target{})
	notes.addShare("wrong notes called unclear", c.wrong.unclear, target{})
	notes.addShare("left-out notes found", c.omission, target{})
	notes.addShare("left-out notes called unclear", c.omitted.unclear, target{})
	notes.addShare("answers found transposed or in another octave than played", c.shifted[0], target{})
	notes.addShare("the same, phrases sung between two keys", c.shifted[1], target{})
	notes.addShare("notes between two keys: called unclear", c.unscored.unclear, target{})
	notes.addShare("notes between two keys: called different or left out", tally{c.unscored.different.hits + c.unscored.leftOut.hits, c.unscored.different.of}, target{})
	notes.addShare("phrases refused (not like one voice alone, nothing heard)", c.refused, target{})
	notes.addShare("phrases left out, notes of clear key: called unclear", c.outside.unclear, target{})
	notes.addShare("phrases left out, notes of clear key: called different or left out", tally{c.outside.different.hits + c.outside.leftOut.hits, c.outside.different.of}, target{})
	notes.notes = []string{
		fmt.Sprintf("%d pieces between rests: %d phrases used (%d notes, of which %d with label and F0 median over 50 cents apart and %d between two keys are not scored);",
			c.cut.pieces, c.cut.kept, c.cut.notes, c.cut.doubtful, c.cut.between),
		fmt.Sprintf("left out: %d of fewer than 3 notes, %d of more than 12, %d with over a third of the notes not scorable.",
			c.cut.short, c.cut.long, c.cut.unsure),
		"The intervals take notes as independent; those of one phrase are not, so the true intervals are wider. Trained and tuned on the set tune only.",
		"Each phrase is answered five times: without fault, with one wrong note, one left out, one corrected, one hesitation of 0.7 s.",
	}
	evidence := table{title: fmt.Sprintf("Rounds on real singing (%s): evidence of searching", which), head: shareHead("answers")}
	evidence.addShare("no fault: any evidence, or not labelled known", c.suspicious[0], evidenceTarget)
	evidence.addShare("no fault, phrases left out: any evidence, or not labelled known", c.suspicious[1], target{})
	evidence.addShare("no fault: labelled searched", c.searched[faultless], target{})
	evidence.addShare("one corrected: any evidence there", c.found[corrected], target{})
	evidence.addShare("one corrected: named a correction", c.named[corrected], target{})
	evidence.addShare("one corrected: not labelled known", c.notKnown[corrected], target{})
	evidence.addShare("one corrected: labelled searched", c.searched[corrected], target{})
	evidence.addShare("one hesitation: found", c.named[hesitated], target{})
	evidence.addShare("one hesitation: found, note due within 0.8 s", c.waited[0], target{})
	evidence.addShare("one hesitation: found, note due later", c.waited[1], target{})
	evidence.addShare("one hesitation: not labelled known", c.notKnown[hesitated], target{})
	evidence.addShare("one hesitation: labelled searched", c.searched[hesitated], target{})
	evidence.addShare("one wrong note: not labelled known", c.notKnown[wrongNote], target{})
	evidence.addShare("one left out: not labelled known", c.notKnown[leftOut], target{})
	for k, kind := range kinds {
		evidence.addShare(fmt.Sprintf("no fault: %s raised", kind), c.raised[faultless][k], target{})
	}
	for k, kind := range kinds {
		var others tally
		for v := wrongNote; v < variants; v++ {
			others.add(c.raised[v][k])
		}
		evidence.addShare(fmt.Sprintf("another fault: %s raised elsewhere", kind), others, target{})
	}
	return []table{notes, evidence}
}
