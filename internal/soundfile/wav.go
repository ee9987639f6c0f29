package soundfile

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// The WAV reader is own code, after "Multimedia Programming Interface and Data
// Specifications 1.0" (IBM and Microsoft, 1991), "Multiple Channel Audio Data
// and WAVE Files" (Microsoft, 2007) for the extensible header, and EBU Tech
// 3306 for RF64 and BW64.

// WAVE format tags.
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagALaw       = 0x0006
	tagMuLaw      = 0x0007
	tagExtensible = 0xfffe
)

// Sizes in bytes.
const (
	riffHeaderBytes    = 12
	chunkHeaderBytes   = 8
	fmtBytes           = 16 // the shortest fmt chunk
	fmtExtensibleBytes = 40
	ds64Bytes          = 16 // as far as the data size
)

// maxChunks is how many chunks are looked at, so that a large file of nothing but
// empty chunks is soon given up. Real files have fewer than twenty.
const maxChunks = 4096

// A data size at or above unknownSizeFrom that does not fit the file is what a
// program writes that cannot come back to fill in the header: 0xFFFFFFFF, or
// 0x7FFFF000 as sox does into a pipe.
const unknownSizeFrom = 0x7ffff000

// subFormatTail is the part of the extensible header's sub-format GUID that
// follows the two bytes of the format tag.
const subFormatTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// wavFormat is the fmt chunk.
type wavFormat struct {
	tag        int
	channels   int
	rate       int // Hz
	blockAlign int // bytes of one frame, as the header says
	bits       int // of one sample, as the header says
	width      int // bytes of one sample, as found out
}

// wavData is where the samples lie.
type wavData struct {
	start   int64 // bytes from the file's beginning
	length  int64 // bytes, inside the file
	claimed int64 // bytes, as the header says; 0 where it gives no length
	unknown bool  // the header gives no length
}

// readWAV reads a whole WAV file.
func readWAV(in input) (*recording, error) {
	format, data, err := scanWAV(in)
	if err != nil {
		return nil, err
	}
	name, err := format.resolve()
	if err != nil {
		return nil, err
	}
	rec, err := newRecording(in, name, format.rate, format.channels)
	if err != nil {
		return nil, err
	}
	frameBytes := format.width * format.channels
	if format.blockAlign != frameBytes {
		rec.remarkf("the header's frame length of %d bytes is wrong and was taken as %d", format.blockAlign, frameBytes)
	}
	frames := data.length / int64(frameBytes)
	if frames == 0 {
		return nil, data.noSound()
	}
	if data.unknown {
		rec.remarkf("the header's length is wrong (the recorder was stopped before it could fill it in): the whole file was read")
	} else {
		rec.promised = data.claimed / int64(frameBytes)
	}
	if frames > int64(rec.limit/rec.channels) {
		return nil, rec.tooLong()
	}
	if _, err := in.r.Seek(data.start, io.SeekStart); err != nil {
		return nil, unreadable(err)
	}
	return rec, rec.fillWAV(in.r, frames, format)
}

// fillWAV reads the samples block by block.
func (rec *recording) fillWAV(r io.Reader, frames int64, format wavFormat) error {
	convert := format.converter()
	blockFrames := max(1, blockValues/rec.channels)
	buffer := make([]byte, min(int64(blockFrames), frames)*int64(rec.channels*format.width))
	for left := frames; left > 0; {
		n := int(min(left, int64(blockFrames)))
		raw := buffer[:n*rec.channels*format.width]
		got, err := io.ReadFull(r, raw)
		if err != nil {
			if !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
				return unreadable(err)
			}
			rec.stopped = io.ErrUnexpectedEOF // the file got shorter while it was read
			n = got / (rec.channels * format.width)
			raw = raw[:n*rec.channels*format.width]
			left = int64(n)
		}
		dst, err := rec.space(n*rec.channels, int(left)*rec.channels)
		if err != nil {
			return err
		}
		convert(dst, raw)
		left -= int64(n)
	}
	return nil
}

