package sound_test

import (
	"os"

	"larkhand/internal/sound"
)

// A list is laid out for a person to read. On a machine it comes from sound.Devices.
func Example() {
	list := sound.List{
		Microphones: []sound.Device{{
			Name: "Desk Microphone: USB Audio (hw:1,0)", System: "ALSA", Default: true,
			Channels: 1, Rates: []float64{44100, 48000}, DefaultRate: 44100, LatencyLow: 0.0087, LatencyHigh: 0.0348,
		}},
		MIDIInputs: []sound.Port{{Name: "Small Keyboard:MIDI 1 24:0"}},
	}
	list.Text(os.Stdout)
	// Output:
	// Microphones
	//   * 1  Desk Microphone: USB Audio (hw:1,0)
	//          ALSA, 1 channel, latency 8.7 to 34.8 ms
	//          44100, 48000 Hz (44100)
	//
	// Speakers
	//     none
	//
	// MIDI inputs
	//     1  Small Keyboard:MIDI 1 24:0
	//
	// MIDI outputs
	//     none
	//
	// * is taken where none is named.
}
