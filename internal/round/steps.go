package round

import (
	"math"
	"slices"
	"strings"

	"larkhand/internal/entry"
	"larkhand/internal/music"
)

// This file is what comes between take 2 and the answer: numbers and letters that are written down, and singing again.

// write takes the numbers or the letters that were written down.
func (m *Machine) write(text string, at float64) {
	kind := entry.Numbers
	switch m.part {
	case PartNumbers:
	case PartLetters:
		kind = entry.Letters
	default:
		return
	}
	if strings.TrimSpace(text) == "" {
		m.leaveStepOut()
		return
	}
	if _, err := m.reader().Read(kind, text); err != nil {
		m.warn(Unreadable, m.now, sentence(err.Error()))
		return
	}
	seconds := math.Max(0, at-m.began)
	w := Written{}
	if m.facts.Written != nil {
		w = *m.facts.Written
	}
	if kind == entry.Numbers {
		w.Numbers, w.NumbersSeconds = text, &seconds
	} else {
		w.Letters, w.LettersSeconds = text, &seconds
	}
	m.facts.Written = &w
	m.noteDown()
	m.leaveStepOut()
}

// reader reads what is written down. Where the key is to be guessed, whether something can be read does not depend on it: every guessed key has
// seven notes.
func (m *Machine) reader() entry.Reader {
	if m.facts.Key != nil {
		return entry.Reader{Key: *m.facts.Key, Numbering: m.setup.Numbering}
	}
	anyKey, err := music.ParseKey("C")
	if err != nil {
		panic("round: " + err.Error())
	}
	return entry.Reader{Key: anyKey, Numbering: m.setup.Numbering}
}

// sentence makes an error's text a sentence.
func sentence(text string) string {
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// leaveStepOut goes on from a step.
func (m *Machine) leaveStepOut() {
	if m.part == PartNumbers {
		m.enter(PartLetters, m.now, math.Inf(1))
		return
	}
	m.enter(PartThinking, m.now, math.Inf(1))
}

// noteDown has what is known of the round written down at once.
func (m *Machine) noteDown() { m.emit(Command{Kind: NoteDown, At: m.now, Facts: m.copyFacts()}) }

// worksOut is true in the parts between take 2 and the answer.
func (m *Machine) worksOut() bool {
	return m.part == PartNumbers || m.part == PartLetters || m.part == PartThinking
}

// waitFree lets the thinking room last until the player goes on.
func (m *Machine) waitFree() {
	m.unbound = true
	m.facts.Awaited = 0
	if m.part == PartThinking {
		m.deadline, m.barLine = math.Inf(1), math.Inf(1)
	}
}

// singAgain throws take 2 away and sings it anew: at once, or on the form at the next place where a take may begin.
func (m *Machine) singAgain() {
	if !m.worksOut() {
		return
	}
	if kind, gone := m.missing(m.needs(PartTake2)); gone {
		m.warnGone(kind, m.now)
		return
	}
	m.hush(m.now)
	m.discard(m.now, PartTake2)
	m.facts.Takes = slices.Clone(m.facts.Takes[:len(m.facts.Takes)-1])
	m.facts.Written, m.facts.Awaited, m.unbound = nil, 0, false
	m.facts.Helped.SungAgain++
	m.noteDown()
	if !m.onForm() {
		m.enterTake(PartTake2, m.now, m.now)
		return
	}
	begins := m.loop.NextBar(m.now + m.bar()/2)
	if m.setup.FromTop {
		begins = m.nextTop(m.now + m.bar()/2)
	}
	m.again = true
	m.enter(PartCountIn, m.now, begins)
}

// playInPieces begins to play the answer in pieces; before the answer it also ends that again.
func (m *Machine) playInPieces() {
	switch {
	case m.worksOut():
		m.inPieces = !m.inPieces
	case m.part == PartAnswer && !m.inPieces:
		m.inPieces = true
		m.deadline = math.Max(m.now, m.began+longestPieces)
	}
}

// mayMark is true where there is a round that can be marked as misheard.
func (m *Machine) mayMark() bool {
	return m.worksOut() || m.part == PartAnswer && m.inPieces || m.part == PartVerdict
}

// mark marks the round as misheard, or takes the mark away.
func (m *Machine) mark() {
	if !m.mayMark() {
		return
	}
	m.facts.Misheard = !m.facts.Misheard
	if m.part == PartVerdict {
		m.emit(Command{Kind: MarkRound, At: m.now, Misheard: m.facts.Misheard})
		return
	}
	m.noteDown()
}
