package match

import "math"

// Options are what may be known besides the notes.
type Options struct {
	// TuningCents is the take's own tuning: how far, in cents, the tempered scale of the sung Semitones lies above that of
	// A4 = 440 Hz (or of the instrument, if that differs), usually -50 to +50. With it a voice that lay between the keys
	// can be told from a transposed answer. 0, and anything beyond -100 to +100, makes every shift a transposition.
	TuningCents float64
}

// Align lays the answer beside the phrase, knowing nothing of the voice's tuning. Two empty lists give no pairs; without
// an answer every sung note is LeftOut or Unclear; without a phrase every played note is Added.
func Align(sung []Sung, played []Played) Alignment { return AlignWith(sung, played, Options{}) }

// AlignWith is Align with what is known of the take's tuning.
//
// A phrase sung 70 cents sharp reads one semitone too high with a tuning of -30 cents. Its answer then lies one
// semitone below the sung Semitones throughout. Since -30+100 = 70 cents is within reach of a voice, AlignWith reports
// TuningShift -1, VoiceCents 70, Transposition 0. With a tuning of 0 the voice would have been a whole semitone off, so
// the same answer is reported as Transposition -1.
func AlignWith(sung []Sung, played []Played, o Options) Alignment {
	src, sungOrder := sources(sung)
	tgt, playedOrder := targets(played)
	src, tgt = src[:min(len(src), mostNotes)], tgt[:min(len(tgt), mostNotes)]
	tuning := cleanTuning(o.TuningCents)
	a := Alignment{VoiceCents: tuning, TempoRatio: 1}
	l := newLattice(src, tgt, chords(tgt, chordSpread))
	mate := unanswered(len(src))
	var m mapping
	if len(src) > 0 && len(tgt) > 0 {
		m = l.findShift(tuning)
		mate = l.refine(m.fitting)
		a.Octaves, a.Transposition, a.TuningShift = m.octaves, m.transposition, m.tuningShift
		a.VoiceCents -= 100 * float64(m.tuningShift)
		a.TempoRatio = l.tempo(mate)
	}
	a.Pairs = l.pairs(mate, m.shift, a.TempoRatio, sungOrder, playedOrder)
	for _, i := range sungOrder[len(src):] {
		a.Pairs = append(a.Pairs, Pair{i, None, Unclear})
	}
	for _, j := range playedOrder[len(tgt):] {
		a.Pairs = append(a.Pairs, Pair{None, j, Added})
	}
	return a
}

func cleanTuning(cents float64) float64 {
	if !(cents >= -100 && cents <= 100) {
		return 0
	}
	return cents
}

// refine follows the moving reference and settles what is equal in pitch; the lattice is at the shift of f afterwards.
func (l *lattice) refine(f fitting) []int {
	if l.follow(l.drifts(f.mate, f.shift)) {
		f = l.settle(f.shift)
	} else {
		l.fill(f.shift)
	}
	if l.takeFirstRun(f.mate, f.shift) {
		return f.mate
	}
	l.settleRepeats(f.mate)
	return f.mate
}

// tempo returns the tempo ratio of the joined notes. Where other keys were pressed between two of them, the time was
// spent on these; such an interval counts only if there is no other.
func (l *lattice) tempo(mate []int) float64 {
	var all, direct []Interval
	last := None
	for i, j := range mate {
		if j == None {
			continue
		}
		if last != None {
			from := mate[last]
			v := Interval{
				Sung:   l.sources[i].onset - l.sources[last].onset,
				Played: l.targets[j].onset - l.targets[from].onset,
			}
			if v.Sung > 0 && v.Played > 0 {
				all = append(all, v)
				if j == from+1 {
					direct = append(direct, v)
				}
			}
		}
		last = i
	}
	if len(direct) == 0 {
		return FitTempo(all)
	}
	return FitTempo(direct)
}

// pairs lists the result in time order, with the indices of the lists as they were given.
func (l *lattice) pairs(mate []int, shift int, ratio float64, sungOrder, playedOrder []int) []Pair {
	pairs := make([]Pair, 0, len(l.sources)+len(l.targets))
	j := 0
	added := func(to int, before float64) {
		for ; j < to && l.targets[j].onset < before; j++ {
			pairs = append(pairs, Pair{None, playedOrder[j], Added})
		}
	}
	for i, verdict := range l.verdicts(mate, shift) {
		if mate[i] == None {
			next, due := l.due(mate, i, ratio)
			added(next, due)
			pairs = append(pairs, Pair{sungOrder[i], None, verdict})
			continue
		}
		added(mate[i], math.Inf(1))
		pairs = append(pairs, Pair{sungOrder[i], playedOrder[mate[i]], verdict})
		j++
	}
	added(len(l.targets), math.Inf(1))
	return pairs
}

// due returns when source i, which has no answer, would have been due on the answer's clock, and the target that the
// next answered source has (or the number of targets).
func (l *lattice) due(mate []int, i int, ratio float64) (next int, due float64) {
	before, after := joinedBefore(mate, i), joinedAfter(mate, i)
	next = len(l.targets)
	if after != None {
		next = mate[after]
		due = l.targets[next].onset - ratio*(l.sources[after].onset-l.sources[i].onset)
	}
	if before != None {
		due = l.targets[mate[before]].onset + ratio*(l.sources[i].onset-l.sources[before].onset)
	}
	return next, due
}
