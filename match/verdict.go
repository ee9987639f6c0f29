package match

// When the player is blamed. All own, held to the rates that the simulator prints.
const (
	// differentBelow: the played pitch must be less likely than this, under the voice's Chances, to be called
	// different. With 5 % wrong notes of which 22 % lie one key off, a played neighbour is as likely right as wrong at
	// 1 %; answers worked out by ear have more wrong notes, and a voice's small chances are not exact.
	differentBelow = 0.05
	// doubtBelow is the probability of being a note of its own below which a note is more likely none.
	doubtBelow = 0.5
	// shortest is the shortest sung note, s, that can have been left out or played wrong. Shorter ones are mostly scoops,
	// and sung phrases rarely go beyond eight notes a second.
	shortest = 0.12
	// A scoop glides 50 to 150 ms from one or two semitones below into its note (common practice, no source). A note that
	// looks like one must be sureExistence sure to be a note of its own to be held against the player.
	longestScoop = 0.16
	deepestScoop = 2 // semitones
	// Two notes that follow one another within legatoGap, s, were sung without a break.
	legatoGap = 0.03
	// sureExistence is the probability of being a note of its own that a scoop, or one of two equal neighbours, needs to
	// be held against the player. Trackers split 2 of 100 notes, while 7 % of intervals are repeats of which few are left
	// out, so of two equal notes with one answer a split is the likelier story unless the voice is very sure; where
	// there is no break between them, a note counts as left out only from legatoExistence on (halves of split notes on
	// sight-singing clips had up to 0.96).
	sureExistence   = 0.9
	legatoExistence = 0.97
	// jumpLeast is from how many notes at the beginning or end of the phrase on, all answered one semitone off to the
	// same side, it is undecided whether the hand or the voice's reference moved. A take's reference wanders 1.8
	// semitones within a clip (median, measured on nine sight-singing clips), so a tracker that follows it may come
	// out on the wrong key for the rest of a phrase; a player who errs three times running by the same semitone is
	// rare. Own.
	jumpLeast = 3
)

// doubtful reports whether the voice is too unsure of s to blame anybody.
func (s *source) doubtful() bool {
	return s.unclear || s.existence < doubtBelow || s.offset-s.onset < shortest
}

// judge returns the verdict on source i, answered by mate[i], at shift.
func (l *lattice) judge(mate []int, i, shift int) Verdict {
	s, wrong := &l.sources[i], LeftOut
	if mate[i] != None {
		t := &l.targets[mate[i]]
		d := t.nearest() - shift - s.semitone
		if s.likeliest(d) {
			return Same
		}
		if d == octaveReach || d == -octaveReach || chanceOf(s, t, shift) >= differentBelow {
			return Unclear
		}
		wrong = Different
	}
	if s.doubtful() || s.existence < l.needed(mate, i, shift) {
		return Unclear
	}
	return wrong
}

// verdicts returns the verdicts on all sources.
func (l *lattice) verdicts(mate []int, shift int) []Verdict {
	n := len(mate)
	list := make([]Verdict, n)
	for i := range list {
		list[i] = l.judge(mate, i, shift)
	}
	l.excuseJump(list, mate, shift, func(k int) int { return k })
	l.excuseJump(list, mate, shift, func(k int) int { return n - 1 - k })
	return list
}

// excuseJump makes unclear what the reference may have moved by a semitone: at(0), at(1) and so on are the sources from
// one end of the phrase.
func (l *lattice) excuseJump(list []Verdict, mate []int, shift int, at func(int) int) {
	offset, length := 0, 0
	for ; length < len(list); length++ {
		i := at(length)
		if mate[i] == None {
			break
		}
		d := l.targets[mate[i]].nearest() - shift - l.sources[i].semitone
		if length == 0 {
			offset = d
		}
		if d != offset {
			break
		}
	}
	if length < jumpLeast || offset*offset != 1 {
		return
	}
	for k := range length {
		if i := at(k); list[i] == Different {
			list[i] = Unclear
		}
	}
}

// needed returns the probability of being a note of its own that source i needs to be held against the player: more
// where it looks like a scoop into the next note, or like one half of a note whose other half was answered as sung.
func (l *lattice) needed(mate []int, i, shift int) float64 {
	needed := 0.0
	if l.scoop(i) {
		needed = sureExistence
	}
	for _, k := range []int{i - 1, i + 1} {
		if !l.answeredTwin(mate, i, k, shift) {
			continue
		}
		needed = max(needed, sureExistence)
		if mate[i] == None && l.legato(min(i, k)) {
			needed = max(needed, legatoExistence)
		}
	}
	return needed
}

// legato reports whether source i runs into the next one without a break.
func (l *lattice) legato(i int) bool {
	return i+1 < len(l.sources) && l.sources[i+1].onset-l.sources[i].offset < legatoGap
}

// scoop reports whether source i looks like a glide into the next one.
func (l *lattice) scoop(i int) bool {
	if !l.legato(i) {
		return false
	}
	rise := l.sources[i+1].semitone - l.sources[i].semitone
	return rise > 0 && rise <= deepestScoop && l.sources[i].offset-l.sources[i].onset < longestScoop
}

// answeredTwin reports whether source k has the pitch of source i and was answered as sung.
func (l *lattice) answeredTwin(mate []int, i, k, shift int) bool {
	return k >= 0 && k < len(mate) && mate[k] != None && l.sources[k].semitone == l.sources[i].semitone &&
		l.sources[k].likeliest(l.targets[mate[k]].nearest()-shift-l.sources[k].semitone)
}

// nearest returns the key nearest to the pitch of t.
func (t *target) nearest() int {
	at := 0
	for c, w := range t.weight {
		if w > t.weight[at] {
			at = c
		}
	}
	return t.base + at
}

// likeliest reports whether no pitch is likelier than Semitone+d.
func (s *source) likeliest(d int) bool {
	if d < -1 || d > 1 {
		return false
	}
	for _, p := range s.chance {
		if p > s.chance[d+1]+same {
			return false
		}
	}
	return true
}
