//go:build devices && cgo

package sound

import (
	"errors"
	"io/fs"
	"os"
)

// sequencer is the device file of ALSA's MIDI sequencer.
const sequencer = "/dev/snd/seq"

// lackingSequencer says in a sentence why the sequencer behind path cannot be used; "" where it can. RtMidi itself fails
// with an unreadable error then.
func lackingSequencer(path string) string {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err == nil {
		f.Close()
	}
	return sequencerRemark(path, err)
}

// sequencerRemark is the sentence for the error of opening path.
func sequencerRemark(path string, err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, fs.ErrPermission):
		return "MIDI ports cannot be listed: this user may not open " + path + "; 'sudo usermod -aG audio $USER' and a new login allow it"
	}
	return "this system has no MIDI sequencer (" + path + "); where the kernel has one, 'sudo modprobe snd-seq' loads it"
}
