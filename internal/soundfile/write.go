package soundfile

import (
	"bufio"
	"crypto/md5"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"larkhand/internal/safefile"
)

// WriteWAV writes one channel of samples (full scale 1) to a 16-bit WAV file.
// Samples beyond full scale are clipped, NaN becomes 0; there is no dither. The
// file appears whole or not at all: it is written beside its place under a
// temporary name and then renamed.
func WriteWAV(path string, samples []float32, rate int) error {
	return writeFile(path, func(w io.Writer) error { return EncodeWAV(w, samples, rate) })
}

// WriteWAVFloat is like [WriteWAV] with 32-bit floating-point samples, which
// keep every value as it is.
func WriteWAVFloat(path string, samples []float32, rate int) error {
	return writeFile(path, func(w io.Writer) error { return EncodeWAVFloat(w, samples, rate) })
}

// WriteFLAC is like [WriteWAV] for a 16-bit FLAC file: the same samples in
// less space.
func WriteFLAC(path string, samples []float32, rate int) error {
	return writeFile(path, func(w io.Writer) error { return EncodeFLAC(w, samples, rate) })
}

// EncodeWAV writes what [WriteWAV] writes, to w.
func EncodeWAV(w io.Writer, samples []float32, rate int) error {
	header, err := wavHeader(tagPCM, 2, len(samples), rate)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	out.Write(header) // bufio keeps the first error for Flush
	var b [2]byte
	for _, x := range samples {
		binary.LittleEndian.PutUint16(b[:], uint16(Code16(x)))
		out.Write(b[:])
	}
	return out.Flush()
}

// EncodeWAVFloat writes what [WriteWAVFloat] writes, to w.
func EncodeWAVFloat(w io.Writer, samples []float32, rate int) error {
	header, err := wavHeader(tagFloat, 4, len(samples), rate)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	out.Write(header)
	var b [4]byte
	for _, x := range samples {
		binary.LittleEndian.PutUint32(b[:], math.Float32bits(x))
		out.Write(b[:])
	}
	return out.Flush()
}

// Code16 is the 16-bit code of a sample (full scale 1): rounded to the nearest, clipped; 0 for what is no number.
func Code16(x float32) int16 {
	v := math.RoundToEven(float64(x) * (1 << 15))
	switch {
	case v != v:
		return 0
	case v > math.MaxInt16:
		return math.MaxInt16
	case v < math.MinInt16:
		return math.MinInt16
	}
	return int16(v)
}

// wavHeader is everything before the first sample of a mono file. Files that
// are not PCM carry an extension size and a fact chunk (Microsoft, 1994).
func wavHeader(tag, width, samples, rate int) ([]byte, error) {
	if err := checkRate(rate); err != nil {
		return nil, err
	}
	var extra []byte // of the fmt chunk
	var fact []byte
	le := binary.LittleEndian
	if tag != tagPCM {
		extra = []byte{0, 0}
		fact = le.AppendUint32(le.AppendUint32([]byte("fact"), 4), uint32(samples))
	}
	before := 4 + chunkHeaderBytes + fmtBytes + len(extra) + len(fact) + chunkHeaderBytes
	size := int64(samples) * int64(width)
	if int64(before)+size > math.MaxUint32 {
		return nil, errors.New("soundfile: more than 4 GB do not fit in a WAV file: write shorter files")
	}
	h := []byte("RIFF")
	h = le.AppendUint32(h, uint32(int64(before)+size))
	h = append(h, "WAVEfmt "...)
	h = le.AppendUint32(h, uint32(fmtBytes+len(extra)))
	h = le.AppendUint16(h, uint16(tag))
	h = le.AppendUint16(h, 1)
	h = le.AppendUint32(h, uint32(rate))
	h = le.AppendUint32(h, uint32(rate*width))
	h = le.AppendUint16(h, uint16(width))
	h = le.AppendUint16(h, uint16(8*width))
	h = append(append(h, extra...), fact...)
	h = append(h, "data"...)
	return le.AppendUint32(h, uint32(size)), nil
}

func checkRate(rate int) error {
	if rate < MinRate || rate > MaxRate {
		return fmt.Errorf("soundfile: a sampling rate of %d Hz cannot be written: use %d to %d Hz", rate, MinRate, MaxRate)
	}
	return nil
}

// FLAC block sizes in samples (RFC 9639, 8.2 and the streamable subset).
const (
	flacBlock    = 4096
	flacMinBlock = 16
)

// EncodeFLAC writes what [WriteFLAC] writes, to w. All fields of the stream's
// header are known beforehand, so w need not seek.
func EncodeFLAC(w io.Writer, samples []float32, rate int) error {
	if err := checkRate(rate); err != nil {
		return err
	}
	codes := make([]int32, len(samples))
	sum := md5.New()
	var b [2]byte
	for i, x := range samples {
		c := Code16(x)
		codes[i] = int32(c)
		binary.LittleEndian.PutUint16(b[:], uint16(c))
		sum.Write(b[:])
	}
	block := uint16(max(flacMinBlock, min(len(samples), flacBlock)))
	info := &meta.StreamInfo{
		BlockSizeMin: block, BlockSizeMax: block,
		SampleRate: uint32(rate), NChannels: 1, BitsPerSample: 16, NSamples: uint64(len(samples)),
	}
	sum.Sum(info.MD5sum[:0])
	defer hushFLAC(uint32(rate))()
	out := bufio.NewWriter(w)
	err := guarded(func() error {
		enc, err := flac.NewEncoder(out, info)
		if err != nil {
			return err
		}
		for len(codes) > 0 {
			n := min(len(codes), flacBlock)
			if err := enc.WriteFrame(flacFrame(codes[:n], rate)); err != nil {
				return err
			}
			codes = codes[n:]
		}
		return nil
	})
	if disk := out.Flush(); disk != nil { // the library's own words for it are coloured
		return disk
	}
	if err != nil {
		return fmt.Errorf("soundfile: FLAC: %w", err)
	}
	return nil
}

func flacFrame(codes []int32, rate int) *frame.Frame {
	return &frame.Frame{
		Header: frame.Header{
			HasFixedBlockSize: true,
			BlockSize:         uint16(len(codes)),
			SampleRate:        flacFrameRate(rate),
			Channels:          frame.ChannelsMono,
			BitsPerSample:     16,
		},
		Subframes: []*frame.Subframe{{
			SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, // the encoder looks for a better one
			Samples:   codes,
			NSamples:  len(codes),
		}},
	}
}

// flacFrameRate is the rate for a frame's header: 0 (take it from the stream's
// header) where it fits neither in 16 bits nor, in steps of 10 Hz, in 16 bits
// (RFC 9639, 9.1.2).
func flacFrameRate(rate int) uint32 {
	if rate > math.MaxUint16 && rate%10 != 0 {
		return 0
	}
	return uint32(rate)
}

// fileMode is that of an ordinary document.
const fileMode = 0o644

// writeFile lets encode write the file, whole or not at all.
func writeFile(path string, encode func(io.Writer) error) error {
	if err := safefile.Write(path, fileMode, encode); err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	return nil
}
