package match

import "math"

const (
	// sameShare is the share of the clear notes of the longer take that must agree for two takes to be the same phrase.
	// Random diatonic phrases of five notes and more reach it in 2 of 100 pairs, two tracked takes of one phrase miss
	// it in 4 of 1,000 (TestTakesSimulated prints both).
	sameShare = 0.6
	// decided is the probability from which a pitch is clear; the voice uses the same bound.
	decided = 0.8
	// decidedFaint is the probability from which two unclear notes that agree are clear together. Own.
	decidedFaint = 0.9
	// keptPitch is the probability that a singer who repeats a phrase means the same pitch again. Own.
	keptPitch = 0.9
	// doubtedShare is what is left of a Confidence when take 1 knows nothing of a note whose existence was in doubt. Own.
	doubtedShare = 0.5
	// splitShare is what is left of it when take 1 has one note where take 2 has two of the same pitch. Trackers merge
	// repeats more often than they split notes (6 % of repeats against 2 % of notes), so it doubts, it does not
	// dismiss. Own.
	splitShare = 0.8
	// lonelyExistence is the probability of being a note of its own from which a note needs no witness. Own.
	lonelyExistence = 0.8
)

// Agreement says what the second take of a phrase has to do with the first.
type Agreement struct {
	// SamePhrase is true where at least 6 of 10 notes of the longer take, unclear ones not counted, are paired with a note
	// of the other take that was most likely meant as the same pitch after the shift, in the same order. Rhythm and
	// tempo do not count. Two takes without a single clear pair are not the same phrase.
	SamePhrase bool
	// Octaves and Transposition are what the second take lies above the first, as in Alignment. For takes, a shift
	// needs no more evidence than fitting better: singers start where they like.
	Octaves, Transposition int
	// Pairs join notes of the first take (first index) with notes of the second, in time order. They stand in the same
	// place of the phrase, but need not agree in pitch.
	Pairs [][2]int
	// Moved lists those of Pairs, by index, whose pitches clearly differ after the shift.
	Moved []int
}

// Semitones returns how many semitones the second take lies above the first in all.
func (a Agreement) Semitones() int { return 12*a.Octaves + a.Transposition }

// Takes compares two takes of a phrase. An empty take agrees with nothing and gives no pairs.
func Takes(first, second []Sung) Agreement {
	src, firstOrder := sources(first)
	other, secondOrder := sources(second)
	src, other = src[:min(len(src), mostNotes)], other[:min(len(other), mostNotes)]
	a := Agreement{Pairs: [][2]int{}}
	if len(src) == 0 || len(other) == 0 {
		return a
	}
	tgt := make([]target, len(other))
	for j := range other {
		tgt[j] = targetOfSung(&other[j])
	}
	l := newLattice(src, tgt, chords(tgt, 0))
	f := l.findTakeShift()
	mate := f.mate
	l.settleRepeats(mate)
	a.Octaves, a.Transposition = split(f.shift)
	agreeing := 0
	for i, j := range mate {
		if j == None {
			continue
		}
		switch s, o := &src[i], &other[j]; {
		case s.unclear || o.unclear:
		case s.agrees(o, f.shift):
			agreeing++
		case s.meetChance(o, f.shift) < differentBelow:
			a.Moved = append(a.Moved, len(a.Pairs))
		}
		a.Pairs = append(a.Pairs, [2]int{firstOrder[i], secondOrder[j]})
	}
	longer := max(clearNotes(src, other, mate), clearNotes(other, src, inverse(mate, len(other))))
	a.SamePhrase = agreeing > 0 && float64(agreeing) >= sameShare*float64(longer)
	return a
}

// targetOfSung is what a note of the second take offers to the first.
func targetOfSung(s *source) target {
	const pitches = 2*octaveReach + 1
	t := target{onset: s.onset, pitch: float64(s.semitone), base: s.semitone - 1, matched: s.matched, extra: s.left - math.Log(addedPitches)}
	slip := slipRate
	if s.unclear {
		slip = unclearSlipRate
	}
	for c := range t.weight {
		t.weight[c] = (1 - slip) * s.chance[c]
	}
	t.floor = slip / pitches
	return t
}

// findTakeShift returns the best path over all shifts; of equal ones that of the smallest shift.
func (l *lattice) findTakeShift() fitting {
	best, at := math.Inf(-1), 0
	for _, shift := range candidates(l.sources, l.targets) {
		if score := l.score(shift); score > best+same {
			best, at = score, shift
		}
	}
	return l.settle(at)
}

// agrees reports whether both notes were most likely meant as the same pitch, o lying shift semitones higher.
func (s *source) agrees(o *source, shift int) bool { return o.semitone-shift == s.semitone }

// meetChance returns the probability that both notes were meant as the same pitch, o lying shift semitones higher.
func (s *source) meetChance(o *source, shift int) float64 {
	p := 0.0
	for k, c := range s.chance {
		if d := s.semitone + k - (o.semitone - shift); d >= 0 && d < len(o.chance) {
			p += c * o.chance[d]
		}
	}
	return p
}

