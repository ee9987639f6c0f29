package soundfile

import (
	"errors"
	"fmt"
	"io"
	"log"
	"strings"
	"sync"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
)

const (
	maxFLACBits       = 24    // the most that the library decodes
	maxFLACBlock      = 65535 // samples in a frame (RFC 9639, 8.2)
	minFLACFrameBytes = 10    // header 6, one constant subframe 2, checksum 2 (RFC 9639, 9)
)

// readFLAC reads a FLAC file (RFC 9639) with the library mewkiz/flac.
func readFLAC(in input) (*recording, error) {
	r, err := in.rest()
	if err != nil {
		return nil, err
	}
	var stream *flac.Stream
	err = guarded(func() (err error) {
		stream, err = flac.New(bufferedReader(r))
		return err
	})
	if err != nil {
		return nil, &fault{text: "is a FLAC file whose header is damaged, so it cannot be read: copy or record it again", cause: err}
	}
	info := stream.Info
	rec, err := newRecording(in, "FLAC", int(info.SampleRate), int(info.NChannels))
	if err != nil {
		return nil, err
	}
	if info.BitsPerSample > maxFLACBits {
		return nil, faultf("is a FLAC file with %d bits a sample, which larkhand does not read: save it with 16 or 24 bits", info.BitsPerSample)
	}
	switch {
	case info.NSamples/maxFLACBlock*minFLACFrameBytes > uint64(in.size):
		rec.remarkf("the header's length is wrong: the whole file was read")
	case info.NSamples > uint64(rec.limit/rec.channels):
		return nil, rec.tooLong()
	default:
		rec.promised = int64(info.NSamples)
	}
	defer hushFLAC(info.SampleRate)()
	var tooLong error
	rec.stopped = guarded(func() error {
		for {
			f, err := nextFLACFrame(stream)
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				return err
			}
			if tooLong = rec.addFLACFrame(f); tooLong != nil {
				return nil
			}
		}
	})
	if tooLong != nil {
		return nil, tooLong
	}
	return rec, nil
}

// nextFLACFrame decodes one frame and checks that it is of the stream's kind. A
// frame may leave its sample size to the stream's header (RFC 9639, 9.1.4),
// which the library does not fill in by itself.
func nextFLACFrame(stream *flac.Stream) (*frame.Frame, error) {
	f, err := stream.Next()
	if err != nil {
		return nil, err
	}
	info := stream.Info
	if f.BitsPerSample == 0 {
		f.BitsPerSample = info.BitsPerSample
	}
	if f.BitsPerSample != info.BitsPerSample || f.Channels.Count() != int(info.NChannels) ||
		(f.SampleRate != 0 && f.SampleRate != info.SampleRate) {
		return nil, fmt.Errorf("a frame is of another kind than the file's header says")
	}
	return f, f.Parse()
}

// addFLACFrame appends a frame's samples.
func (rec *recording) addFLACFrame(f *frame.Frame) error {
	n := len(f.Subframes[0].Samples)
	dst, err := rec.space(n*rec.channels, 0)
	if err != nil {
		return err
	}
	scale := 1 / float64(uint64(1)<<(f.BitsPerSample-1))
	for c, sub := range f.Subframes {
		for i, x := range sub.Samples[:n] {
			dst[i*rec.channels+c] = float32(float64(x) * scale)
		}
	}
	return nil
}

// The library prints a line to the standard logger for every frame at these two
// rates, to ask for test files.
var chattyFLACRates = map[uint32]bool{24000: true, 176400: true}

// chatter is the beginning of that line.
const chatter = "The flac library test cases do not yet include"

// hushMutex keeps two readers from putting the logger's writer back in the
// wrong order.
var hushMutex sync.Mutex

// hushFLAC keeps the library's lines out of the standard log until the function
// that it returns is called. All other lines go where they went before.
func hushFLAC(rate uint32) (restore func()) {
	if !chattyFLACRates[rate] {
		return func() {}
	}
	hushMutex.Lock()
	before := log.Writer()
	log.SetOutput(hushedWriter{before})
	return func() {
		log.SetOutput(before)
		hushMutex.Unlock()
	}
}

type hushedWriter struct{ to io.Writer }

func (w hushedWriter) Write(line []byte) (int, error) {
	if strings.Contains(string(line), chatter) {
		return len(line), nil
	}
	return w.to.Write(line)
}
