package round

import "math"

// This file is what a player can hear again. What sounds, sounds in place of the loop, which runs on.

// soundState is what sounds.
type soundState struct {
	Sound
	began, ends float64 // began is +Inf until it is known to sound
}

// asked is the sound that an action asks for; ok is false where there is none.
func (m *Machine) asked(a Action, amount int) (s Sound, ok bool) {
	switch a {
	case HearKey:
		shift := m.shift
		if m.part == PartIdle {
			shift = m.next.shift
		}
		key := m.key(shift)
		if key == nil {
			return s, false
		}
		return Sound{What: KeySound, Key: *key}, true
	case HearChord:
		if m.loop == nil {
			return s, false
		}
		chord, ok := m.loop.ChordAt(math.Max(m.now, m.loop.Starts))
		return Sound{What: ChordSound, Chord: chord}, ok && len(chord.Notes()) > 0
	}
	takes := len(m.facts.Takes)
	if amount == 0 {
		amount = takes
	}
	s = Sound{What: TakeSound, Take: amount}
	if a == HearNotes {
		s.What = NotesSound
	}
	return s, amount >= 1 && amount <= takes
}

// mayHear is true where a sound that an action asks for does no harm.
func (m *Machine) mayHear(a Action) bool {
	if _, gone := m.goneText(Speaker); gone {
		return false
	}
	switch m.part {
	case PartIdle, PartLoopAlone:
		return a == HearKey || a == HearChord
	case PartAnswer:
		return m.inPieces && m.hands.count == 0
	}
	return m.worksOut() || m.part == PartVerdict
}

// hearAgain sounds something, or ends it where it sounds already.
func (m *Machine) hearAgain(a Action, amount int) {
	s, ok := m.asked(a, amount)
	if !ok || !m.mayHear(a) {
		return
	}
	if now := m.sounds(m.now); now.What == s.What && now.Take == s.Take {
		m.hush(m.now)
		return
	}
	switch {
	case m.part == PartThinking:
		m.waitFree()
	case m.part == PartVerdict: // it does not pass by itself while somebody listens
		m.deadline, m.barLine = math.Inf(1), math.Inf(1)
	}
	m.sound = soundState{Sound: s, began: math.Inf(1), ends: math.Inf(1)}
	m.emit(Command{Kind: PlaySound, At: m.now, Sound: s})
	if m.part == PartAnswer || m.worksOut() {
		m.newPiece = m.part == PartAnswer
		m.facts.Helped.count(s)
		m.noteDown()
	}
}

// sounds is what sounds at a time.
func (m *Machine) sounds(at float64) Sound {
	if at >= m.sound.ends {
		return Sound{}
	}
	return m.sound.Sound
}

// soundBegan takes that a sound begins, or that it cannot.
func (m *Machine) soundBegan(seconds float64) {
	if m.sound.What == NoSound || !math.IsInf(m.sound.began, 1) {
		return
	}
	m.sound.began = m.now
	m.sound.ends = m.now
	if seconds > 0 && seconds <= longestSound {
		m.sound.ends += seconds
	}
}

// hush ends what sounds.
func (m *Machine) hush(at float64) {
	if m.sounds(m.now).What != NoSound {
		m.emit(Command{Kind: PlaySound, At: at})
	}
	m.sound = soundState{}
}

// hushedByGoOn is true where going on ends a take that sounds, and does nothing more.
func (m *Machine) hushedByGoOn() bool {
	now := m.sounds(m.now).What
	if now != TakeSound && now != NotesSound {
		return false
	}
	m.hush(m.now)
	return true
}
