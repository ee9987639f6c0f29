package midiin

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Kinds of channel message: the upper half of the status byte (MIDI 1.0).
const (
	noteOff         = 0x80
	noteOn          = 0x90
	controlChange   = 0xB0
	programChange   = 0xC0
	channelPressure = 0xD0
	pitchBend       = 0xE0
)

// Status bytes and meta events that the track reader knows (Standard MIDI Files 1.0).
const (
	sysEx         = 0xF0
	sysExContinue = 0xF7
	meta          = 0xFF
	metaTrackName = 0x03
	metaEnd       = 0x2F
	metaTempo     = 0x51
)

// trackState is why the reading of a track came to a halt.
type trackState int

const (
	reading trackState = iota // not yet
	ended                     // at its End of Track
	ranOut                    // at its limit, between two events
	cutOff                    // at its limit, inside an event
	broken                    // at bytes that are no event
)

// trackReader reads the events of one track into its parser. pos stands at the event that could not be read when run halts,
// so that run may be called again with a larger limit.
type trackReader struct {
	*parser
	number            int // 1 for the first track
	pos, limit        int
	tick              int64
	running           byte // running status, 0 where there is none
	afterSystem       bool // a system message came since the last channel message: running status should have ended
	first, firstTempo int  // where its events and tempi begin in the parser
	notes             int  // note-ons with a velocity
	name              string
	looseStatus       bool // running status was used after a system message
	bareSystem        bool // system messages stood in the track without their wrapping
	badTempi          int
}

// run reads events until the track ends, breaks or reaches its limit.
func (t *trackReader) run() trackState {
	for t.pos < t.limit {
		if state := t.event(); state != reading {
			return state
		}
	}
	return ranOut
}

// event reads one event with its delta time. It moves pos and tick only when the event is there in full.
func (t *trackReader) event() trackState {
	b := t.data[t.pos:t.limit]
	delta, n, state := varLen(b)
	if state != reading {
		return state
	}
	if n == len(b) {
		return cutOff
	}
	var size int
	switch status := b[n]; {
	case status == meta:
		size, state = t.meta(b[n:], delta)
	case status == sysEx || status == sysExContinue:
		size, state = lengthPrefixed(b[n:], 1)
		t.afterSystem = true
	case status > sysEx:
		size, state = t.bareSystemMessage(b[n:])
	default:
		size, state = t.channel(b[n:], delta)
	}
	if state == reading || state == ended {
		t.pos += n + size
		t.tick += int64(delta)
	}
	return state
}

// varLen reads a variable-length quantity: 7 bits a byte, the top bit set on all but the last, at most 4 bytes.
func varLen(b []byte) (value uint32, size int, state trackState) {
	const maxBytes = 4
	for i := range min(len(b), maxBytes) {
		value = value<<7 | uint32(b[i]&0x7F)
		if b[i] < 0x80 {
			return value, i + 1, reading
		}
	}
	if len(b) < maxBytes {
		return 0, 0, cutOff
	}
	return 0, 0, broken
}

// lengthPrefixed is the full size of an event whose head is followed by a length and that many bytes.
func lengthPrefixed(b []byte, head int) (size int, state trackState) {
	if len(b) < head {
		return 0, cutOff
	}
	length, n, state := varLen(b[head:])
	if state != reading {
		return 0, state
	}
	if int(length) > len(b)-head-n {
		return 0, cutOff
	}
	return head + n + int(length), reading
}

// meta reads a meta event that begins at b: FF, type, length, bytes.
func (t *trackReader) meta(b []byte, delta uint32) (size int, state trackState) {
	size, state = lengthPrefixed(b, 2)
	if state != reading {
		return 0, state
	}
	t.afterSystem = true
	_, n, _ := varLen(b[2:])
	switch text := b[2+n : size]; b[1] {
	case metaEnd:
		return size, ended
	case metaTempo:
		t.addTempo(text, t.tick+int64(delta))
	case metaTrackName:
		if t.name == "" {
			t.name = plainText(text)
		}
	}
	return size, reading
}

// addTempo takes a tempo: 24 bits, microseconds a quarter note.
func (t *trackReader) addTempo(b []byte, tick int64) {
	if len(b) < 3 {
		t.badTempi++
		return
	}
	us := uint32(b[0])<<16 | uint32(b[1])<<8 | uint32(b[2])
	if us == 0 {
		t.badTempi++
		return
	}
	t.tempi = append(t.tempi, tickTempo{tick, us})
}

// bareSystemMessage steps over a system message that stands in the track without the F7 wrapping that the specification asks for.
func (t *trackReader) bareSystemMessage(b []byte) (size int, state trackState) {
	size = 1
	switch b[0] {
	case 0xF1, 0xF3: // time code, song select
		size = 2
	case 0xF2: // song position
		size = 3
	}
	if size > len(b) {
		return 0, cutOff
	}
	t.bareSystem = true
	return size, reading
}

// channel reads a channel message, with or without its status byte.
func (t *trackReader) channel(b []byte, delta uint32) (size int, state trackState) {
	status := b[0]
	if status >= 0x80 {
		b, size = b[1:], 1
	} else if status = t.running; status == 0 {
		return 0, broken // a data byte, and no status to run on
	}
	n := dataBytes(status)
	if len(b) < n {
		return 0, cutOff
	}
	e := tickEvent{tick: t.tick + int64(delta), seq: uint32(len(t.events)), status: status, data1: b[0]}
	if n == 2 {
		e.data2 = b[1]
	}
	if e.data1 >= 0x80 || e.data2 >= 0x80 {
		return 0, broken
	}
	t.looseStatus = t.looseStatus || size == 0 && t.afterSystem
	t.running, t.afterSystem = status, false
	if status&0xF0 == noteOn && e.data2 > 0 {
		t.notes++
	}
	t.events = append(t.events, e)
	return size + n, reading
}

// remark says in words what was wrong with the track.
func (t *trackReader) remark(state trackState) {
	kept := counted(len(t.events)-t.first, "message")
	switch state {
	case ranOut:
		t.remarks.add("Track %d has no end mark; it ends with its last event.", t.number)
	case cutOff:
		t.remarks.add("Track %d breaks off in the middle of an event, after %s.", t.number, kept)
	case broken:
		t.remarks.add("Track %d cannot be read from byte %d on; it was read up to there (%s).", t.number, t.pos, kept)
	}
	if t.looseStatus {
		t.remarks.add("Track %d leaves out status bytes after system messages; the last status was taken.", t.number)
	}
	if t.bareSystem {
		t.remarks.add("Track %d holds system messages that have no place in a file; they were skipped.", t.number)
	}
	if t.badTempi > 0 {
		t.remarks.add("Track %d holds %s that cannot be; the tempo before was kept.", t.number, counted(t.badTempi, "tempo mark"))
	}
}

// plainText makes a track's name safe to print: UTF-8 or else Latin-1, no control characters, a bounded length.
func plainText(b []byte) string {
	const maxNameBytes = 200 // own choice
	b = b[:min(len(b), maxNameBytes)]
	text := strings.ToValidUTF8(string(b), "")
	if !utf8.Valid(b) && len(b) < maxNameBytes {
		runes := make([]rune, len(b))
		for i, c := range b {
			runes[i] = rune(c)
		}
		text = string(runes)
	}
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text))
}
