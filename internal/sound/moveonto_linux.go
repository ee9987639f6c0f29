//go:build devices && cgo

package sound

import "golang.org/x/sys/unix"

// moveOnto makes descriptor to mean what descriptor from means. Not every Linux has dup2.
func moveOnto(from, to int) error { return unix.Dup3(from, to, 0) }
