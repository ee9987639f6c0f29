package round

import (
	"maps"
	"math"
	"slices"
)

// This file is what the machine makes of voice, hands, keys and devices.

// mine is true where an event comes from the device of the person whose turn it is at the microphone or the keyboard.
func (m *Machine) mine(kind DeviceKind, device string) bool {
	name := m.deviceOf(kind)
	return name == "" || device == "" || name == device
}

// deviceOf is the name of the device of the singer or the player; "" for any.
func (m *Machine) deviceOf(kind DeviceKind) string {
	people := m.setup.people()
	switch kind {
	case Microphone:
		return people[m.singer()].Microphone
	case Keyboard:
		return people[m.player()].Keyboard
	}
	return ""
}

// hear takes the beginning or the end of the voice.
func (m *Machine) hear(e Event) {
	if !m.mine(Microphone, e.Device) {
		return
	}
	since := e.Since
	if math.IsNaN(since) || since > e.Time || since < e.Time-MaxCutBack {
		since = e.Time
	}
	if e.Kind == VoicePaused {
		m.pause(since)
		return
	}
	on := e.Kind == VoiceStarted
	if on == m.voice.on {
		return
	}
	m.voice.on = on
	if on {
		m.voice.since = since
		m.voiceBegan()
		return
	}
	m.voice.until = since
	m.voiceEnded()
}

// pause takes a short pause of the voice: a held note is over then.
func (m *Machine) pause(since float64) {
	if !m.voice.on || since < m.voice.since {
		return
	}
	m.voice.paused = since
	if m.hold && since >= m.barLine-onsetRoom {
		m.endOfTake(m.now, since)
	}
}

func (m *Machine) voiceBegan() {
	take := m.part.Take()
	if take == 0 {
		return
	}
	m.heard[take] = true
	m.hands.early = math.Inf(1)
	if !m.onForm() {
		began := m.facts.Takes[len(m.facts.Takes)-1].From
		m.deadline = math.Max(m.now, began+longestTake)
	}
}

func (m *Machine) voiceEnded() {
	switch {
	case m.part.Take() == 0:
	case m.hold:
		m.endOfTake(m.now, m.voice.until)
	case m.onForm():
	case m.part == PartTake2 && m.hands.early < math.Inf(1):
		m.endOfTake(m.now, m.hands.early)
	default:
		m.deadline = math.Max(m.now, m.voice.until+takeSilence)
	}
}

// feel takes a key that was struck or let go.
func (m *Machine) feel(e Event) {
	if e.Key < 0 || e.Key >= len(m.hands.down) || !m.mine(Keyboard, e.Device) {
		return
	}
	if m.learning && e.Kind == NotePlayed && e.Key != 0 {
		m.learning, m.setup.GoOnKey, m.setup.GoOnPedal = false, e.Key, false
		return
	}
	if e.Key == m.setup.GoOnKey && e.Key != 0 {
		if e.Kind == NotePlayed {
			m.act(GoOn, 0)
		}
		return
	}
	at := math.Min(e.Time, m.now)
	if e.Kind == NoteReleased {
		m.release(e.Key, at)
		return
	}
	switch m.part {
	case PartTake2:
		m.playEarly(at)
	case PartNumbers, PartLetters, PartThinking:
		m.answerBegins(at)
	case PartAnswer:
		m.strike(at)
	}
	if m.part == PartAnswer && !m.hands.down[e.Key] {
		m.hands.down[e.Key] = true
		m.hands.count++
	}
	m.free(at)
}

// playEarly takes a note that is struck while take 2 is not over yet.
func (m *Machine) playEarly(at float64) {
	if !m.heard[2] || m.hands.early < math.Inf(1) {
		return
	}
	switch {
	case m.hold:
		m.hands.early = at
		m.endOfTake(m.now, at)
	case m.onForm():
		last := m.barLine - math.Min(m.beat(), longestBeat)
		if !m.voice.on && m.setup.ThinkingBars == 0 && !m.steps && at >= last {
			m.hands.early = at
		}
	default:
		m.hands.early = at
		if !m.voice.on {
			m.endOfTake(m.now, at)
		}
	}
}

// strike counts a note of the answer.
func (m *Machine) strike(at float64) {
	m.hush(m.now)
	if m.inPieces && m.betweenPieces(at) {
		m.facts.Pieces = append(m.facts.Pieces, at)
		m.noteDown()
	}
	m.newPiece = false
	m.hands.notes++
	m.hands.struck = math.Max(m.hands.struck, at)
	m.hands.latest = math.Max(m.hands.latest, at)
}

