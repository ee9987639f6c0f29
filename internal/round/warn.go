package round

import (
	"fmt"
	"math"
)

// sameAgain is how long, in s, a warning of a kind is not given again (own choice: about a round).
const sameAgain = 30.0

// usualText are the sentences of the warnings that need no more than one.
var usualText = map[Warning]string{
	MicrophoneSilent:  "The microphone is silent: check that it is on and chosen.",
	MicrophoneLow:     "The voice comes in very softly: turn the microphone up or come closer.",
	MicrophoneClipped: "The microphone is overdriven: turn it down or step back.",
	MicrophoneHum:     "The microphone hums: move it and its cable away from power supplies, or try another socket.",
	Bleed:             "The loop is heard in the microphone: use headphones, or turn the loop down.",
	MicrophoneGone:    "The microphone is gone: what was sung is kept; plug it in again to go on.",
	MicrophoneBack:    "The microphone is back.",
	SpeakerGone:       "The speaker is gone: what was recorded is kept; plug it in again to go on.",
	SpeakerBack:       "The speaker is back.",
	KeyboardGone:      "The MIDI port is gone: what was played is kept; plug it in again to go on.",
	KeyboardBack:      "The MIDI port is back.",
	NothingSung:       "No voice was heard in this take.",
	NothingPlayed:     "No answer was played; the takes are kept.",
	NobodyThere:       "Nobody sang or played, so the loop has stopped: go on when you are ready.",
	TooLong:           "The recording was ended because it went on for minutes.",
	Unjudged:          "This round cannot be judged.",
}

// Sentence is the usual sentence of a warning; "" for one that has none.
func (w Warning) Sentence() string { return usualText[w] }

// Care notes: WHO-ITU H.870 for the level of headphones (80 dB(A) for 40 h a week, adults).
const (
	careOfEars = "Keep headphones low: the loop should be softer than your own voice."
	careOfRest = "You have practised for half an hour: rest the voice and the hands, and stop at pain or hoarseness; if it stays, ask a professional."
)

// warn gives a warning unless it was just given, and writes it down with the round. An empty text stands for the usual one.
func (m *Machine) warn(w Warning, at float64, text string) {
	if text == "" {
		text = usualText[w]
	}
	if m.open && w != Care && w != Unreadable && !contains(m.facts.Troubles, text) {
		m.facts.Troubles = append(m.facts.Troubles, text)
	}
	if before, ok := m.said[w]; ok && at-before < sameAgain && w < MicrophoneGone {
		return
	}
	m.said[w] = at
	m.emit(Command{Kind: Warn, At: at, Part: m.part, Warning: w, Text: text})
}

func contains(list []string, text string) bool {
	for _, t := range list {
		if t == text {
			return true
		}
	}
	return false
}

var goneWarnings = [...]Warning{Microphone: MicrophoneGone, Speaker: SpeakerGone, Keyboard: KeyboardGone}
var backWarnings = [...]Warning{Microphone: MicrophoneBack, Speaker: SpeakerBack, Keyboard: KeyboardBack}

// warnGone says again that the device that is meant is gone.
func (m *Machine) warnGone(kind DeviceKind, at float64) {
	text, _ := m.goneText(kind)
	m.warn(goneWarnings[kind], at, text)
}

func (m *Machine) warnBack(kind DeviceKind, at float64) { m.warn(backWarnings[kind], at, "") }

// level takes what is wrong with the sound of a microphone, as long as that sound is of use.
func (m *Machine) level(e Event) {
	if e.Trouble < MicrophoneSilent || e.Trouble > Bleed || !m.mine(Microphone, e.Device) {
		return
	}
	switch m.part {
	case PartLoopAlone, PartCountIn, PartTake1, PartTake2:
		m.warn(e.Trouble, m.now, e.Text)
	}
}

// overrun takes a loss of sound.
func (m *Machine) overrun(e Event) {
	if !(e.Seconds > 0) || math.IsInf(e.Seconds, 1) {
		return
	}
	m.gap += e.Seconds
	if before, ok := m.said[SoundLost]; ok && m.now-before < shortAgain && !m.open {
		return
	}
	text := fmt.Sprintf("%.0f ms of sound were lost: the machine was too busy; close other programs.", 1000*m.gap)
	m.gap = 0
	m.warn(SoundLost, m.now, text)
}

// shortAgain is how long, in s, losses of sound outside a round are added up before they are told (own choice).
const shortAgain = 5.0

// care says once how to treat the ears.
func (m *Machine) care(at float64) {
	if m.setup.Timing != NoLoop {
		m.warn(Care, at, careOfEars)
	}
}

// rest says between rounds when it is time to rest.
func (m *Machine) rest(at float64) {
	if at-m.rested < restAfter {
		return
	}
	m.rested = at
	m.warn(Care, at, careOfRest)
}
