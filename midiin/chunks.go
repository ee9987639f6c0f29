package midiin

import (
	"bytes"
	"encoding/binary"
)

// The layout of a Standard MIDI File (MIDI Manufacturers Association, Standard MIDI Files 1.0): chunks of a
// 4-letter name, a 32-bit big-endian length, and that many bytes.
const (
	chunkHead   = 8                  // bytes of name and length
	headerBody  = 6                  // bytes of format, number of tracks and division
	headerStart = "MThd\x00\x00\x00" // name and the upper three bytes of every sane header length
)

// assumedTicksPerQuarter stands in where the header has no usable division: 480, the commonest (common practice, no source).
const assumedTicksPerQuarter = 480

// parser holds what has been read of one file.
type parser struct {
	data     []byte
	format   int
	promised int // number of tracks in the header; -1 where there is none
	division Division
	events   []tickEvent
	tempi    []tickTempo
	names    []string
	end      int64 // ticks
	chosen   bool  // format 2: a sequence with notes has been read
	others   int   // format 2: later sequences with notes, left out
	remarks  remarks
}

// tickEvent is a channel message at its tick; seq keeps the order of the file within a tick.
type tickEvent struct {
	tick                 int64
	seq                  uint32
	status, data1, data2 byte
}

// tickTempo is a tempo at its tick.
type tickTempo struct {
	tick      int64
	usQuarter uint32 // microseconds a quarter note, > 0
}

// findHeader finds where the Standard MIDI File begins in p.data, after stripping a RIFF wrapper. A file whose header is
// lost but that begins with a track is taken too.
func (p *parser) findHeader() (start int, ok bool) {
	const searchBytes = 4096 // own choice: more than the 128 bytes of a MacBinary wrapper or a mail header
	if bytes.HasPrefix(p.data, []byte("RIFF")) && len(p.data) >= 12 && string(p.data[8:12]) == "RMID" {
		p.unwrap(12)
	}
	if bytes.HasPrefix(p.data, []byte("MThd")) || bytes.HasPrefix(p.data, []byte("MTrk")) {
		return 0, true
	}
	start = bytes.Index(p.data[:min(len(p.data), searchBytes)], []byte(headerStart))
	if start < 0 {
		return 0, false
	}
	p.remarks.add("The MIDI file begins only after %s of something else.", counted(start, "byte"))
	return start, true
}

// unwrap narrows p.data to the "data" chunk of a RIFF file of type RMID, whose lengths are little-endian.
func (p *parser) unwrap(pos int) {
	for pos+chunkHead <= len(p.data) {
		body := pos + chunkHead
		end := clip(body, binary.LittleEndian.Uint32(p.data[pos+4:]), len(p.data))
		if string(p.data[pos:pos+4]) == "data" {
			p.data = p.data[body:end]
			return
		}
		pos = end + end%2 // RIFF pads to even
	}
}

// clip is the end of a body of that length, at most limit.
func clip(body int, length uint32, limit int) int {
	return int(min(int64(body)+int64(length), int64(limit)))
}

// header reads the header chunk at start and returns where the next chunk begins.
func (p *parser) header(start int) int {
	p.promised = -1
	p.division = Division{TicksPerQuarter: assumedTicksPerQuarter}
	if !bytes.HasPrefix(p.data[start:], []byte("MThd")) {
		p.format = 1
		p.remarks.add("The header is missing; %d ticks a quarter note and 120 quarter notes a minute were assumed, so times may be stretched.", assumedTicksPerQuarter)
		return start
	}
	body := start + chunkHead
	if body+headerBody > len(p.data) {
		p.remarks.add("The file ends in its header.")
		return len(p.data)
	}
	length := binary.BigEndian.Uint32(p.data[start+4:])
	p.format = int(binary.BigEndian.Uint16(p.data[body:]))
	p.promised = int(binary.BigEndian.Uint16(p.data[body+2:]))
	p.setDivision(binary.BigEndian.Uint16(p.data[body+4:]))
	if p.format > 2 {
		p.remarks.add("The header claims format %d, which does not exist; the file was read as format 1.", p.format)
		p.format = 1
	}
	next := body + headerBody
	if end := clip(body, length, len(p.data)); int64(end) == int64(body)+int64(length) && length >= headerBody && p.chunkAt(end) {
		return end // longer headers are allowed, what they add is skipped
	}
	if length != headerBody {
		p.remarks.add("The header claims to be %d bytes long, which cannot be; %d were read.", length, headerBody)
	}
	return next
}

// setDivision reads the division word: ticks a quarter note, or with the top bit set the negative SMPTE frame rate and the ticks a frame.
func (p *parser) setDivision(word uint16) {
	ticks := int(word & 0xFF)
	switch rate := int(int8(word >> 8)); {
	case word == 0 || rate < 0 && ticks == 0:
		p.remarks.add("The header gives no length of a tick; %d ticks a quarter note were assumed, so times may be stretched.", assumedTicksPerQuarter)
	case rate >= 0:
		p.division = Division{TicksPerQuarter: int(word)}
	default:
		p.division = Division{FramesPerSecond: p.frameRate(-rate), TicksPerFrame: ticks}
	}
}

