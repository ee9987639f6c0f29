package practice

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"

	"larkhand/internal/soundfile"
)

// The head of a 16-bit mono WAV file (IBM and Microsoft, 1991).
const (
	wavHead     = 44
	wavSampleAt = 2          // bytes of a sample
	unknownSize = 0xFFFFFFFF // as long as the file is being written; readers take what is there
)

// takeFile is a WAV file that is written as the sound comes. It keeps the first error and then does nothing more.
type takeFile struct {
	path string
	f    *os.File
	rate int
	err  error
}

// createTake begins a file.
func createTake(path string, rate int) *takeFile {
	t := &takeFile{path: path, rate: rate}
	t.f, t.err = os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644)
	t.try(func() error {
		_, err := t.f.Write(wavHeader(rate, unknownSize))
		return err
	})
	return t
}

// syncFolder sees to it that the names in a folder outlive the machine's power. Systems that cannot do that (Windows) see to it themselves.
func syncFolder(path string) {
	if f, err := os.Open(path); err == nil {
		_ = f.Sync()
		_ = f.Close()
	}
}

// try does a step unless an earlier one failed.
func (t *takeFile) try(step func() error) {
	if t.err != nil {
		return
	}
	if t.err = step(); t.err != nil {
		t.err = fmt.Errorf("%s cannot be written: %w", t.path, t.err)
	}
}

// write appends samples in their 16-bit codes and sees to it that they are on the disk.
func (t *takeFile) write(codes []byte) {
	t.try(func() error {
		if _, err := t.f.Write(codes); err != nil {
			return err
		}
		return t.f.Sync()
	})
}

// finish cuts the file to a number of samples and closes it.
func (t *takeFile) finish(samples int) error {
	t.try(func() error { return t.f.Truncate(wavHead + int64(samples)*wavSampleAt) })
	t.try(func() error {
		_, err := t.f.WriteAt(wavHeader(t.rate, uint32(samples)*wavSampleAt), 0)
		return err
	})
	t.try(t.f.Sync)
	if t.f != nil {
		t.try(t.f.Close)
	}
	return t.err
}

// wavHeader is the head of a file whose samples take so many bytes.
func wavHeader(rate int, bytes uint32) []byte {
	le := binary.LittleEndian
	whole := bytes
	if bytes != unknownSize {
		whole += wavHead - 8
	}
	h := le.AppendUint32([]byte("RIFF"), whole)
	h = append(h, "WAVEfmt "...)
	h = le.AppendUint32(h, 16)
	h = le.AppendUint16(h, 1)
	h = le.AppendUint16(h, 1)
	h = le.AppendUint32(h, uint32(rate))
	h = le.AppendUint32(h, uint32(rate)*wavSampleAt)
	h = le.AppendUint16(h, wavSampleAt)
	h = le.AppendUint16(h, 8*wavSampleAt)
	h = append(h, "data"...)
	return le.AppendUint32(h, bytes)
}

// mendTake writes the true size into the head of a file that was cut short, and returns the rate and the number of samples.
func mendTake(path string) (rate, samples int, err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return 0, 0, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	var head [wavHead]byte
	if _, err := io.ReadFull(f, head[:]); err != nil {
		return 0, 0, fmt.Errorf("%s is cut short before its sound begins", path)
	}
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return 0, 0, err
	}
	rate = int(binary.LittleEndian.Uint32(head[24:]))
	samples = int((size - wavHead) / wavSampleAt)
	if string(head[:4]) != "RIFF" || string(head[36:40]) != "data" {
		return 0, 0, fmt.Errorf("%s is not a take that larkhand recorded", path)
	}
	if err := f.Truncate(wavHead + int64(samples)*wavSampleAt); err != nil {
		return 0, 0, err
	}
	if _, err := f.WriteAt(wavHeader(rate, uint32(samples)*wavSampleAt), 0); err != nil {
		return 0, 0, err
	}
	return rate, samples, f.Sync()
}

// appendCodes appends samples, which are rounded to 16 bits already, as they are written.
func appendCodes(dst []byte, samples []float32) []byte {
	for _, x := range samples {
		dst = binary.LittleEndian.AppendUint16(dst, uint16(soundfile.Code16(x)))
	}
	return dst
}
