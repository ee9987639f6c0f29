// Package midiin turns MIDI messages into played notes.
package midiin
