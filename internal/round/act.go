package round

import "math"

// This file is what a player can ask for.

// Usual amounts of a key press (own choices).
const (
	usualTempoStep = 4 // quarter notes a minute
	usualKeyStep   = 5 // semitones: round the circle of fourths
	octave         = 12
)

// act does what a player asks for.
func (m *Machine) act(a Action, amount int) {
	switch a {
	case GoOn:
		m.goOn()
	case Repeat:
		m.repeat()
	case Skip:
		m.skip()
	case AnotherKey:
		m.changeKey(amount)
	case Slower:
		m.changeTempo(-1, amount)
	case Faster:
		m.changeTempo(1, amount)
	case Mute:
		m.mute(Backing(amount))
	case Learn:
		m.learning = !m.learning && m.mayLearn()
	case Steps:
		m.steps = !m.steps
	case HearTake, HearNotes, HearKey, HearChord:
		m.hearAgain(a, amount)
	case SingAgain:
		m.singAgain()
	case Pieces:
		m.playInPieces()
	case Misheard:
		m.mark()
	case Stop, Quit:
		m.hush(m.now)
		m.leave(m.now)
		m.stopLoop(m.now)
		if a == Quit {
			m.enter(PartOver, m.now, math.Inf(1))
			return
		}
		if m.part != PartIdle || m.waits {
			m.idle(m.now, false)
		}
	}
}

// goOn ends the part: at once, or on the form at the next bar line.
func (m *Machine) goOn() {
	now := m.now
	if m.part != PartIdle && now-m.began < bounce {
		return
	}
	if m.hushedByGoOn() {
		return
	}
	switch m.part {
	case PartIdle, PartVerdict:
		m.start(now)
	case PartLoopAlone:
		m.shorten(m.plan(math.Max(now, m.loop.Starts), false))
	case PartCountIn:
		m.shorten(m.loop.NextBar(now))
		m.take1 = m.deadline
	case PartTake1, PartTake2:
		if m.onForm() && !m.hold {
			m.shorten(m.nextLine())
			return
		}
		m.endOfTake(now, m.due(now))
	case PartNumbers, PartLetters:
		m.leaveStepOut()
	case PartThinking:
		if !math.IsInf(m.deadline, 1) {
			m.shorten(m.nextLine())
			m.facts.Awaited = m.deadline
			return
		}
		if kind, gone := m.missing(m.needs(PartAnswer)); gone { // it can wait for that
			m.warnGone(kind, now)
			return
		}
		m.enterAnswer(now, now)
	case PartAnswer:
		m.endOfAnswer(now)
	}
}

// nextLine is the next bar line at which a part may end that is to hold something.
func (m *Machine) nextLine() float64 {
	return m.loop.NextBar(math.Max(m.now, m.began+m.bar()/2))
}

// shorten brings the part's end forward.
func (m *Machine) shorten(end float64) {
	if end < m.deadline {
		m.deadline, m.barLine = end, end
	}
}

// repeat begins the round anew, or the same once more after its verdict.
func (m *Machine) repeat() {
	switch m.part {
	case PartLoopAlone:
		return
	case PartVerdict:
		m.turn--
		m.planned = nil
	}
	m.throwAway(m.now)
	m.start(m.now)
}

// skip leaves the round; in a circle it passes the turn.
func (m *Machine) skip() {
	switch m.part {
	case PartIdle:
		return
	case PartVerdict:
		m.start(m.now)
		return
	}
	m.leave(m.now)
	m.turn++
	m.start(m.now)
}

func (m *Machine) changeKey(semitones int) {
	if semitones == 0 {
		semitones = usualKeyStep
	}
	m.heedPlan()
	m.next.shift = mod12(m.next.shift + semitones)
	m.restart()
}

func (m *Machine) changeTempo(way float64, amount int) {
	if m.setup.Timing == NoLoop {
		return
	}
	if amount <= 0 {
		amount = usualTempoStep
	}
	wanted := m.setup
	wanted.Tempo = m.next.tempo + way*float64(amount)
	if wanted.Check() != nil {
		return
	}
	m.next.tempo = wanted.Tempo
	m.restart()
}

// restart lets a change be heard at once where nothing is lost by it.
func (m *Machine) restart() {
	if m.part == PartLoopAlone || m.part == PartCountIn && !m.again {
		m.throwAway(m.now)
		m.start(m.now)
	}
}

func (m *Machine) mute(parts Backing) {
	parts &= Bass | Comping | HiHat | Click
	if parts == 0 || m.setup.Timing == NoLoop {
		return
	}
	m.muted ^= parts
	m.emit(Command{Kind: MuteParts, At: m.now, Muted: m.muted})
}

// mayLearn is true where a key that is played now is no note of an answer.
func (m *Machine) mayLearn() bool {
	return m.part != PartTake2 && !m.worksOut() && m.part != PartAnswer
}

// can lists what a key press would do now.
func (m *Machine) can() []Action {
	if m.part == PartOver {
		return nil
	}
	actions := []Action{GoOn}
	if m.part != PartIdle {
		if m.part != PartLoopAlone {
			actions = append(actions, Repeat)
		}
		actions = append(actions, Skip, Stop)
	}
	if m.setup.Key != nil || m.setup.Timing != NoLoop {
		actions = append(actions, AnotherKey)
	}
	if m.setup.Timing != NoLoop {
		actions = append(actions, Slower, Faster, Mute)
	}
	if m.mayLearn() {
		actions = append(actions, Learn)
	}
	actions = append(actions, Steps)
	for _, a := range []Action{HearTake, HearNotes, HearKey, HearChord} {
		if _, ok := m.asked(a, 0); ok && m.mayHear(a) {
			actions = append(actions, a)
		}
	}
	if _, gone := m.missing(m.needs(PartTake2)); m.worksOut() && !gone {
		actions = append(actions, SingAgain)
	}
	if m.worksOut() || m.part == PartAnswer && !m.inPieces {
		actions = append(actions, Pieces)
	}
	if m.mayMark() {
		actions = append(actions, Misheard)
	}
	return append(actions, Quit)
}
