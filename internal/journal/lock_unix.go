//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package journal

import (
	"errors"
	"os"
	"syscall"
)

// lock is a file that is locked until it is closed or its program ends, however it ends.
type lock struct{ file *os.File }

// lockFile makes the file if need be and locks it, alone or together with others. ok is false where another program's lock stands
// in the way. A file that was removed between opening and locking it is made anew.
func lockFile(path string, alone bool) (l lock, ok bool, err error) {
	for {
		l, ok, err = lockOnce(path, alone)
		if !ok || err != nil || l.stillAt(path) {
			return l, ok, err
		}
		l.release()
	}
}

// stillAt reports whether the locked file is the one that has the name.
func (l lock) stillAt(path string) bool {
	mine, err := l.file.Stat()
	if err != nil {
		return false
	}
	named, err := os.Stat(path)
	return err == nil && os.SameFile(mine, named)
}

func lockOnce(path string, alone bool) (l lock, ok bool, err error) {
	const mode = 0o644
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, mode)
	if err != nil {
		return lock{}, false, err
	}
	how := syscall.LOCK_SH
	if alone {
		how = syscall.LOCK_EX
	}
	err = syscall.Flock(int(f.Fd()), how|syscall.LOCK_NB)
	if err == nil {
		return lock{f}, true, nil
	}
	f.Close()
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return lock{}, false, nil
	}
	return lock{}, false, err
}

func (l lock) release() {
	if l.file != nil {
		l.file.Close()
	}
}
