package practice

import "larkhand/midiin"

// standing is what MIDI messages before an answer have left standing on the channels: an answer's file begins with it, so that
// bends and pedals mean the same there. Keys that were already down are not among it.
type standing [16]struct {
	controls   [128]int16 // value+1 of sustain, sostenuto and the mode messages; 0 for none
	bend       [2]byte
	bent       bool
	rpn        [2]byte // high and low part of the parameter number in use
	ranges     [2]byte // data of RPN 0 (bend range)
	rangeKnown bool
	zone       byte // data of RPN 6 (MPE zone)
	zoneKnown  bool
}

// Controllers that are kept (MIDI 1.0).
const (
	dataHigh  = 6
	dataLow   = 38
	sustain   = 64
	sostenuto = 66
	nrpnLow   = 98
	nrpnHigh  = 99
	rpnLow    = 100
	rpnHigh   = 101
	resetAll  = 121
	monoMode  = 126
	polyMode  = 127

	controlChange = 0xB0
	pitchBend     = 0xE0
	noParameter   = 0x7F
	zoneParameter = 6
)

func (s *standing) take(e midiin.Event) {
	c := &s[e.Status&0x0F]
	switch e.Status & 0xF0 {
	case pitchBend:
		c.bend, c.bent = [2]byte{e.Data1, e.Data2}, e.Data1 != 0 || e.Data2 != 0x40
		return
	case controlChange:
	default:
		return
	}
	switch e.Data1 {
	case rpnHigh:
		c.rpn[0] = e.Data2
	case rpnLow:
		c.rpn[1] = e.Data2
	case nrpnHigh, nrpnLow:
		c.rpn = [2]byte{noParameter, noParameter}
	case dataHigh, dataLow:
		s.set(int(e.Status&0x0F), e)
	case resetAll:
		c.bent, c.controls[sustain], c.controls[sostenuto] = false, 0, 0
	case monoMode, polyMode:
		c.controls[monoMode], c.controls[polyMode] = 0, 0
		c.controls[e.Data1] = int16(e.Data2) + 1
	case sustain, sostenuto:
		c.controls[e.Data1] = int16(e.Data2) + 1
	}
}

// set takes the data of a parameter.
func (s *standing) set(channel int, e midiin.Event) {
	c := &s[channel]
	low := e.Data1 == dataLow
	switch c.rpn {
	case [2]byte{0, 0}:
		if low {
			c.ranges[1] = e.Data2
		} else {
			c.ranges, c.rangeKnown = [2]byte{e.Data2, 0}, true
		}
	case [2]byte{0, zoneParameter}:
		if !low {
			c.zone, c.zoneKnown = e.Data2, true
			for i := range s { // a zone sets the ranges of its channels anew
				s[i].rangeKnown = false
			}
		}
	}
}

// messages are what brings a fresh instrument to where this one stands, all at time 0. Zones come first: they set ranges.
func (s *standing) messages() (out []midiin.Event) {
	add := func(channel int, status, a, b byte) {
		out = append(out, midiin.Event{Status: status | byte(channel), Data1: a, Data2: b})
	}
	for ch := range s {
		if c := &s[ch]; c.zoneKnown {
			add(ch, controlChange, rpnHigh, 0)
			add(ch, controlChange, rpnLow, zoneParameter)
			add(ch, controlChange, dataHigh, c.zone)
		}
	}
	for ch := range s {
		c := &s[ch]
		if c.rangeKnown {
			add(ch, controlChange, rpnHigh, 0)
			add(ch, controlChange, rpnLow, 0)
			add(ch, controlChange, dataHigh, c.ranges[0])
			add(ch, controlChange, dataLow, c.ranges[1])
		}
		for _, number := range []byte{monoMode, polyMode, sustain, sostenuto} {
			if v := c.controls[number]; v > 0 {
				add(ch, controlChange, number, byte(v-1))
			}
		}
		if c.bent {
			add(ch, pitchBend, c.bend[0], c.bend[1])
		}
	}
	return out
}
