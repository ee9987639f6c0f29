package soundfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// The Ogg layer is own code after RFC 3533: small, without recursion, and with
// an end that can be told from a cut. (The ready-made reader recurses once for
// every empty packet, which no recover can stop when the stack runs out.)

// oggHeaderBytes is the fixed part of a page's header (RFC 3533, section 6).
const oggHeaderBytes = 27

// Flags of a page.
const (
	oggContinued = 1 // its first packet began on the page before
	oggLast      = 4 // last page of the stream
)

var errOggDamaged = errors.New("an Ogg page is damaged")

// oggPacket is one packet of the stream.
type oggPacket struct {
	data     []byte
	position int64 // the page's granule position on the last packet that ends on it, else -1
	last     bool  // no packet follows
}

// oggReader hands out the packets of the first stream of an Ogg file.
type oggReader struct {
	r       io.Reader
	begun   bool
	serial  uint32
	pending []oggPacket
	partial []byte // the beginning of a packet that goes on on the next page
	ended   bool
}

// next returns the next packet; io.EOF after the last, io.ErrUnexpectedEOF
// where the file ends before the stream does, errOggDamaged at a bad page.
func (o *oggReader) next() (oggPacket, error) {
	for len(o.pending) == 0 {
		if o.ended {
			return oggPacket{}, io.EOF
		}
		if err := o.readPage(); err != nil {
			return oggPacket{}, err
		}
	}
	p := o.pending[0]
	o.pending = o.pending[1:]
	return p, nil
}

// readPage reads one page and cuts it into packets.
func (o *oggReader) readPage() error {
	var header [oggHeaderBytes + 255]byte
	if _, err := io.ReadFull(o.r, header[:oggHeaderBytes]); err != nil {
		return io.ErrUnexpectedEOF
	}
	if string(header[:4]) != "OggS" || header[4] != 0 {
		return errOggDamaged
	}
	segments := header[oggHeaderBytes : oggHeaderBytes+int(header[26])]
	if _, err := io.ReadFull(o.r, segments); err != nil {
		return io.ErrUnexpectedEOF
	}
	length := 0
	for _, s := range segments {
		length += int(s)
	}
	body := make([]byte, length)
	if _, err := io.ReadFull(o.r, body); err != nil {
		return io.ErrUnexpectedEOF
	}
	checksum := binary.LittleEndian.Uint32(header[22:])
	clear(header[22:26])
	if oggChecksum(oggChecksum(0, header[:oggHeaderBytes+len(segments)]), body) != checksum {
		return errOggDamaged
	}
	serial := binary.LittleEndian.Uint32(header[14:])
	if !o.begun {
		o.begun, o.serial = true, serial
	}
	if serial != o.serial {
		return nil // a page of another stream in the same file
	}
	position := int64(binary.LittleEndian.Uint64(header[6:]))
	return o.cut(body, segments, header[5], position)
}

// cut appends the packets that end on a page to the pending ones.
func (o *oggReader) cut(body, segments []byte, flags byte, position int64) error {
	if (flags&oggContinued != 0) != (len(o.partial) > 0) {
		return fmt.Errorf("%w: a page is missing", errOggDamaged)
	}
	length := 0
	for _, s := range segments {
		length += int(s)
		if s == 255 {
			continue
		}
		data := body[:length]
		if len(o.partial) > 0 {
			data = append(o.partial, data...)
			o.partial = nil
		}
		o.pending = append(o.pending, oggPacket{data: data, position: -1})
		body, length = body[length:], 0
	}
	o.partial = append(o.partial, body[:length]...)
	o.ended = flags&oggLast != 0
	if n := len(o.pending); n > 0 {
		o.pending[n-1].position = position
		o.pending[n-1].last = o.ended
	}
	return nil
}

// oggPolynomial is that of the page checksum (RFC 3533, section 6, field 7).
const oggPolynomial = 0x04c11db7

var oggTable = func() (table [256]uint32) {
	for i := range table {
		r := uint32(i) << 24
		for range 8 {
			carry := r & (1 << 31)
			r <<= 1
			if carry != 0 {
				r ^= oggPolynomial
			}
		}
		table[i] = r
	}
	return table
}()

// oggChecksum goes on with a checksum: most significant bit first, begun at 0,
// not inverted.
func oggChecksum(sum uint32, data []byte) uint32 {
	for _, b := range data {
		sum = sum<<8 ^ oggTable[byte(sum>>24)^b]
	}
	return sum
}
