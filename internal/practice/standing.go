package practice

import (
	"slices"

	"larkhand/midiin"
)

// standing is what MIDI messages before an answer have left standing on the channels, as the messages themselves: an answer's file
// begins with them, so that bends and pedals mean the same there. Of bends and pedals only the last of each channel is kept; they
// override what came before. Keys that were already down are not among them.
type standing struct{ kept []midiin.Event }

// mostStanding bounds standing, in messages: far above what instruments send to set themselves up.
const mostStanding = 4096

// Controllers (MIDI 1.0).
const (
	dataHigh  = 6
	dataLow   = 38
	sustain   = 64
	sostenuto = 66
	increment = 96 // up to rpnHigh they belong to parameter numbers
	rpnLow    = 100
	rpnHigh   = 101
	resetAll  = 121
	monoMode  = 126
	polyMode  = 127

	controlChange = 0xB0
	pitchBend     = 0xE0
)

func (s *standing) take(e midiin.Event) {
	switch e.Status & 0xF0 {
	case pitchBend:
		s.drop(func(old midiin.Event) bool { return old.Status == e.Status })
	case controlChange:
		switch {
		case e.Data1 == sustain || e.Data1 == sostenuto:
			s.drop(func(old midiin.Event) bool { return old.Status == e.Status && old.Data1 == e.Data1 })
		case e.Data1 == dataHigh, e.Data1 == dataLow, e.Data1 >= increment && e.Data1 <= rpnHigh, e.Data1 == resetAll, e.Data1 == monoMode, e.Data1 == polyMode:
		default:
			return
		}
	default:
		return
	}
	if len(s.kept) == mostStanding {
		s.kept = slices.Delete(s.kept, 0, 1)
	}
	e.Time = 0
	s.kept = append(s.kept, e)
}

func (s *standing) drop(overridden func(midiin.Event) bool) {
	s.kept = slices.DeleteFunc(s.kept, overridden)
}
