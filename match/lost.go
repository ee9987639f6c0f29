package match

import "math"

// Lost is a note of the first take that the second take's list has lost though the answer plays it.
type Lost struct {
	First  int // index in the first take
	Before int // index in the second take before which the note belongs; its length at the end
	Played int // the played note that answers it
	// Onset and Offset are where it should lie, s on the second take's clock, between the notes around it.
	Onset, Offset float64
	// Semitone is what the second take would have had, MIDI number.
	Semitone int
}

// LostNotes finds notes that the second take lost and that both other witnesses have: the first take, clearly, and the answer, as an added
// note of their pitch in their place. Two of three then agree, and two independent errors on the same pitch in the same place are rare, so
// the voice tracker is the likelier one to have erred. An answer without the note is never held against anybody. agreement is that of the
// takes, a the alignment of the answer with the second one. Own.
func LostNotes(first, second []Sung, played []Played, agreement Agreement, a Alignment) []Lost {
	if !agreement.SamePhrase {
		return nil
	}
	mates := map[int]int{} // first -> second
	for _, p := range agreement.Pairs {
		mates[p[0]] = p[1]
	}
	var out []Lost
	taken := map[int]bool{}
	for i := range first {
		s := sourceOf(first[i])
		if _, ok := mates[i]; ok || s.doubtful() {
			continue
		}
		g, ok := gapOf(i, len(first), mates, len(second))
		if !ok {
			continue
		}
		semitone := first[i].Semitone + agreement.Semitones()
		at := a.addedBetween(g.after, g.before, played, float64(semitone+a.Semitones()), taken)
		if at == None {
			continue
		}
		taken[at] = true
		onset, offset := g.place(first, second, i)
		out = append(out, Lost{First: i, Before: g.before, Played: at, Onset: onset, Offset: offset, Semitone: semitone})
	}
	return out
}

// gap is a place between two neighbouring notes of the second take.
type gap struct {
	after, before         int // notes of the second take; after -1 and before len(second) at the ends
	firstLeft, firstRight int // the notes of the first take that they are paired with; None at the ends
}

// gapOf finds where note i of the first take belongs; ok is false where the paired notes around it are no neighbours in the second take, so
// that something else was sung there.
func gapOf(i, n int, mates map[int]int, seconds int) (g gap, ok bool) {
	g = gap{after: -1, before: seconds, firstLeft: None, firstRight: None}
	for k := i - 1; k >= 0; k-- {
		if j, paired := mates[k]; paired {
			g.after, g.firstLeft = j, k
			break
		}
	}
	for k := i + 1; k < n; k++ {
		if j, paired := mates[k]; paired {
			g.before, g.firstRight = j, k
			break
		}
	}
	return g, g.before == g.after+1 && seconds > 0
}

// addedBetween is an added played note of a pitch between the answers to two sung notes, None where there is none. Of notes of that pitch on
// either side any may be the added one.
func (a Alignment) addedBetween(after, before int, played []Played, pitch float64, taken map[int]bool) int {
	same := func(p Pair) bool { return p.Played != None && math.Abs(played[p.Played].Pitch-pitch) < halfSemitone }
	from, to := 0, len(a.Pairs)
	for k, p := range a.Pairs {
		if p.Sung == after && after >= 0 {
			from = k + 1
		}
		if p.Sung == before {
			to = k
		}
	}
	for from > 0 && same(a.Pairs[from-1]) {
		from--
	}
	for to < len(a.Pairs) && same(a.Pairs[to]) {
		to++
	}
	for k := from; k < to; k++ {
		if p := a.Pairs[k]; p.Sung == None && p.Verdict == Added && same(p) && !taken[p.Played] {
			return p.Played
		}
	}
	return None
}

// place maps note i of the first take onto the clock of the second by the paired notes around it, at the pace of the first take where one
// side is missing.
func (g gap) place(first, second []Sung, i int) (onset, offset float64) {
	length := first[i].Offset - first[i].Onset
	switch {
	case g.firstLeft == None:
		right := second[g.before].Onset
		onset = right - (first[g.firstRight].Onset - first[i].Onset)
	case g.firstRight == None:
		onset = second[g.after].Onset + first[i].Onset - first[g.firstLeft].Onset
	default:
		from, to := second[g.after].Onset, second[g.before].Onset
		share := (first[i].Onset - first[g.firstLeft].Onset) / max(first[g.firstRight].Onset-first[g.firstLeft].Onset, leastSpan)
		onset = from + share*(to-from)
		length *= (to - from) / max(first[g.firstRight].Onset-first[g.firstLeft].Onset, leastSpan)
	}
	offset = onset + length
	if g.before < len(second) {
		offset = min(offset, second[g.before].Onset)
	}
	return onset, max(offset, onset)
}

const (
	leastSpan    = 1e-3 // s; keeps shares finite
	halfSemitone = 0.5  // within which a pitch is a key's
)
