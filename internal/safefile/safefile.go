// Package safefile writes a file whole or not at all: to a new file beside it first, which is synced and then takes its name
// (POSIX rename). What stood there before is there until then, also when the program is stopped or the disk is full.
//
// # Non-goals
//
// No locking: of two programs that write one file at once, the later one wins.
package safefile

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Write lets write fill the file at path, with the mode given. An error leaves what was there.
func Write(path string, mode fs.FileMode, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".part-*-"+filepath.Base(path))
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = f.Chmod(mode); err != nil { // CreateTemp makes files that only the owner reads
		return err
	}
	if err = f.Sync(); err != nil { // or a loss of power after the new name could leave it empty
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// WriteBytes is Write with what the file is to hold.
func WriteBytes(path string, mode fs.FileMode, data []byte) error {
	return Write(path, mode, func(w io.Writer) error { _, err := w.Write(data); return err })
}
