//go:build devices && cgo && unix

package sound

import (
	"io"
	"os"
	"runtime/debug"

	"golang.org/x/sys/unix"
)

const (
	stderrFD = 2
	// maxLog bounds what is kept of the log, in bytes: a machine without a sound card filled 10 kB (own choice).
	maxLog = 1 << 20
)

// hush moves standard error of the whole process to a log until the function that it returns is called, which gives back
// what was written. Where that cannot be set up, standard error stays where it is and the log is empty.
func hush() func() string {
	nothing := func() string { return "" }
	log, err := os.CreateTemp("", "larkhand-sound-*.log")
	if err != nil {
		return nothing
	}
	os.Remove(log.Name()) // read through its open descriptor; nothing is left behind however the process ends
	fd, err := unix.FcntlInt(stderrFD, unix.F_DUPFD_CLOEXEC, stderrFD+1)
	if err != nil {
		log.Close()
		return nothing
	}
	kept := os.NewFile(uintptr(fd), "standard error")
	debug.SetCrashOutput(kept, debug.CrashOptions{}) // a crash in a C library is still seen
	if err := moveOnto(int(log.Fd()), stderrFD); err != nil {
		debug.SetCrashOutput(nil, debug.CrashOptions{})
		kept.Close()
		log.Close()
		return nothing
	}
	return func() string {
		defer log.Close()
		defer kept.Close()
		moveOnto(fd, stderrFD)
		debug.SetCrashOutput(nil, debug.CrashOptions{})
		text, _ := io.ReadAll(io.NewSectionReader(log, 0, maxLog))
		return string(text)
	}
}
