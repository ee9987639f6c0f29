package match

// When the player is blamed. All own, held to the rates that the simulator prints.
const (
	// differentBelow: the played pitch must be less likely than this, under the voice's Chances, to be called
	// different. With 5 % wrong notes of which 22 % lie one key off, a played neighbour is as likely right as wrong at
	// 1 %; answers worked out by ear have more wrong notes, and a voice's small chances are not exact.
	differentBelow = 0.05
	// doubtBelow is the Confidence below which the voice itself is more likely wrong than right.
	doubtBelow = 0.5
	// shortest is the shortest sung note, s, that can have been left out: shorter ones are mostly scoops (typically
	// 50 to 150 ms, common practice, no source), and sung phrases rarely go beyond ten notes a second.
	shortest = 0.1
	// repeatDoubtBelow is the Confidence below which a note without answer that follows or precedes an answered one of
	// the same pitch counts as the other half of one long note. Trackers split 2 of 100 notes, while 7 % of intervals
	// are repeats of which few are left out, so the split is the likelier story unless the voice is very sure.
	repeatDoubtBelow = 0.9
)

// doubtful reports whether the voice is too unsure of s to blame anybody.
func (s *source) doubtful() bool { return s.unclear || s.confidence < doubtBelow }

// judge returns the verdict on source i, answered by mate[i], at shift.
func (l *lattice) judge(mate []int, i, shift int) Verdict {
	if mate[i] == None {
		return l.judgeUnanswered(mate, i)
	}
	s, t := &l.sources[i], &l.targets[mate[i]]
	switch d := t.nearest() - shift - s.semitone; {
	case d >= -1 && d <= 1 && s.likeliest(d):
		return Same
	case s.doubtful(), d == octaveReach, d == -octaveReach, chanceOf(s, t, shift) >= differentBelow:
		return Unclear
	}
	return Different
}

// judgeUnanswered returns the verdict on source i, which has no answer.
func (l *lattice) judgeUnanswered(mate []int, i int) Verdict {
	s := &l.sources[i]
	if s.doubtful() || s.offset-s.onset < shortest {
		return Unclear
	}
	if s.confidence < repeatDoubtBelow && (l.answeredTwin(mate, i, i-1) || l.answeredTwin(mate, i, i+1)) {
		return Unclear
	}
	return LeftOut
}

// answeredTwin reports whether source k is an answered note of the pitch of source i.
func (l *lattice) answeredTwin(mate []int, i, k int) bool {
	return k >= 0 && k < len(mate) && mate[k] != None && l.sources[k].semitone == l.sources[i].semitone
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

// likeliest reports whether no pitch is likelier than Semitone+d, for d from -1 to 1.
func (s *source) likeliest(d int) bool {
	for _, p := range s.chance {
		if p > s.chance[d+1]+same {
			return false
		}
	}
	return true
}