// betweenPieces is true where a note that is struck at a time begins a piece of the answer that is not the first.
func (m *Machine) betweenPieces(at float64) bool {
	silent := m.hands.count == 0 && at-m.hands.latest >= pieceSilence
	return m.hands.notes > 0 && at > m.hands.struck && (m.newPiece || silent || at-m.hands.struck >= pieceHeld)
}

func (m *Machine) release(key int, at float64) {
	if !m.hands.down[key] {
		return
	}
	m.hands.down[key] = false
	m.hands.count--
	m.hands.latest = math.Max(m.hands.latest, at)
	m.free(at)
}

// free moves the end of an answer in free time: it comes when the hands have rested.
func (m *Machine) free(at float64) {
	if m.part != PartAnswer || m.onForm() || m.inPieces || m.hands.notes == 0 {
		return
	}
	m.deadline = math.Max(m.began+longestAnswer, m.now)
	if m.hands.count == 0 {
		m.deadline = math.Min(m.deadline, math.Max(m.hands.latest+playSilence, m.now))
	}
}

// needs are the kinds of device that a part cannot do without.
func (m *Machine) needs(p Part) []DeviceKind {
	switch p {
	case PartLoopAlone, PartCountIn, PartTake1, PartTake2:
		if m.setup.Timing == NoLoop {
			return []DeviceKind{Microphone}
		}
		return []DeviceKind{Microphone, Speaker}
	case PartAnswer:
		return []DeviceKind{Keyboard}
	}
	return nil
}

// allNeeds are the kinds of device that a round cannot do without.
func (m *Machine) allNeeds() []DeviceKind {
	return append(m.needs(PartTake1), m.needs(PartAnswer)...)
}

// missing is the first of these kinds of which the device that is meant is gone.
func (m *Machine) missing(kinds []DeviceKind) (kind DeviceKind, gone bool) {
	for _, k := range kinds {
		if _, gone := m.goneText(k); gone {
			return k, true
		}
	}
	return 0, false
}

// goneText is what is said of the device of this kind that is meant, if it is gone. Where any device is meant and several are gone, it is said of the
// first by name.
func (m *Machine) goneText(kind DeviceKind) (text string, gone bool) {
	lost := m.lost[kind]
	if text, gone = lost[m.deviceOf(kind)]; gone {
		return text, true
	}
	if text, gone = lost[""]; gone || m.deviceOf(kind) != "" || len(lost) == 0 {
		return text, gone
	}
	return lost[slices.Min(slices.Collect(maps.Keys(lost)))], true
}

func knownDevice(kind DeviceKind) bool { return kind >= Microphone && kind <= Keyboard }

func (m *Machine) lose(e Event) {
	if !knownDevice(e.Lost) {
		return
	}
	if _, known := m.lost[e.Lost][e.Device]; known {
		return
	}
	m.lost[e.Lost][e.Device] = e.Text
	m.warn(goneWarnings[e.Lost], m.now, e.Text)
	if e.Lost == Speaker {
		m.hush(m.now)
	}
	if e.Lost == Microphone && m.mine(Microphone, e.Device) && m.voice.on {
		m.voice.on, m.voice.until = false, m.now
	}
	if _, gone := m.missing(m.needs(m.part)); gone {
		m.breakOff(m.now)
	}
	switch {
	case e.Lost != Speaker:
	case m.part == PartIdle:
		m.stopLoop(m.now)
	default: // an answer goes on by the bars that were heard so far
		m.stale = true
	}
}

func (m *Machine) regain(e Event) {
	if !knownDevice(e.Lost) {
		return
	}
	if _, lost := m.lost[e.Lost][e.Device]; !lost {
		return
	}
	delete(m.lost[e.Lost], e.Device)
	m.warnBack(e.Lost, m.now)
	if e.Lost != Keyboard {
		m.leadIn = m.setup.LeadIn
	}
	if m.part == PartIdle && m.waits {
		if _, gone := m.missing(m.allNeeds()); !gone {
			m.start(m.now)
		}
	}
}

// sleep is called when no event came for a long time: what was under way is over.
func (m *Machine) sleep(at float64) {
	m.leave(m.now)
	m.stopLoop(m.now)
	m.idle(m.now, false)
	m.leadIn = m.setup.LeadIn
	m.now = at
}
