package command

import (
	"fmt"

	"larkhand/internal/music"
	"larkhand/internal/practice"
)

// controllerNames are the controllers of MIDI 1.0 that players use.
var controllerNames = map[byte]string{1: "modulation", 2: "breath", 4: "foot pedal", 7: "volume", 11: "expression", 64: "sustain pedal", 65: "portamento pedal", 66: "sostenuto pedal", 67: "soft pedal"}

// firstPedal to lastPedal are the controllers that are either down or up; 64 and above is down (MIDI 1.0).
const (
	firstPedal, lastPedal = 64, 69
	pedalDown             = 64
	allNotesOff           = 123
	bendCentre            = 8192
)

// midiWords says a channel message in plain words.
func midiWords(m practice.Message) string {
	channel := fmt.Sprintf("channel %d", m.Bytes[0]&0x0F+1)
	a, b := m.Bytes[1], m.Bytes[2]
	switch m.Bytes[0] & 0xF0 {
	case 0x80:
		return fmt.Sprintf("%s up, %s", keyName(a), channel)
	case 0x90:
		if b == 0 {
			return fmt.Sprintf("%s up, %s", keyName(a), channel)
		}
		return fmt.Sprintf("%s down, velocity %d, %s", keyName(a), b, channel)
	case 0xA0:
		return fmt.Sprintf("%s pressed to %d, %s", keyName(a), b, channel)
	case 0xB0:
		return fmt.Sprintf("%s, %s", controllerWords(a, b), channel)
	case 0xC0:
		return fmt.Sprintf("sound number %d, %s", int(a)+1, channel)
	case 0xD0:
		return fmt.Sprintf("keys pressed to %d, %s", a, channel)
	}
	return fmt.Sprintf("pitch bend %+.0f %%, %s", 100*float64(int(a)|int(b)<<7-bendCentre)/bendCentre, channel)
}

func controllerWords(number, value byte) string {
	name, known := controllerNames[number]
	switch {
	case number >= firstPedal && number <= lastPedal && known:
		if value >= pedalDown {
			return name + " down"
		}
		return name + " up"
	case number >= allNotesOff:
		return "all notes off"
	case known:
		return fmt.Sprintf("%s %d", name, value)
	}
	return fmt.Sprintf("controller %d at %d", number, value)
}

// keyName is a key's letter and octave, with sharps and flats as in C major.
func keyName(key byte) string { return cMajor.Letter(int(key)).String() }

var cMajor = func() music.Key {
	key, err := music.ParseKey("C major")
	if err != nil {
		panic("command: " + err.Error())
	}
	return key
}()
