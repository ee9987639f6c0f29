//go:build devices && cgo

package sound

import (
	"cmp"
	"errors"
	"fmt"

	"gitlab.com/gomidi/midi/v2/drivers/rtmididrv/imported/rtmidi"
)

// errMIDI stands for every failure of RtMidi: the text of its errors lies in memory that has been freed already
// (rtmidi_c.cpp keeps what() of an exception that is gone), so it is never shown.
var errMIDI = errors.New("cannot list MIDI ports: the MIDI system of this machine refuses; restart the sound system and try again")

// midiPorts asks RtMidi for the MIDI ports. A machine without a MIDI system has none, and a remark says so.
func midiPorts() (inputs, outputs []Port, remarks []string, err error) {
	if usesSequencer() {
		if remark := lackingSequencer(sequencer); remark != "" {
			return nil, nil, []string{remark}, nil
		}
	}
	in, err := rtmidi.NewMIDIInDefault()
	if err != nil {
		return nil, nil, nil, errMIDI
	}
	defer in.Close()
	out, err := rtmidi.NewMIDIOutDefault()
	if err != nil {
		return nil, nil, nil, errMIDI
	}
	defer out.Close()
	inputs, errIn := ports(in)
	outputs, errOut := ports(out)
	return inputs, outputs, nil, cmp.Or(errIn, errOut)
}

// ports lists the ports on one side. A port that goes away meanwhile is left out.
func ports(side rtmidi.MIDI) ([]Port, error) {
	n, err := side.PortCount()
	if err != nil {
		return nil, errMIDI
	}
	var list []Port
	for i := range n {
		name, err := side.PortName(i)
		if err != nil {
			continue
		}
		if name == "" {
			name = fmt.Sprintf("port %d", i+1)
		}
		list = append(list, Port{Name: name})
	}
	return list, nil
}
