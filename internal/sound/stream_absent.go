//go:build !devices || !cgo

package sound

var soundSystem system
