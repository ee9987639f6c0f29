//go:build devices && cgo && unix && !linux

package sound

import "golang.org/x/sys/unix"

// moveOnto makes descriptor to mean what descriptor from means.
func moveOnto(from, to int) error { return unix.Dup2(from, to) }