// frameRate turns the header's frame rate into frames a second. "29" stands for 30 drop frame, which runs at 30000/1001
// frames a second: drop frame leaves out frame numbers, not frames.
func (p *parser) frameRate(coded int) float64 {
	switch coded {
	case 24, 25, 30:
	case 29:
		return 30000.0 / 1001
	default:
		p.remarks.add("The header gives a frame rate of %d, which SMPTE does not have; it was believed.", coded)
	}
	return float64(coded)
}

// chunkAt tells whether a chunk may begin at pos: the end of the file, a track, or any printable name whose length fits.
func (p *parser) chunkAt(pos int) bool {
	if pos == len(p.data) {
		return true
	}
	if pos+chunkHead > len(p.data) {
		return false
	}
	return string(p.data[pos:pos+4]) == "MTrk" || p.namedChunk(pos)
}

// namedChunk tells whether a chunk with a printable name lies at pos and is there in full.
func (p *parser) namedChunk(pos int) bool {
	for _, b := range p.data[pos : pos+4] {
		if b < ' ' || b > '~' {
			return false
		}
	}
	return int64(pos)+chunkHead+int64(binary.BigEndian.Uint32(p.data[pos+4:])) <= int64(len(p.data))
}

// nextTrack is where the next track begins, from pos on; the end of the file where there is none.
func (p *parser) nextTrack(pos int) int {
	if i := bytes.Index(p.data[pos:], []byte("MTrk")); i >= 0 {
		return pos + i
	}
	return len(p.data)
}

// chunks reads all chunks from pos on. Chunks with other names are skipped, as the specification asks.
func (p *parser) chunks(pos int) {
	for pos+chunkHead <= len(p.data) {
		switch name := string(p.data[pos : pos+4]); {
		case name == "MTrk":
			pos = p.track(pos)
		case name == "MThd":
			p.remarks.add("A second MIDI file follows the first one; it was left out.")
			pos = len(p.data)
		case p.namedChunk(pos):
			pos = clip(pos+chunkHead, binary.BigEndian.Uint32(p.data[pos+4:]), len(p.data))
		default:
			next := p.nextTrack(pos + 1)
			p.remarks.add("What stands from byte %d on (%s) is no part of a MIDI file and was skipped.", pos, counted(next-pos, "byte"))
			pos = next
		}
	}
	if left := len(p.data) - pos; left > 0 {
		p.remarks.add("The end of the file (%s) is too short for a track and was skipped.", counted(left, "byte"))
	}
}

// track reads the track chunk at pos and returns where the next chunk begins.
func (p *parser) track(pos int) (next int) {
	number := len(p.names) + 1
	body := pos + chunkHead
	length := binary.BigEndian.Uint32(p.data[pos+4:])
	end := clip(body, length, len(p.data))
	clipped := int64(end) < int64(body)+int64(length)
	if clipped {
		end = p.nextTrack(body)
		p.remarks.add("Track %d claims to be %s long, but only %d are there.", number, counted(length, "byte"), end-body)
	}
	t := trackReader{parser: p, number: number, pos: body, limit: end, first: len(p.events), firstTempo: len(p.tempi)}
	state := t.run()
	if !clipped && (state == ranOut || state == cutOff) && !p.chunkAt(end) {
		if further, ok := t.readOn(state, p.nextTrack(end), length == 0); ok {
			p.remarks.add("Track %d is longer than the %s that it claims; it was read on.", number, counted(length, "byte"))
			state, end = further, t.limit
		}
	}
	t.remark(state)
	p.keep(&t)
	if state == ended && t.pos < end {
		if bytes.HasPrefix(p.data[t.pos:], []byte("MTrk")) {
			p.remarks.add("Track %d is shorter than the %s that it claims.", number, counted(length, "byte"))
			return t.pos
		}
		p.remarks.add("What follows the end mark of track %d (%s) was skipped.", number, counted(end-t.pos, "byte"))
	}
	return end
}

// readOn tries whether the track goes on behind the end that it claims. It is believed when it comes to an End of Track, when
// its length was never filled in (0: a recording that was not closed), or when an event lies across the claimed end.
// Otherwise what lies there is something else, and the track is put back as it was.
func (t *trackReader) readOn(state trackState, limit int, unfilled bool) (further trackState, ok bool) {
	before, events, tempi := *t, len(t.events), len(t.tempi)
	t.limit = limit
	further = t.run()
	if further == ended || unfilled || state == cutOff && further != broken {
		return further, true
	}
	t.events, t.tempi = t.events[:events], t.tempi[:tempi]
	*t = before
	return state, false
}

// keep takes over what a track brought. In format 2 the tracks are independent sequences, not parts of one piece: only the
// first that has notes is kept, since an answer is one sequence, and laying several one after another would invent their times.
func (p *parser) keep(t *trackReader) {
	p.names = append(p.names, t.name)
	if p.format != 2 {
		p.end = max(p.end, t.tick)
		return
	}
	if p.chosen {
		if t.notes > 0 {
			p.others++
		}
		p.events = p.events[:t.first]
		p.tempi = p.tempi[:t.firstTempo]
		return
	}
	p.chosen = t.notes > 0
	p.events = append(p.events[:0], p.events[t.first:]...)
	p.tempi = append(p.tempi[:0], p.tempi[t.firstTempo:]...)
	p.end = t.tick
}