// clearNotes counts the notes that can agree or disagree: clear ones whose partner, if any, is clear.
func clearNotes(notes, partners []source, mate []int) int {
	count := 0
	for i := range notes {
		if !notes[i].doubtful() && (mate[i] == None || !partners[mate[i]].unclear) {
			count++
		}
	}
	return count
}

// inverse turns mate around: for each of n targets the source that it answers, or None.
func inverse(mate []int, n int) []int {
	owner := unanswered(n)
	for i, j := range mate {
		if j != None {
			owner[j] = i
		}
	}
	return owner
}

// Combine returns the notes of the second take, one for one, with its doubts settled by the first. The second take is
// the reference: no note is taken away, added or moved in time. Where a, from Takes, says that the takes are not the
// same phrase, the notes come back as they are. Otherwise:
//
//   - A paired note's Chances are multiplied with those of its partner, mixed with a tenth of "the singer meant something
//     else this time". An unclear note takes the product as its own; Semitone becomes the likeliest of its three pitches. A
//     Semitone that changes leaves Pitch as it was. It becomes clear when its best chance is then 0.8, or 0.9 where its
//     partner is unclear too.
//   - A clear note keeps Semitone and Chances. One that its partner contradicts by one semitone becomes unclear when its best
//     chance falls under 0.8 in the product. Contradicted by more, it stays: the voice is not off by that much, so the
//     singer changed the phrase.
//   - Where both agree, the note exists as surely as the surer one of them.
//   - A note without partner that was in doubt (unclear, shorter than 0.12 s, or Confidence under 0.8) keeps half of its
//     Confidence. The second of two equal neighbours where the first take has one keeps 0.8 of it. Either becomes
//     unclear under 0.5. A sure note without partner stays: the first take left it out, or its tracker lost it.
func Combine(first, second []Sung, a Agreement) []Sung {
	out := make([]Sung, len(second))
	copy(out, second)
	if !a.SamePhrase {
		return out
	}
	paired := make([]bool, len(second))
	for _, p := range a.Pairs {
		paired[p[1]] = true
		out[p[1]] = settled(first[p[0]], second[p[1]], a.Semitones())
	}
	for j, n := range second {
		if !paired[j] {
			out[j] = unwitnessed(n, pairedTwin(second, paired, j))
		}
	}
	return out
}

// settled returns the second note after what the first says of it.
func settled(first, second Sung, shift int) Sung {
	one, two := sourceOf(first), sourceOf(second)
	var product [3]float64
	for k := range product {
		product[k] = two.chance[k] * (keptPitch*one.meant(two.semitone+k-1-shift-one.semitone) + (1-keptPitch)/addedPitches)
	}
	product = cleanChance(product)
	best := 1
	for k, p := range product {
		if p > product[best]+same {
			best = k
		}
	}
	if !second.Unclear {
		return confirmed(second, one, two, product, shift, best)
	}
	n := second
	n.Semitone = second.Semitone + best - 1
	n.Chance = [3]float64{}
	for k := range n.Chance {
		if from := k + best - 1; from >= 0 && from < len(product) {
			n.Chance[k] = product[from]
		}
	}
	n.Chance = cleanChance(n.Chance)
	agree := one.semitone+shift == n.Semitone
	exists := witnessed(one, two, agree)
	n.Confidence = exists * n.Chance[1]
	bound := decided
	if first.Unclear {
		bound = decidedFaint
	}
	n.Unclear = product[best] < bound || exists < doubtBelow || !agree
	return n
}

// witnessed is the existence of the second note, or of the first where that is surer and they agree. A tracker that splits or scoops makes the same
// error in both takes, so two halves of a note do not confirm one another.
func witnessed(one, two source, agree bool) float64 {
	if agree {
		return max(one.existence, two.existence)
	}
	return two.existence
}

// confirmed returns a clear second note after what the first says of it: its pitch is its own, since both takes are heard by one tracker on
// references that err alike, but it becomes unclear where the first says otherwise.
func confirmed(n Sung, one, two source, product [3]float64, shift, best int) Sung {
	exists := witnessed(one, two, one.semitone+shift == n.Semitone)
	n.Chance = two.chance
	n.Confidence = exists * product[1]
	n.Unclear = best != 1 || product[best] < decided || exists < doubtBelow
	return n
}

// unwitnessed returns a note of the second take that the first take does not have.
func unwitnessed(n Sung, twin bool) Sung {
	s := sourceOf(n)
	switch {
	case s.doubtful() || s.existence < lonelyExistence:
		s.existence *= doubtedShare
	case twin:
		s.existence *= splitShare
	}
	n.Confidence = s.existence * s.chance[1]
	n.Unclear = n.Unclear || s.existence < doubtBelow
	return n
}

// pairedTwin reports whether a neighbour of note j has its pitch and a partner in the first take.
func pairedTwin(notes []Sung, paired []bool, j int) bool {
	for _, k := range []int{j - 1, j + 1} {
		if k >= 0 && k < len(notes) && paired[k] && notes[k].Semitone == notes[j].Semitone {
			return true
		}
	}
	return false
}
