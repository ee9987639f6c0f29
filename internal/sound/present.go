//go:build devices && cgo

package sound

import (
	"cmp"
	"errors"
	"fmt"
	"time"
)

// Built says whether this program was built with devices.
const Built = true

// patience is how long the sound system may take to answer. Own choice: a machine without devices was asked in 0.1 s
// and one with many in a few seconds; a JACK server that hangs never answers.
const patience = 15 * time.Second

// busy holds a token while the C libraries are being asked: they stand no second caller. A call that hangs keeps it.
var busy = make(chan struct{}, 1)

var errNoAnswer = errors.New("the sound system does not answer; restart it (PipeWire, PulseAudio or JACK) or end the program that holds it, and try again")

func devices() (List, error) { return ask(everything, patience) }

// everything asks both libraries. An error of one leaves the other's part whole.
func everything() (List, error) {
	var l List
	var audio, midi error
	l.Microphones, l.Speakers, audio = audioDevices()
	l.MIDIInputs, l.MIDIOutputs, l.Remarks, midi = midiPorts()
	return l, both(audio, midi)
}

// both makes one sentence of up to two failures.
func both(a, b error) error {
	if a == nil || b == nil {
		return cmp.Or(a, b)
	}
	return fmt.Errorf("%w; and %w", a, b)
}

// ask runs list with standard error on a log, and gives up after limit. list then runs on, and no other can be asked
// until it returns.
func ask(list func() (List, error), limit time.Duration) (List, error) {
	late := time.NewTimer(limit)
	defer late.Stop()
	select {
	case busy <- struct{}{}:
	case <-late.C:
		return List{}, errNoAnswer
	}
	type answer struct {
		list List
		err  error
	}
	answers := make(chan answer, 1)
	unhush := hush()
	go func() {
		l, err := list()
		answers <- answer{l, err}
		<-busy
	}()
	select {
	case a := <-answers:
		a.list.Log = unhush()
		return a.list, a.err
	case <-late.C:
		return List{Log: unhush()}, errNoAnswer
	}
}
