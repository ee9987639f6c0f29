//go:build !(linux || darwin || freebsd || netbsd || openbsd || dragonfly)

package journal

import (
	"os"
	"time"
)

// lock stands for a file that counts as locked while it is young: this system has no lock that ends with its program.
type lock struct{}

// stillYoung is the age below which another program may still be at work with a file. A save takes less than a second.
const stillYoung = time.Minute

// lockFile makes the file if need be. ok is false where it must be had alone and is young.
func lockFile(path string, alone bool) (l lock, ok bool, err error) {
	info, err := os.Stat(path)
	if err == nil {
		return lock{}, !alone || time.Since(info.ModTime()) > stillYoung, nil
	}
	const mode = 0o644
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, mode)
	if err != nil {
		return lock{}, false, err
	}
	return lock{}, true, f.Close()
}

func (l lock) release() {}
