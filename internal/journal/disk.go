package journal

import (
	"io/fs"
	"os"
	"path/filepath"
)

// disk is what the journal does to the file system besides SQLite. Tests put one in between that fails or stops the program
// at a chosen step.
type disk interface {
	// Write makes a new file that is on the disk when it returns.
	Write(path string, data []byte) error
	// MakeDir makes a folder and those above it.
	MakeDir(path string) error
	// Rename moves a file or folder inside one file system, at once.
	Rename(from, to string) error
	// Sync puts the names in a folder on the disk.
	Sync(dir string) error
	// Remove removes a file or a folder with all that is in it; what is not there is no error.
	Remove(path string) error
	// Step stands between two writes of the database.
	Step(name string)
}

// Modes of what is made: practice is private.
const (
	dirMode  fs.FileMode = 0o700
	fileMode fs.FileMode = 0o600
)

type realDisk struct{}

func (realDisk) Write(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

func (realDisk) MakeDir(path string) error    { return os.MkdirAll(path, dirMode) }
func (realDisk) Rename(from, to string) error { return os.Rename(from, to) }
func (realDisk) Remove(path string) error     { return os.RemoveAll(path) }
func (realDisk) Step(string)                  {}

func (realDisk) Sync(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = f.Sync()
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

// makeDirSynced makes a folder below dir, and puts the names of the folders made on the disk.
func makeDirSynced(d disk, dir string, below ...string) error {
	path := filepath.Join(append([]string{dir}, below...)...)
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	if err := d.MakeDir(path); err != nil {
		return err
	}
	for up := filepath.Dir(path); len(up) >= len(dir); up = filepath.Dir(up) {
		if err := d.Sync(up); err != nil {
			return err
		}
		if up == filepath.Dir(up) {
			break
		}
	}
	return nil
}
