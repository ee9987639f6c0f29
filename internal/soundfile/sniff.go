package soundfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
)

// kind is a file format that can be read.
type kind int

const (
	kindWAV kind = iota + 1
	kindFLAC
	kindVorbis
	kindMP3
)

// headBytes is how much of a file is looked at to tell its format. MP3 needs
// the most: the first frame may come after some padding, and two frames (1441
// bytes at most each) must follow one another.
const headBytes = 8192

const (
	readableFormats = "larkhand reads WAV, FLAC, Ogg Vorbis and MP3"
	convertAdvice   = ": convert it to WAV or FLAC"
)

// magic is a run of bytes at a fixed place that marks a format.
type magic struct {
	at    int
	bytes string
	kind  kind   // 0 for a format that is only named
	text  string // what is wrong with it
	cause error
}

// magics is tried in order. Sources: the formats' own specifications (RIFF:
// IBM/Microsoft 1991; RF64: EBU Tech 3306; FLAC: RFC 9639; Ogg: RFC 3533;
// Opus: RFC 7845; Standard MIDI Files 1.0); the others from memory.
var magics = []magic{
	{at: 0, bytes: "MThd", text: ErrMIDI.Error() + ": give a recording as WAV, FLAC, Ogg Vorbis or MP3", cause: ErrMIDI},
	{at: 8, bytes: "RMID", text: ErrMIDI.Error() + ": give a recording as WAV, FLAC, Ogg Vorbis or MP3", cause: ErrMIDI},
	{at: 8, bytes: "WAVE", kind: kindWAV},
	{at: 0, bytes: "fLaC", kind: kindFLAC},
	{at: 28, bytes: "\x01vorbis", kind: kindVorbis},
	{at: 28, bytes: "OpusHead", text: "is Opus in Ogg, which larkhand does not read" + convertAdvice},
	{at: 28, bytes: "\x7fFLAC", text: "is FLAC in Ogg, which larkhand does not read: convert it to plain FLAC"},
	{at: 28, bytes: "Speex   ", text: "is Speex in Ogg, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "OggS", text: "is an Ogg file without Vorbis sound at its start" + convertAdvice},
	{at: 8, bytes: "AIFF", text: "is an AIFF file, which larkhand does not read" + convertAdvice},
	{at: 8, bytes: "AIFC", text: "is an AIFF-C file, which larkhand does not read" + convertAdvice},
	{at: 4, bytes: "ftyp", text: "is an M4A or MP4 file (AAC or Apple Lossless), which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "ADIF", text: "is an AAC file, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "caff", text: "is a Core Audio file, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: ".snd", text: "is an AU file, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "#!AMR", text: "is an AMR telephone recording, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "\x30\x26\xb2\x75\x8e\x66\xcf\x11", text: "is a WMA file, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "\x1a\x45\xdf\xa3", text: "is a WebM or Matroska file, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "wvpk", text: "is a WavPack file, which larkhand does not read" + convertAdvice},
	{at: 0, bytes: "RIFX", text: "is a big-endian WAV file (RIFX), which larkhand does not read: convert it to ordinary WAV"},
	{at: 0, bytes: "riff\x2e\x91\xcf\x11", text: "is a Wave64 file, which larkhand does not read" + convertAdvice},
}

// sniff tells the format by the file's first bytes. start is where the format
// begins, after ID3 tags.
func sniff(r io.ReadSeeker, size int64) (k kind, start int64, err error) {
	if size == 0 {
		return 0, 0, faultf("is empty: record it again, or copy it again if it came from another device")
	}
	start, err = skipID3(r, size)
	if err != nil {
		return 0, 0, err
	}
	head, err := headAt(r, start, size, headBytes)
	if err != nil {
		return 0, 0, err
	}
	for _, m := range magics {
		if !m.in(head) {
			continue
		}
		if m.kind == 0 {
			return 0, 0, &fault{text: m.text, cause: m.cause}
		}
		return m.kind, start, nil
	}
	if isADTS(head) {
		return 0, 0, faultf("is an AAC file, which larkhand does not read" + convertAdvice)
	}
	if at := findMPEG(head); at >= 0 {
		return kindMP3, start + int64(at), nil
	}
	return 0, 0, faultf("is not a sound file: " + readableFormats)
}

// in says whether the mark is there. Marks inside a RIFF or AIFF file also need
// the container's own mark, so that no text with the word WAVE passes.
func (m magic) in(head []byte) bool {
	if len(head) < m.at+len(m.bytes) || string(head[m.at:m.at+len(m.bytes)]) != m.bytes {
		return false
	}
	switch m.bytes {
	case "WAVE":
		id := string(head[:4])
		return id == "RIFF" || id == "RF64" || id == "BW64"
	case "RMID":
		return string(head[:4]) == "RIFF"
	case "AIFF", "AIFC":
		return string(head[:4]) == "FORM"
	}
	if m.at == 28 {
		return string(head[:4]) == "OggS"
	}
	return true
}

// headAt reads n bytes from start, fewer at the end of the file.
func headAt(r io.ReadSeeker, start, size, n int64) ([]byte, error) {
	if _, err := r.Seek(start, io.SeekStart); err != nil {
		return nil, unreadable(err)
	}
	head := make([]byte, max(0, min(n, size-start)))
	got, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return nil, unreadable(err)
	}
	return head[:got], nil
}

// id3HeaderBytes is the length of an ID3v2 tag's header (ID3v2.4 structure,
// section 3.1), and of its footer.
const id3HeaderBytes = 10

// skipID3 returns where the file goes on after the ID3v2 tags at its beginning.
// A tag that claims to be longer than the file is taken to end at its header.
func skipID3(r io.ReadSeeker, size int64) (int64, error) {
	start := int64(0)
	for {
		head, err := headAt(r, start, size, id3HeaderBytes)
		if err != nil {
			return 0, err
		}
		if len(head) < id3HeaderBytes || !bytes.HasPrefix(head, []byte("ID3")) {
			return start, nil
		}
		length := int64(id3HeaderBytes)
		for _, b := range head[6:10] {
			if b >= 0x80 {
				return start, nil // not a tag: its length has 7 bits in each byte
			}
		}
		length += int64(head[6])<<21 | int64(head[7])<<14 | int64(head[8])<<7 | int64(head[9])
		if head[5]&0x10 != 0 { // the tag has a footer
			length += id3HeaderBytes
		}
		if start+length >= size {
			length = id3HeaderBytes
		}
		start += length
	}
}

// isADTS says whether AAC in ADTS frames begins here: the sync of MPEG audio
// with layer bits 00, which no MPEG layer has (ISO/IEC 13818-7, 6.2).
func isADTS(head []byte) bool {
	return len(head) >= 2 && binary.BigEndian.Uint16(head)&0xfff6 == 0xfff0
}
