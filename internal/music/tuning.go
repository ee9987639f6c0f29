package music

import "math"

const (
	a4Hz   = 440.0 // Hz, ISO 16
	a4MIDI = 69.0  // MIDI note number of A4
)

// MIDIToHz is the frequency in Hz of a MIDI note number in equal temperament with A4 = 440 Hz (ISO 16); fractions are parts of a semitone.
func MIDIToHz(midi float64) float64 {
	return a4Hz * math.Exp2((midi-a4MIDI)/semitones)
}

// HzToMIDI is the inverse of [MIDIToHz]. Zero gives -Inf and a negative or undefined frequency NaN.
func HzToMIDI(hz float64) float64 {
	return a4MIDI + semitones*math.Log2(hz/a4Hz)
}
