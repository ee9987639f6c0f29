package soundfile

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"io"
)

// MPEG audio frames, own code after ISO/IEC 11172-3, 2.4.1.3 (MPEG-1) and
// ISO/IEC 13818-3 (MPEG-2, half the rates); "MPEG-2.5" (a quarter) is a common
// addition to them.

// mpegHeader describes one frame.
type mpegHeader struct {
	version  int // 1, 2, or 25 for MPEG-2.5
	layer    int // 1 to 3
	rate     int // Hz
	bitrate  int // bit/s
	padded   bool
	checked  bool // two bytes of checksum follow the header
	channels int
}

const (
	mpegHeaderBytes   = 4
	mpegChecksumBytes = 2
	maxReservoir      = 511 // bytes of earlier frames that a frame can use (9 bits)
)

// Bit rates in kbit/s by index; 0 (free format) and 15 are not read.
var (
	bitrates1 = [4][16]int{
		1: {0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448},
		2: {0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384},
		3: {0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320},
	}
	bitrates2 = [4][16]int{
		1: {0, 32, 48, 56, 64, 80, 96, 112, 128, 144, 160, 176, 192, 224, 256},
		2: {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
		3: {0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160},
	}
	mpegRates = [3]int{44100, 48000, 32000}
)

// parseMPEG reads a frame's header.
func parseMPEG(b []byte) (h mpegHeader, ok bool) {
	if len(b) < mpegHeaderBytes {
		return h, false
	}
	word := binary.BigEndian.Uint32(b)
	version, layer := word>>19&3, 4-int(word>>17&3)
	rateIndex, emphasis := word>>10&3, word&3
	if word>>21 != 0x7ff || version == 1 || layer == 4 || rateIndex == 3 || emphasis == 2 {
		return h, false
	}
	h = mpegHeader{layer: layer, rate: mpegRates[rateIndex], padded: word>>9&1 == 1, checked: word>>16&1 == 0, channels: 2}
	if word>>6&3 == 3 {
		h.channels = 1
	}
	table := bitrates2
	switch version {
	case 3:
		h.version, table = 1, bitrates1
	case 2:
		h.version, h.rate = 2, h.rate/2
	case 0:
		h.version, h.rate = 25, h.rate/4
	}
	h.bitrate = 1000 * table[layer][word>>12&15]
	return h, h.bitrate > 0
}

// samples is the number of samples of one channel in a frame.
func (h mpegHeader) samples() int {
	switch {
	case h.layer == 1:
		return 384
	case h.layer == 3 && h.version != 1:
		return 576
	}
	return 1152
}

// bytes is the length of the frame.
func (h mpegHeader) bytes() int {
	padding := 0
	if h.padded {
		padding = 1
	}
	if h.layer == 1 {
		return (12*h.bitrate/h.rate + padding) * 4
	}
	return h.samples()/8*h.bitrate/h.rate + padding
}

// sideAt and sideBytes are the place of layer III's side information in the frame.
func (h mpegHeader) sideAt() int {
	if h.checked {
		return mpegHeaderBytes + mpegChecksumBytes
	}
	return mpegHeaderBytes
}

func (h mpegHeader) sideBytes() int {
	switch {
	case h.version == 1 && h.channels == 2:
		return 32
	case h.version == 1 || h.channels == 2:
		return 17
	}
	return 9
}

// reservoirUse is how many bytes of earlier frames the frame needs: the first 9
// bits (MPEG-1) or 8 bits of the side information.
func (h mpegHeader) reservoirUse(frame []byte) int {
	side := frame[h.sideAt():]
	if h.version == 1 {
		return int(side[0])<<1 | int(side[1])>>7
	}
	return int(side[0])
}

// sameStream says whether two frames can follow one another.
func (h mpegHeader) sameStream(other mpegHeader) bool {
	return h.version == other.version && h.layer == other.layer && h.rate == other.rate && h.channels == other.channels
}

// findMPEG returns where the first frame begins that is followed by another of
// its kind, or is the only one up to the end of the file; -1 if nowhere.
func findMPEG(head []byte) int {
	for at := range head {
		h, ok := parseMPEG(head[at:])
		if !ok {
			continue
		}
		end := at + h.bytes()
		if end == len(head) && len(head) < headBytes && h.layer == 3 {
			return at
		}
		if end > len(head) {
			continue
		}
		if next, ok := parseMPEG(head[end:]); ok && h.sameStream(next) {
			return at
		}
	}
	return -1
}

// mpegFrames hands out the frames of a file, one after the other, as a reader of
// nothing but whole frames.
type mpegFrames struct {
	r     *bufio.Reader
	first mpegHeader // all frames must be of its kind

	pending   []byte // of the frame that is being read
	count     int    // frames handed out
	muted     int    // of these, frames whose sound lies in frames that are missing
	gaps      int    // places where something else lay between two frames
	cut       bool   // the file ends inside a frame
	reservoir int    // bytes of sound of earlier frames that the next can use
}

// Read implements io.Reader.
func (m *mpegFrames) Read(p []byte) (int, error) {
	if len(m.pending) == 0 {
		_, frame, err := m.next()
		if err != nil {
			return 0, err
		}
		m.pending = frame
	}
	n := copy(p, m.pending)
	m.pending = m.pending[n:]
	return n, nil
}

// next returns the next frame; io.EOF after the last.
func (m *mpegFrames) next() (mpegHeader, []byte, error) {
	skipped := false
	for {
		b, err := m.r.Peek(mpegHeaderBytes)
		if err != nil {
			return mpegHeader{}, nil, io.EOF
		}
		h, ok := parseMPEG(b)
		if !ok || !h.sameStream(m.first) || (skipped && !m.followed(h)) {
			m.r.Discard(1)
			skipped = true
			continue
		}
		frame := make([]byte, h.bytes())
		if _, err := io.ReadFull(m.r, frame); err != nil {
			m.cut = m.cut || errors.Is(err, io.ErrUnexpectedEOF)
			return mpegHeader{}, nil, io.EOF
		}
		if skipped {
			m.gaps++
			m.reservoir = 0
		}
		if !h.decodable() {
			return mpegHeader{}, nil, faultf("is an MP3 file at %d Hz and %d kbit/s, which larkhand cannot decode rightly"+convertAdvice, h.rate, h.bitrate/1000)
		}
		m.count++
		m.muteUnlessWhole(h, frame)
		return h, frame, nil
	}
}

// followed says whether another frame, or the end of the file, follows a frame.
func (m *mpegFrames) followed(h mpegHeader) bool {
	b, err := m.r.Peek(h.bytes() + mpegHeaderBytes)
	if err != nil {
		return len(b) == h.bytes()
	}
	next, ok := parseMPEG(b[h.bytes():])
	return ok && next.sameStream(m.first)
}

// muteUnlessWhole empties a frame that needs bytes of frames that are missing:
// the decoder would make a burst of noise of it. The frame keeps its own bytes
// for the frames after it.
func (m *mpegFrames) muteUnlessWhole(h mpegHeader, frame []byte) {
	mainAt := h.sideAt() + h.sideBytes()
	if mainAt > len(frame) {
		return
	}
	if h.reservoirUse(frame) > m.reservoir {
		clear(frame[h.sideAt():mainAt])
		m.muted++
	}
	m.reservoir = min(maxReservoir, m.reservoir+len(frame)-mainAt)
}

// infoTag is what an encoder writes into a first frame without sound.
type infoTag struct {
	frames   int64 // frames with sound; 0 where not given
	hasDelay bool
	delay    int // samples of silence before the sound
	padding  int // samples after it
}

// Offsets in the tag. Source: the description of the Xing and LAME tags, from
// memory, and checked against files of the encoder lame.
const (
	tagFlagFrames    = 1
	tagFlagBytes     = 2
	tagFlagTOC       = 4
	tagFlagQuality   = 8
	tagTOCBytes      = 100
	lameDelayAt      = 21 // bytes after the encoder's name begins
	lameDelayBytes   = 3
	vbriAt           = 32 // bytes after the header
	lameNameBytes    = 4
	minNameCharacter = ' '
)

// parseInfoTag looks for a Xing, Info or VBRI tag in a frame.
func parseInfoTag(h mpegHeader, frame []byte) (tag infoTag, ok bool) {
	if at := mpegHeaderBytes + vbriAt; len(frame) >= at+4 && string(frame[at:at+4]) == "VBRI" {
		return tag, true
	}
	at := mpegHeaderBytes + h.sideBytes()
	if len(frame) < at+8 {
		return tag, false
	}
	if name := string(frame[at : at+4]); name != "Xing" && name != "Info" {
		return tag, false
	}
	flags := binary.BigEndian.Uint32(frame[at+4:])
	at += 8
	if flags&tagFlagFrames != 0 && len(frame) >= at+4 {
		tag.frames = int64(binary.BigEndian.Uint32(frame[at:]))
		at += 4
	}
	for flag, length := range map[uint32]int{tagFlagBytes: 4, tagFlagTOC: tagTOCBytes, tagFlagQuality: 4} {
		if flags&flag != 0 {
			at += length
		}
	}
	if len(frame) < at+lameDelayAt+lameDelayBytes || !isEncoderName(frame[at:at+lameNameBytes]) {
		return tag, true
	}
	d := frame[at+lameDelayAt:]
	tag.hasDelay = true
	tag.delay = int(d[0])<<4 | int(d[1])>>4
	tag.padding = int(d[1]&15)<<8 | int(d[2])
	return tag, true
}

// isEncoderName says whether letters stand where the encoder's name should.
func isEncoderName(b []byte) bool {
	return bytes.IndexFunc(b, func(r rune) bool { return r <= minNameCharacter || r > '~' }) < 0
}
