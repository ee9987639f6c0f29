//go:build !devices || !cgo

package sound

var (
	newMIDISystem    func() (midiSystem, error)
	newMIDIOutSystem func() (midiOutSystem, error)
)
