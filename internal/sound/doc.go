// Package sound is where larkhand meets the devices of the machine: it lists microphones, speakers and MIDI ports.
//
// Devices need C libraries (PortAudio for sound, the bundled RtMidi for MIDI), so they come in by the build tag
// devices:
//
//	go build -tags devices ./cmd/larkhand
//
// Without the tag, or without cgo, the package builds with Go alone; Built is then false and Devices gives
// ErrNoDevices.
//
// # Conventions
//
// Times are seconds, sampling rates Hz. Lists keep the order of the libraries, with the default device first. A machine
// without devices gives empty lists and no error. Names are what the system says; the text layout replaces what cannot
// be printed in them.
//
// The C libraries write to standard error as they please (a hundred lines for a machine without a sound card, measured
// on Debian 12). While they run, standard error of the whole process therefore goes to a log, which List.Log holds
// afterwards; do not write to standard error from another goroutine meanwhile. What the Go runtime says of a crash still
// goes to the real one.
//
// # Non-goals
//
// Nothing is recorded or played here, and no port is opened for use. JACK's MIDI ports are not listed on Linux: RtMidi
// can be built for ALSA's sequencer or for JACK, not for both, and ALSA's is what a keyboard is plugged into.
package sound
