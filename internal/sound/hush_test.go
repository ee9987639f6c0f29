//go:build devices && cgo && unix

package sound

import (
	"os"
	"testing"

	"golang.org/x/sys/unix"
)

func TestHushKeepsStandardErrorAndGivesItBack(t *testing.T) {
	before := whatStderrIs(t)
	unhush := hush()
	if whatStderrIs(t) == before {
		t.Error("standard error has not moved")
	}
	// As a C library does, past the os package.
	if _, err := unix.Write(stderrFD, []byte("no such card\n")); err != nil {
		t.Error(err)
	}
	if got := unhush(); got != "no such card\n" {
		t.Errorf("kept %q", got)
	}
	if whatStderrIs(t) != before {
		t.Error("standard error has not come back")
	}
}

func TestHushBoundsItsLog(t *testing.T) {
	unhush := hush()
	block := make([]byte, maxLog/4)
	for range 5 {
		if _, err := unix.Write(stderrFD, block); err != nil {
			t.Error(err)
		}
	}
	if got := len(unhush()); got != maxLog {
		t.Errorf("kept %d bytes, want %d", got, maxLog)
	}
}

func TestHushWithoutAFolderForTheLog(t *testing.T) {
	t.Setenv("TMPDIR", "/nowhere")
	before := whatStderrIs(t)
	unhush := hush()
	if whatStderrIs(t) != before {
		t.Error("standard error has moved, but where to?")
	}
	if got := unhush(); got != "" {
		t.Errorf("kept %q", got)
	}
}

func TestHushLeavesNoFileAndNoDescriptor(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	next := func() int {
		f, err := os.Open(os.DevNull)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		return int(f.Fd())
	}
	hush()() // the runtime keeps a descriptor of its own for crashes
	before := next()
	for range 3 {
		hush()()
	}
	if after := next(); after != before {
		t.Errorf("the lowest free descriptor was %d and is %d", before, after)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left %v, %v", left, err)
	}
}

// file tells which file a descriptor means.
type file struct{ device, inode uint64 }

func whatStderrIs(t *testing.T) file {
	t.Helper()
	var s unix.Stat_t
	if err := unix.Fstat(stderrFD, &s); err != nil {
		t.Fatal(err)
	}
	return file{uint64(s.Dev), s.Ino}
}
