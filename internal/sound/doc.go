// Package sound is where larkhand meets the devices of the machine: it lists microphones, speakers and MIDI ports, and opens them for package practice.
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
// # Streams
//
// OpenStream opens a microphone, a speaker or both as one stream of PortAudio, and the stream is the one audio clock: 0 s is when it was opened, and the
// number of a sample over the rate is its time. The callback copies into a ring that needs no lock and counts; it allocates nothing and wakes nobody. (The
// binding under it takes a lock for reading that is only ever held for writing while a stream is opened or closed.)
//
// The monotonic clock is mapped to the audio clock by pairs taken in the callback: the floor of moment minus number of samples over the last two seconds, less
// the delay that the sound system claims. Callbacks are often late and never early, so that the floor is the truth. A floor that rises and stays up shows how many
// samples were lost: the sound systems report an overrun but not its length. Blocks are held back for a few hundredths of a second after an overrun, until
// that is known, so that the loss lies where it happened.
//
// Nothing but missing callbacks tells that a device has gone. After half a second without any it counts as gone, is closed and opened again until that works; the
// audio clock goes on meanwhile. A sound system that never lets go of the device (a JACK server that has ended) is left to itself: Close returns ErrHangs.
//
// OpenMIDI opens a MIDI port by RtMidi, and WaitForMIDI one that need not be there yet. OpenMIDISpeaker plays the loop on whatever is behind a MIDI output. The first act of its callback is to look at the monotonic clock; Read maps that to the audio clock. RtMidi's own times are
// not used: they are differences, and drift. Ports that go and come are noticed by their names.
//
// Lists hush the libraries by themselves. A program that owns the whole screen calls Hush before it opens a stream and the function that it gives after
// Close, for PortAudio writes from threads of its own; it must not list devices meanwhile from another goroutine than the one that called Hush.
//
// # Delays
//
// MeasureRoundTrip plays chirps and finds them in the microphone, each series on a stream of its own; MeasureKeyboard hears keys being struck and takes their messages. Package
// delay does the finding and remembers the delays. A round trip holds for one sampling rate: PulseAudio took 7 ms more at another (measured).
//
// # Non-goals
//
// One microphone, with one or several channels, and one speaker for a stream; two streams have two clocks. What the sound system claims of its delays is
// a guess; a measured round trip can be given instead. While a stream is open the lists are those of when it was opened. JACK's MIDI ports are not listed on Linux: RtMidi
// can be built for ALSA's sequencer or for JACK, not for both, and ALSA's is what a keyboard is plugged into.
package sound