// scanWAV walks the chunks until it has the format and the data.
func scanWAV(in input) (wavFormat, wavData, error) {
	var format wavFormat
	var data wavData
	haveFormat, haveData := false, false
	dataSize64 := int64(-1) // from a ds64 chunk
	pos := in.start + riffHeaderBytes
	for count := 0; count < maxChunks && (!haveFormat || !haveData); count++ {
		id, size, ok, err := chunkAt(in, pos)
		if err != nil {
			return format, data, err
		}
		if !ok {
			break
		}
		body := pos + chunkHeaderBytes
		switch id {
		case "ds64":
			b, err := headAt(in.r, body, in.size, min(size, ds64Bytes))
			if err != nil {
				return format, data, err
			}
			if len(b) == ds64Bytes {
				dataSize64 = int64(binary.LittleEndian.Uint64(b[8:]))
			}
		case "fmt ":
			b, err := headAt(in.r, body, in.size, min(size, fmtExtensibleBytes))
			if err != nil {
				return format, data, err
			}
			if format, err = parseFmt(b); err != nil {
				return format, data, err
			}
			haveFormat = true
		case "data":
			if haveData {
				break
			}
			claimed := size
			if size == math.MaxUint32 && dataSize64 >= 0 {
				claimed = dataSize64
			}
			if data, err = placeData(in, body, claimed); err != nil {
				return format, data, err
			}
			haveData = true
			size = data.length
		}
		pos = body + size + size&1
	}
	switch {
	case !haveFormat && !haveData:
		return format, data, faultf("is a WAV file without sound: nothing of use follows its header, so record or copy it again")
	case !haveFormat:
		return format, data, faultf("is a WAV file without a format (fmt) chunk, so its sound cannot be read: save it again as WAV")
	case !haveData:
		return format, data, faultf("is a WAV file without sound: it has no data chunk, so record or copy it again")
	}
	return format, data, nil
}

// placeData clips the data chunk to the file.
func placeData(in input, body, claimed int64) (wavData, error) {
	there := max(0, in.size-body)
	data := wavData{start: body, length: min(claimed, there), claimed: claimed}
	if claimed == 0 && there > 0 {
		ends, err := chunksFillFile(in, body)
		if err != nil {
			return data, err
		}
		data.unknown = !ends
	}
	if claimed > there && claimed >= unknownSizeFrom {
		data.unknown = true
	}
	if data.unknown {
		data.length = there
	}
	return data, nil
}

// noSound is the error for a data chunk without one whole frame.
func (d wavData) noSound() error {
	if d.claimed > 0 {
		return faultf("is cut short and holds no sound: its header promises %d bytes of sound and the file has %d, so record or copy it again", d.claimed, d.length)
	}
	return faultf("holds no sound: record it again")
}

// chunksFillFile says whether whole chunks with printable names follow from pos
// to the very end of the file. If so, a data size of 0 before them is true.
func chunksFillFile(in input, pos int64) (bool, error) {
	for count := 0; count < maxChunks && pos < in.size; count++ {
		id, size, ok, err := chunkAt(in, pos)
		if err != nil {
			return false, err
		}
		if !ok || !printable(id) {
			return false, nil
		}
		pos += chunkHeaderBytes + size
		if pos == in.size {
			return true, nil
		}
		pos += size & 1
	}
	return pos == in.size, nil
}

func printable(id string) bool {
	for _, c := range []byte(id) {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}

// chunkAt reads a chunk's header; ok is false where the file ends before it does.
func chunkAt(in input, pos int64) (id string, size int64, ok bool, err error) {
	b, err := headAt(in.r, pos, in.size, chunkHeaderBytes)
	if err != nil || len(b) < chunkHeaderBytes {
		return "", 0, false, err
	}
	return string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:])), true, nil
}

// parseFmt reads the fmt chunk; an extensible one is replaced by its sub-format.
func parseFmt(b []byte) (wavFormat, error) {
	if len(b) < fmtBytes {
		return wavFormat{}, faultf("is a WAV file whose format (fmt) chunk is cut short: save it again as WAV")
	}
	le := binary.LittleEndian
	f := wavFormat{
		tag:        int(le.Uint16(b)),
		channels:   int(le.Uint16(b[2:])),
		rate:       int(le.Uint32(b[4:])),
		blockAlign: int(le.Uint16(b[12:])),
		bits:       int(le.Uint16(b[14:])),
	}
	if f.tag == tagExtensible {
		if len(b) < fmtExtensibleBytes || string(b[26:40]) != subFormatTail {
			return f, faultf("is a WAV file in an extended format that larkhand does not know: save it as 16-bit or 24-bit PCM WAV")
		}
		f.tag = int(le.Uint16(b[24:]))
	}
	return f, nil
}

// codings names format tags that are met in practice and not read (RFC 2361).
var codings = map[int]string{
	0x02: "Microsoft ADPCM", 0x11: "IMA ADPCM", 0x31: "GSM 6.10", 0x50: "MPEG", 0x55: "MP3",
	0xff: "AAC", 0x161: "WMA", 0x2000: "AC-3", 0x674f: "Ogg Vorbis",
}

