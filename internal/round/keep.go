package round

import (
	"math"
	"slices"
)

// This file is what is recorded, kept and thrown away.

func (m *Machine) cutAt(at, cut float64) float64 {
	m.cut = math.Max(m.cut, math.Min(at, math.Max(cut, at-MaxCutBack)))
	return m.cut
}

func (m *Machine) beginTake(p Part, at, cut float64) {
	m.recording = p
	c := m.cutAt(at, cut)
	m.facts.Takes = append(m.facts.Takes, Span{From: c, To: c})
	m.emit(Command{Kind: BeginTake, At: at, Cut: c, Part: p, Take: p.Take(), Player: m.facts.Singer, Facts: m.copyFacts()})
}

func (m *Machine) beginAnswer(at, cut float64) {
	m.recording = PartAnswer
	c := m.cutAt(at, cut)
	m.facts.Answer = Span{From: c, To: c}
	m.emit(Command{Kind: BeginAnswer, At: at, Cut: c, Part: PartAnswer, Player: m.facts.Player, Facts: m.copyFacts()})
}

// endRecording ends what is being recorded, if anything is.
func (m *Machine) endRecording(at, cut float64, short bool) {
	p := m.recording
	if p == PartIdle {
		return
	}
	m.recording = PartIdle
	m.short = m.short || short
	c := m.cutAt(at, cut)
	if p == PartAnswer {
		m.facts.Answer.To = c
		m.emit(Command{Kind: EndAnswer, At: at, Cut: c, Part: p, Player: m.facts.Player, Short: short})
		return
	}
	m.facts.Takes[len(m.facts.Takes)-1].To = c
	m.emit(Command{Kind: EndTake, At: at, Cut: c, Part: p, Take: p.Take(), Player: m.facts.Singer, Short: short})
}

// restartTake throws the silence away that a take in free time has recorded so far.
func (m *Machine) restartTake(at float64) {
	p := m.part
	m.endRecording(at, at, false)
	m.discard(at, p)
	m.facts.Takes = m.facts.Takes[:len(m.facts.Takes)-1]
	m.beginTake(p, at, at)
	m.deadline = at + longestWait
}

func (m *Machine) discard(at float64, p Part) {
	m.emit(Command{Kind: Discard, At: at, Part: p, Take: p.Take()})
}

// save hands the round over.
func (m *Machine) save(at float64) {
	m.emit(Command{Kind: SaveRound, At: at, Facts: m.copyFacts()})
	m.closeRound()
}

func (m *Machine) closeRound() { m.open = false }

func (m *Machine) copyFacts() Facts {
	f := m.facts
	f.Takes = slices.Clone(f.Takes)
	f.Troubles = slices.Clone(f.Troubles)
	f.Pieces = slices.Clone(f.Pieces)
	return f
}

// leave ends a round before its end and keeps what was recorded; where that is nothing, the round's number is free again.
func (m *Machine) leave(at float64) {
	if !m.open {
		return
	}
	m.endRecording(at, at, true)
	for _, t := range m.facts.Takes {
		if !t.Empty() {
			m.save(at)
			return
		}
	}
	m.throwAway(at)
}

// throwAway ends a round and keeps nothing of it.
func (m *Machine) throwAway(at float64) {
	if !m.open {
		return
	}
	m.endRecording(at, at, true)
	m.discard(at, PartIdle)
	m.closeRound()
	m.redo = true
}

// breakOff ends a round because it cannot go on, and waits. The loop plays on.
func (m *Machine) breakOff(at float64) {
	m.leave(at)
	m.idle(at, true)
}
