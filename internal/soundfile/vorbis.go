package soundfile

import (
	"errors"
	"io"
	"math/bits"

	"github.com/jfreymuth/vorbis"
)

// readVorbis reads Ogg Vorbis: own Ogg layer, own check of the headers, and the
// decoder of jfreymuth/vorbis.
func readVorbis(in input) (*recording, error) {
	r, err := in.rest()
	if err != nil {
		return nil, err
	}
	source := bufferedReader(r)
	ogg := &oggReader{r: source}
	decoder, err := openVorbis(ogg)
	if err != nil {
		return nil, &fault{text: "is an Ogg Vorbis file whose header is damaged, so it cannot be read: copy or record it again", cause: err}
	}
	rec, err := newRecording(in, "Ogg Vorbis", decoder.SampleRate(), decoder.Channels())
	if err != nil {
		return nil, err
	}
	stream := vorbisStream{rec: rec, ogg: ogg, decoder: decoder, buffer: make([]float32, decoder.BufferSize())}
	err = guarded(stream.readAll)
	var refused *fault
	if errors.As(err, &refused) { // the recording is too long
		return nil, refused
	}
	rec.stopped = err
	if mark, _ := source.Peek(4); err == nil && string(mark) == "OggS" {
		rec.remarkf("a second sound follows in the file and was left out")
	}
	return rec, nil
}

// openVorbis reads the three headers (Vorbis I, section 4.2). The comments are
// skipped. No header gets to the decoder unchecked, since it believes the sizes
// in them.
func openVorbis(ogg *oggReader) (*vorbis.Decoder, error) {
	var headers [3][]byte
	for i := range headers {
		p, err := ogg.next()
		if err != nil {
			return nil, err
		}
		headers[i] = p.data
	}
	if err := checkVorbisIdentification(headers[0]); err != nil {
		return nil, err
	}
	if err := checkVorbisSetup(headers[2]); err != nil {
		return nil, err
	}
	decoder := new(vorbis.Decoder)
	err := guarded(func() error {
		if err := decoder.ReadHeader(headers[0]); err != nil {
			return err
		}
		return decoder.ReadHeader(headers[2])
	})
	return decoder, err
}

// vorbisStream decodes the packets one after the other.
type vorbisStream struct {
	rec     *recording
	ogg     *oggReader
	decoder *vorbis.Decoder
	buffer  []float32

	placed bool  // a granule position has been seen
	origin int64 // position of the first decoded frame; negative: so many are to be dropped
}

func (v *vorbisStream) readAll() error {
	for {
		p, err := v.ogg.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if len(p.data) > 0 && p.data[0]&1 == 0 { // all others are no sound (Vorbis I, 4.3.1)
			if err := v.decode(p.data); err != nil {
				return err
			}
		}
		if p.position >= 0 {
			v.place(p)
		}
	}
}

func (v *vorbisStream) decode(packet []byte) error {
	samples, err := v.decoder.DecodeInto(packet, v.buffer)
	if err != nil {
		return err
	}
	dst, err := v.rec.space(len(samples), 0)
	if err != nil {
		return err
	}
	copy(dst, samples)
	return nil
}

// place uses the position that a page gives: the first one says how many frames
// at the beginning lie before time 0, the last one how many at the end are only
// there to fill the block (Vorbis I, appendix A.2).
func (v *vorbisStream) place(p oggPacket) {
	decoded := int64(v.rec.frames())
	if !v.placed && decoded > 0 {
		v.placed = true
		if before := decoded - p.position; before > 0 && !p.last {
			v.rec.trim(int(before), 0)
		} else if !p.last {
			v.origin = -before
		}
	}
	if p.last {
		after := v.origin + int64(v.rec.frames()) - p.position
		v.rec.trim(0, int(max(0, min(after, int64(v.rec.frames())))))
	}
}

// Bounds on what a Vorbis header may ask for. The largest of the encoder's own
// settings needs far less: see TestVorbisHeaderSizes.
const (
	maxBookEntries = 1 << 16 // of all codebooks together
	maxBookValues  = 1 << 20 // entries times dimensions, of all codebooks together
	maxBookLog     = 24      // bits of entries and dimensions of one codebook together
)

const (
	vorbisHeaderBytes = 7 // type and "vorbis" before every header
	codebookMark      = 0x564342
)

var errVorbisHeader = errors.New("a Vorbis header is damaged")

// checkVorbisIdentification checks the sizes in the first header (Vorbis I, 4.2.2).
func checkVorbisIdentification(h []byte) error {
	const length = vorbisHeaderBytes + 23
	if len(h) < length || string(h[:vorbisHeaderBytes]) != "\x01vorbis" {
		return errVorbisHeader
	}
	short, long := h[28]&15, h[28]>>4
	if short < 6 || short > long || long > 13 { // blocks of 64 to 8192 frames
		return errVorbisHeader
	}
	return nil
}