// resolve finds the width of a sample and names the format. Samples lie in a
// container of whole bytes with the valid bits at its top, so the container's
// width is all that counts: 12 bits in two bytes read as 16 bits.
func (f *wavFormat) resolve() (name string, err error) {
	f.width = (f.bits + 7) / 8
	if f.channels > 0 && f.blockAlign%f.channels == 0 {
		if w := f.blockAlign / f.channels; w > f.width && w <= 4 && f.tag == tagPCM {
			f.width = w
		}
	}
	switch f.tag {
	case tagPCM:
		if f.width < 1 || f.width > 4 {
			return "", faultf("is a WAV file with %d bits a sample: larkhand reads 8, 16, 24 and 32 bits, so save it as 16-bit or 24-bit PCM WAV", f.bits)
		}
		return fmt.Sprintf("WAV %d bit", 8*f.width), nil
	case tagFloat:
		if f.width != 4 && f.width != 8 {
			return "", faultf("is a WAV file with floating-point samples of %d bits: larkhand reads 32 and 64 bits, so save it as 32-bit float WAV", f.bits)
		}
		return fmt.Sprintf("WAV %d bit float", 8*f.width), nil
	case tagALaw, tagMuLaw:
		f.width = 1
		if f.tag == tagALaw {
			return "WAV 8 bit A-law", nil
		}
		return "WAV 8 bit mu-law", nil
	}
	coding := codings[f.tag]
	if coding == "" {
		coding = fmt.Sprintf("WAVE format %d", f.tag)
	}
	return "", faultf("is a WAV file whose sound is coded in %s, which larkhand does not read: save it as 16-bit or 24-bit PCM WAV", coding)
}

// converter turns bytes into samples.
func (f wavFormat) converter() func(dst []float32, raw []byte) {
	le := binary.LittleEndian
	switch {
	case f.tag == tagFloat && f.width == 4:
		return func(dst []float32, raw []byte) {
			for i := range dst {
				dst[i] = math.Float32frombits(le.Uint32(raw[4*i:]))
			}
		}
	case f.tag == tagFloat:
		return func(dst []float32, raw []byte) {
			for i := range dst {
				dst[i] = float32(math.Float64frombits(le.Uint64(raw[8*i:])))
			}
		}
	case f.tag == tagALaw:
		return byTable(aLawTable())
	case f.tag == tagMuLaw:
		return byTable(muLawTable())
	case f.width == 1: // 8 bits are unsigned, with the middle at 128
		return func(dst []float32, raw []byte) {
			for i := range dst {
				dst[i] = float32(int(raw[i])-128) / (1 << 7)
			}
		}
	case f.width == 2:
		return func(dst []float32, raw []byte) {
			for i := range dst {
				dst[i] = float32(int16(le.Uint16(raw[2*i:]))) / (1 << 15)
			}
		}
	case f.width == 3:
		return func(dst []float32, raw []byte) {
			for i := range dst {
				b := raw[3*i : 3*i+3]
				code := int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24) >> 8
				dst[i] = float32(code) / (1 << 23)
			}
		}
	default:
		return func(dst []float32, raw []byte) {
			for i := range dst {
				dst[i] = float32(float64(int32(le.Uint32(raw[4*i:]))) / (1 << 31))
			}
		}
	}
}

func byTable(table [256]float32) func(dst []float32, raw []byte) {
	return func(dst []float32, raw []byte) {
		for i := range dst {
			dst[i] = table[raw[i]]
		}
	}
}

// aLawTable expands A-law (ITU-T G.711, table 1): every second bit inverted,
// sign, 3 bits of segment, 4 bits of step; on a 13-bit scale, here times 8.
func aLawTable() (table [256]float32) {
	for code := range table {
		c := code ^ 0x55
		segment, step := c>>4&7, c&15
		value := step<<4 + 8
		if segment > 0 {
			value = (value + 0x100) << (segment - 1)
		}
		if c&0x80 == 0 { // in A-law a set bit is a positive sample
			value = -value
		}
		table[code] = float32(value) / (1 << 15)
	}
	return table
}

// muLawTable expands mu-law (ITU-T G.711, table 2): all bits inverted, sign, 3
// bits of segment, 4 bits of step, bias 33; on a 14-bit scale, here times 4.
func muLawTable() (table [256]float32) {
	const bias = 33 << 2
	for code := range table {
		c := ^code & 0xff
		segment, step := c>>4&7, c&15
		value := (step<<3+bias)<<segment - bias
		if c&0x80 != 0 {
			value = -value
		}
		table[code] = float32(value) / (1 << 15)
	}
	return table
}

// bufferedReader is the buffer that the compressed formats read through.
func bufferedReader(r io.Reader) *bufio.Reader { return bufio.NewReaderSize(r, 1<<16) }
