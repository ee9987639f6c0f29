package soundfile

import (
	"encoding/binary"
	"errors"
	"io"

	mp3 "github.com/hajimehoshi/go-mp3"
)

// decoderDelay is how many samples late any layer III decoder is: the delay of
// the two filter banks (528) and one sample (the LAME project's technical FAQ,
// from memory; checked by TestMP3Timing).
const decoderDelay = 529

// What go-mp3 gives out: always two channels of 16 bits.
const (
	mp3FrameBytes = 4
	mp3BlockBytes = 1152 * mp3FrameBytes
)

// readMP3 reads MPEG-1 and MPEG-2 layer III with the decoder of go-mp3, which is
// given whole frames of one stream only: no tags, no info frame, nothing
// between the frames.
func readMP3(in input) (*recording, error) {
	r, err := in.rest()
	if err != nil {
		return nil, err
	}
	frames := &mpegFrames{r: bufferedReader(r)}
	head, err := frames.r.Peek(mpegHeaderBytes)
	if err != nil {
		return nil, unreadable(err)
	}
	first, _ := parseMPEG(head)
	frames.first = first
	if err := checkMPEG(first); err != nil {
		return nil, err
	}
	rec, err := newRecording(in, "MP3", first.rate, first.channels)
	if err != nil {
		return nil, err
	}
	tag, err := frames.takeInfoTag()
	if err != nil {
		return nil, err
	}
	err = guarded(func() error { return rec.fillMP3(frames) })
	var refused *fault
	if errors.As(err, &refused) { // too long, or a frame that go-mp3 would garble
		return nil, refused
	}
	rec.stopped = err
	switch {
	case err != nil:
	case frames.cut:
		rec.stopped = io.ErrUnexpectedEOF
	case rec.frames() < frames.count*first.samples():
		rec.stopped = errors.New("the decoder ended before the file")
	}
	rec.placeMP3(tag, first, frames)
	return rec, nil
}

// checkMPEG refuses what go-mp3 does not decode.
func checkMPEG(h mpegHeader) error {
	if h.layer != 3 {
		return faultf("is an MPEG layer %d file, which larkhand does not read"+convertAdvice, h.layer)
	}
	if h.version == 25 {
		return faultf("is an MP3 file at %d Hz, below the 16000 Hz that larkhand reads in MP3"+convertAdvice, h.rate)
	}
	return nil
}

// takeInfoTag takes the first frame out of the stream if it holds a tag.
func (m *mpegFrames) takeInfoTag() (infoTag, error) {
	h, frame, err := m.next()
	var refused *fault
	if errors.As(err, &refused) {
		return infoTag{}, refused
	}
	if err != nil {
		return infoTag{}, faultf("is an MP3 file without one whole frame of sound: copy or record it again")
	}
	tag, ok := parseInfoTag(h, frame)
	if !ok {
		m.pending = frame
		return tag, nil
	}
	m.count, m.muted, m.reservoir = 0, 0, 0
	return tag, nil
}

// decodable says whether go-mp3 gets a frame's length right. At 22050 Hz it
// loses the padding byte of a frame wherever twice the length without padding
// is even, and then garbles the sound.
func (h mpegHeader) decodable() bool {
	padding := 0
	if h.padded {
		padding = 1
	}
	length := 144*h.bitrate/h.rate + padding
	if h.version != 1 {
		length /= 2
	}
	return length == h.bytes()
}

// fillMP3 decodes all frames.
func (rec *recording) fillMP3(r io.Reader) error {
	decoder, err := mp3.NewDecoder(r)
	if err != nil {
		return err
	}
	buffer := make([]byte, mp3BlockBytes)
	for {
		n, err := io.ReadFull(decoder, buffer)
		if n > 0 {
			if err := rec.addMP3(buffer[:n/mp3FrameBytes*mp3FrameBytes]); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return nil // of the decoder; whether the file was cut is known from its frames
		}
		if err != nil {
			return err
		}
	}
}

// addMP3 appends decoded samples; of a mono file both channels are the same.
func (rec *recording) addMP3(raw []byte) error {
	n := len(raw) / mp3FrameBytes
	dst, err := rec.space(n*rec.channels, 0)
	if err != nil {
		return err
	}
	step := mp3FrameBytes / rec.channels
	for i := range dst {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(raw[i*step:]))) / (1 << 15)
	}
	return nil
}

// placeMP3 cuts off what the encoder and the decoder put around the sound, and
// remarks on timing and damage.
func (rec *recording) placeMP3(tag infoTag, first mpegHeader, frames *mpegFrames) {
	whole := tag.frames <= int64(frames.count)
	if tag.hasDelay {
		rec.trim(tag.delay+decoderDelay, 0)
		if whole {
			rec.trim(0, tag.padding-decoderDelay)
		}
	} else {
		rec.remarkf("MP3 timing is inexact by some tens of ms: the file does not say how much silence its encoder put before the sound")
	}
	if !whole {
		rec.promised = tag.frames*int64(first.samples()) - int64(tag.delay+tag.padding)
	}
	if frames.gaps > 0 {
		rec.remarkf("damaged: foreign bytes lie between its frames at %s, so times after the first may be wrong", places(frames.gaps))
	}
	if frames.muted > 0 {
		rec.remarkf("damaged: %.3f s of it are silent because parts of the file that they need are missing",
			rec.seconds(int64(frames.muted*first.samples())))
	}
}