// checkVorbisSetup walks the third header as far as it can make the decoder ask
// for memory without bound or loop without end (Vorbis I, 4.2.4): codebooks,
// floors and residues.
func checkVorbisSetup(h []byte) error {
	if len(h) < vorbisHeaderBytes || string(h[:vorbisHeaderBytes]) != "\x05vorbis" {
		return errVorbisHeader
	}
	b := &bitReader{data: h[vorbisHeaderBytes:]}
	entries, values := 0, 0
	for range b.read(8) + 1 {
		n, v, ok := checkCodebook(b)
		entries, values = entries+n, values+v
		if !ok || entries > maxBookEntries || values > maxBookValues {
			return errVorbisHeader
		}
	}
	for range b.read(6) + 1 { // time-domain transforms: always 0
		b.read(16)
	}
	for range b.read(6) + 1 {
		if !checkFloor(b) {
			return errVorbisHeader
		}
	}
	for range b.read(6) + 1 {
		if !checkResidue(b) {
			return errVorbisHeader
		}
	}
	if b.over {
		return errVorbisHeader
	}
	return nil
}

// checkCodebook reads one codebook (Vorbis I, 3.2.1) and returns how many
// entries and how many values it has. A codebook without any used entry is
// refused: the decoder would look for its first codeword for ever.
func checkCodebook(b *bitReader) (entries, values int, ok bool) {
	if b.read(24) != codebookMark {
		return 0, 0, false
	}
	dimensions := int(b.read(16))
	entries = int(b.read(24))
	if dimensions == 0 || entries == 0 || bits.Len(uint(dimensions))+bits.Len(uint(entries)) > maxBookLog {
		return 0, 0, false
	}
	if !checkCodewordLengths(b, entries) {
		return 0, 0, false
	}
	lookup := b.read(4)
	if lookup == 0 {
		return entries, 0, !b.over
	}
	b.read(32)
	b.read(32)
	width := b.read(4) + 1
	b.read(1)
	values = entries * dimensions
	count := values
	if lookup == 1 {
		count = rootOf(entries, dimensions)
	}
	b.skip(count * int(width))
	return entries, values, lookup <= 2 && !b.over
}

// checkCodewordLengths reads the lengths in either of their two forms.
func checkCodewordLengths(b *bitReader, entries int) bool {
	used := 0
	if b.read(1) == 0 { // one length for each entry
		sparse := b.read(1) == 1
		for i := 0; i < entries && !b.over; i++ {
			if !sparse || b.read(1) == 1 {
				b.read(5)
				used++
			}
		}
		return used > 0 && !b.over
	}
	length := b.read(5) + 1 // counts of entries for each length in turn
	for used < entries {
		n := int(b.read(bits.Len(uint(entries - used))))
		if used += n; used > entries || length > 32 || b.over {
			return false
		}
		length++
	}
	return true
}

// rootOf is the largest n with n^dimensions <= entries (Vorbis I, 9.2.3).
func rootOf(entries, dimensions int) int {
	n := 1
	for power(n+1, dimensions, entries) <= entries {
		n++
	}
	return n
}

// power is n^exponent, or any number above limit as soon as it is.
func power(n, exponent, limit int) int {
	p := 1
	for range exponent {
		if p *= n; p > limit {
			break
		}
	}
	return p
}

// checkFloor reads one floor. Floor 0 has not been written by any encoder since
// before Vorbis 1.0, and costs the decoder a hundred times what it costs the
// file, so it is refused. The classes are counted as the decoder counts them.
func checkFloor(b *bitReader) bool {
	if b.read(16) != 1 {
		return false
	}
	partitions := make([]uint64, b.read(5))
	classes := uint64(1)
	for i := range partitions {
		partitions[i] = b.read(4)
		classes = max(classes, partitions[i]+1)
	}
	dimensions := make([]uint64, classes)
	for i := range dimensions {
		dimensions[i] = b.read(3) + 1
		subclasses := b.read(2)
		if subclasses > 0 {
			b.read(8)
		}
		b.skip(8 << subclasses)
	}
	b.read(2)
	width := b.read(4)
	for _, class := range partitions {
		b.skip(int(dimensions[class] * width))
	}
	return !b.over
}

// checkResidue reads one residue (Vorbis I, 8.6.1); it must not end before it begins.
func checkResidue(b *bitReader) bool {
	kind, begin, end := b.read(16), b.read(24), b.read(24)
	b.read(24)
	classifications := b.read(6) + 1
	b.read(8)
	books := 0
	for range classifications {
		cascade := b.read(3)
		if b.read(1) == 1 {
			cascade |= b.read(5) << 3
		}
		books += bits.OnesCount64(cascade)
	}
	b.skip(8 * books)
	return kind <= 2 && begin <= end && !b.over
}

// bitReader reads bits, least significant first (Vorbis I, section 2).
type bitReader struct {
	data []byte
	at   int  // bits
	over bool // more was asked for than there is; everything is 0 from then on
}

func (b *bitReader) read(n int) (value uint64) {
	if b.skip(n); b.over {
		return 0
	}
	for i := range n {
		at := b.at - n + i
		value |= uint64(b.data[at/8]>>(at%8)&1) << i
	}
	return value
}

func (b *bitReader) skip(n int) {
	b.at += n
	b.over = b.over || b.at > 8*len(b.data)
}
