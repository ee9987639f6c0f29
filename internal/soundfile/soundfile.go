package soundfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// Limits of what is read.
const (
	MinRate = 8000   // Hz, the telephone rate
	MaxRate = 192000 // Hz, the highest rate of common audio interfaces

	// MaxDuration is the longest sound that is read, in seconds. A take is a
	// short phrase, some seconds long; half an hour allows a whole practice
	// session. Own choice.
	MaxDuration = 30 * 60

	// maxChannels is the highest number of channels that is read: above the 18
	// to 24 that common audio interfaces have. Own choice.
	maxChannels = 32

	// maxValues bounds memory, in samples of all channels together: half an
	// hour of stereo at 48 kHz or of mono at 96 kHz (691 MB).
	maxValues = MaxDuration * 96000
)

// Sound is one sound file as samples.
type Sound struct {
	Samples  []float32 // one channel, full scale is 1; never empty, never NaN or infinite
	Rate     int       // Hz, MinRate to MaxRate
	Channels int       // in the file, 1 or more
	Format   string    // "WAV 16 bit", "WAV 32 bit float", "FLAC", "Ogg Vorbis", "MP3"
	Remarks  []string  // plain sentences on what was mended, decided or looks wrong; nil if nothing
}

// Duration is the length in seconds.
func (s Sound) Duration() float64 {
	if s.Rate == 0 {
		return 0
	}
	return float64(len(s.Samples)) / float64(s.Rate)
}

// ErrMIDI is wrapped by the error for a MIDI file: a phrase that is already
// known may come as MIDI, so callers want to tell this case apart.
var ErrMIDI = errors.New("is a MIDI file, not a sound")

// Read reads the sound file at path. Errors begin with the path and are one
// sentence; those of the file system can be told apart with [errors.Is].
func Read(path string) (Sound, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Sound{}, openError(path, err)
	}
	if info.IsDir() {
		return Sound{}, about(path, faultf("is a folder: name one sound file in it"))
	}
	if !info.Mode().IsRegular() {
		return Sound{}, about(path, faultf("is not a plain file: save the sound as a WAV file and name that"))
	}
	f, err := os.Open(path)
	if err != nil {
		return Sound{}, openError(path, err)
	}
	defer f.Close()
	return Decode(path, f)
}

// Decode reads the sound file r from its beginning to its end. The name stands
// at the beginning of error messages and says nothing about the format.
func Decode(name string, r io.ReadSeeker) (Sound, error) {
	return decode(name, r, maxValues)
}

// decode is Decode with a bound on the samples of all channels together.
func decode(name string, r io.ReadSeeker, maxValues int) (Sound, error) {
	watched := &watchedFile{ReadSeeker: r}
	sound, err := decodeContent(watched, maxValues)
	if watched.broken != nil { // then what the decoders say is only a consequence
		err = unreadable(watched.broken)
	}
	if err != nil {
		return Sound{}, about(name, err)
	}
	return sound, nil
}

func decodeContent(r io.ReadSeeker, maxValues int) (Sound, error) {
	size, err := r.Seek(0, io.SeekEnd)
	if err != nil {
		return Sound{}, unreadable(err)
	}
	kind, start, err := sniff(r, size)
	if err != nil {
		return Sound{}, err
	}
	in := input{r: r, start: start, size: size, maxValues: maxValues}
	var raw *recording
	switch kind {
	case kindWAV:
		raw, err = readWAV(in)
	case kindFLAC:
		raw, err = readFLAC(in)
	case kindVorbis:
		raw, err = readVorbis(in)
	case kindMP3:
		raw, err = readMP3(in)
	}
	if err != nil {
		return Sound{}, err
	}
	return raw.sound()
}

// watchedFile keeps the first error of the disk, so that it is not taken for
// damage of the file.
type watchedFile struct {
	io.ReadSeeker
	broken error
}

func (w *watchedFile) Read(p []byte) (int, error) {
	n, err := w.ReadSeeker.Read(p)
	if err != nil && !errors.Is(err, io.EOF) && w.broken == nil {
		w.broken = err
	}
	return n, err
}

// input is a file that a decoder reads.
type input struct {
	r         io.ReadSeeker
	start     int64 // bytes; the format's first byte (after an ID3 tag)
	size      int64 // bytes, the true size of the file
	maxValues int   // bound on samples of all channels together
}

// rest positions the file at its start and returns a reader of the rest that
// cannot seek, so that no decoder looks about in the file by itself.
func (in input) rest() (io.Reader, error) {
	if _, err := in.r.Seek(in.start, io.SeekStart); err != nil {
		return nil, unreadable(err)
	}
	return io.LimitReader(in.r, in.size-in.start), nil
}

// fault is what is wrong with a file: the second half of a sentence whose first
// half is the file's name.
type fault struct {
	text  string
	cause error // may be nil
}

func (f *fault) Error() string { return f.text }
func (f *fault) Unwrap() error { return f.cause }

func faultf(format string, args ...any) error {
	return &fault{text: fmt.Sprintf(format, args...)}
}

// unreadable is the fault for an error of the disk.
func unreadable(err error) error {
	return &fault{text: "could not be read: " + err.Error(), cause: err}
}

// about puts the file's name before what is wrong with it.
func about(name string, err error) error {
	return &fault{text: name + " " + err.Error(), cause: err}
}

func openError(path string, err error) error {
	text := "could not be opened: " + err.Error()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		text = "does not exist: check the name and the folder"
	case errors.Is(err, fs.ErrPermission):
		text = "may not be read: its permissions do not allow it"
	}
	return about(path, &fault{text: text, cause: err})
}

// guarded runs a decoder from outside this package; a panic in it, which these
// libraries do on some damaged files, becomes an error.
func guarded(decode func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the decoder gave up: %v", p)
		}
	}()
	return decode()
}
