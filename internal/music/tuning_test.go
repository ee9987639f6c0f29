package music

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// ISO 16: A4 = 440 Hz; the others by f = 440 * 2^((n-69)/12), to four decimals.
func TestMIDIToHz(t *testing.T) {
	for midi, want := range map[float64]float64{69: 440, 60: 261.6256, 40: 82.4069, 21: 27.5, 108: 4186.0090} {
		if got := MIDIToHz(midi); math.Abs(got-want) > 5e-5 {
			t.Errorf("MIDI %v is %v Hz, want %v", midi, got, want)
		}
	}
}

// Sizes in cents of known ratios: 1200 * log2(ratio), to three decimals.
func TestHzToMIDI(t *testing.T) {
	tests := []struct{ hz, base, cents float64 }{
		{442, 440, 7.851}, {415, 440, -101.271}, {660, 440, 701.955}, {550, 440, 386.314}, {444.4, 440, 17.226},
	}
	for _, tc := range tests {
		if got := 100 * (HzToMIDI(tc.hz) - HzToMIDI(tc.base)); math.Abs(got-tc.cents) > 5e-4 {
			t.Errorf("from %v to %v Hz are %v cents, want %v", tc.base, tc.hz, got, tc.cents)
		}
	}
	if got := HzToMIDI(0); !math.IsInf(got, -1) {
		t.Errorf("0 Hz is %v", got)
	}
	if got := HzToMIDI(-1); !math.IsNaN(got) {
		t.Errorf("-1 Hz is %v", got)
	}
}

func TestHzToMIDIUndoesMIDIToHz(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		midi := rapid.Float64Range(0, 127).Draw(t, "midi")
		if got := HzToMIDI(MIDIToHz(midi)); math.Abs(got-midi) > 1e-9 { // rounding of float64 only
			t.Fatalf("%v becomes %v", midi, got)
		}
	})
}
