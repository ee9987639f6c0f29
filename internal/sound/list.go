package sound

import (
	"errors"

	"larkhand/internal/delay"
)

// ErrNoDevices is what Devices gives in a program that was built without devices.
var ErrNoDevices = errors.New("this build has no devices; `make install` builds one that has")

// List is what a machine has to sing into, to listen to and to play on.
type List struct {
	Microphones []Device    // devices with at least one input channel
	Speakers    []Device    // devices with at least one output channel
	MIDIInputs  []Port      // where notes come from: keyboards, guitar converters
	MIDIOutputs []Port      // where notes can be sent to
	Delays      delay.Store // what was measured before; who lists the devices fills it in
	Remarks     []string    // one sentence each for what the machine lacks, and what would help
	Log         string      // what the C libraries wrote to standard error; for somebody who looks for a fault
}

// Device is one microphone or speaker.
type Device struct {
	Name        string
	System      string    // the sound system that offers it: "ALSA", "JACK Audio Connection Kit", "Core Audio"
	Default     bool      // taken where none is named
	Channels    int       // at most that many at once, at least 1
	Rates       []float64 // those of UsualRates that one channel of float32 can have, Hz, rising; empty while another program holds the device
	DefaultRate float64   // Hz
	LatencyLow  float64   // delay that the device suggests for playing live, s; a claim, not measured
	LatencyHigh float64   // delay that the device suggests for safety, s; a claim, not measured
}

// Port is one MIDI input or output.
type Port struct {
	Name string
}

// UsualRates are the sampling rates that are asked for, in Hz: those in use between the 16 and 96 kHz that the voice
// analysis takes (common practice, no source).
func UsualRates() []float64 {
	return []float64{16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000}
}

// Empty says whether nothing at all was found.
func (l List) Empty() bool {
	return len(l.Microphones)+len(l.Speakers)+len(l.MIDIInputs)+len(l.MIDIOutputs) == 0
}

// Devices lists what the machine has now. Where one kind could not be listed, the error says why and the list holds
// the others. It answers within about 15 seconds, whatever the sound system does.
func Devices() (List, error) { return devices() }

// Hush moves standard error of the whole process to a log until the function that it returns is called, which gives back what was written. The C
// libraries write there as they please.
func Hush() (unhush func() string) { return hush() }
