//go:build devices && cgo

package sound

import (
	"errors"
	"runtime"
	"slices"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"
)

var (
	newMIDISystem    = newRtMidi
	newMIDIOutSystem = newRtMidiOut
)

// portLabel is what other programs see the open port as; JACK refuses one without a name.
const portLabel = "larkhand"

// rtMidi opens ports by RtMidi.
type rtMidi struct {
	lister rtmidi.MIDIIn
}

func newRtMidi() (midiSystem, error) {
	if usesSequencer() {
		if remark := lackingSequencer(sequencer); remark != "" {
			return nil, errors.New(remark)
		}
	}
	lister, err := rtmidi.NewMIDIInDefault()
	if err != nil {
		return nil, errMIDI
	}
	return rtMidi{lister}, nil
}

// usesSequencer says whether RtMidi speaks to ALSA's sequencer.
func usesSequencer() bool {
	return runtime.GOOS == "linux" && slices.Contains(rtmidi.CompiledAPI(), rtmidi.APILinuxALSA)
}

func (r rtMidi) names() ([]string, error) {
	found, err := ports(r.lister)
	var names []string
	for _, p := range found {
		names = append(names, p.Name)
	}
	return names, err
}

func (r rtMidi) open(index int, back func([]byte)) (func(), error) {
	in, err := rtmidi.NewMIDIInDefault()
	if err != nil {
		return nil, errMIDI
	}
	const sysex, clock, sensing = true, true, true // ignored
	if in.IgnoreTypes(sysex, clock, sensing) != nil || in.SetCallback(func(_ rtmidi.MIDIIn, b []byte, _ float64) { back(b) }) != nil || in.OpenPort(index, portLabel) != nil {
		in.Destroy()
		return nil, errPort
	}
	// Destroy and not Close: that would take the callback away first, and a message that comes then ends the process.
	return in.Destroy, nil
}

var errPort = errors.New("the MIDI port cannot be opened; end the program that holds it, or plug it in again")

func (r rtMidi) end() { r.lister.Destroy() }

// rtMidiOut opens outputs by RtMidi.
type rtMidiOut struct {
	lister rtmidi.MIDIOut
}

func newRtMidiOut() (midiOutSystem, error) {
	if usesSequencer() {
		if remark := lackingSequencer(sequencer); remark != "" {
			return nil, errors.New(remark)
		}
	}
	lister, err := rtmidi.NewMIDIOutDefault()
	if err != nil {
		return nil, errMIDI
	}
	return rtMidiOut{lister}, nil
}

func (r rtMidiOut) names() ([]string, error) {
	found, err := ports(r.lister)
	var names []string
	for _, p := range found {
		names = append(names, p.Name)
	}
	return names, err
}

func (r rtMidiOut) open(index int) (send func([]byte) error, shut func(), err error) {
	out, err := rtmidi.NewMIDIOutDefault()
	if err != nil {
		return nil, nil, errMIDI
	}
	if out.OpenPort(index, portLabel) != nil {
		out.Destroy()
		return nil, nil, errPort
	}
	return out.SendMessage, out.Destroy, nil
}

func (r rtMidiOut) end() { r.lister.Destroy() }
