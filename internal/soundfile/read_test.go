package soundfile

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"log"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestReadPaths(t *testing.T) {
	dir := t.TempDir()
	missing := filepath.Join(dir, "missing.wav")
	midi := writeTemp(t, "take1.wav", []byte("MThd\x00\x00\x00\x06")) // by content, not by name
	for _, c := range []struct {
		path, want string
		is         error
	}{
		{missing, missing + " does not exist: check the name and the folder", fs.ErrNotExist},
		{dir, dir + " is a folder: name one sound file in it", nil},
		{midi, midi + " is a MIDI file, not a sound: give a recording as WAV, FLAC, Ogg Vorbis or MP3", ErrMIDI},
		{os.DevNull, os.DevNull + " is not a plain file: save the sound as a WAV file and name that", nil},
	} {
		_, err := Read(c.path)
		if err == nil || err.Error() != c.want {
			t.Errorf("got:  %v\nwant: %s", err, c.want)
		}
		if c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%v is not %v", err, c.is)
		}
	}
}

func TestReadWithoutPermission(t *testing.T) {
	path := writeTemp(t, "take.wav", riff())
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.Open(path); err == nil {
		f.Close()
		t.Skip("skipped: this user may read every file")
	}
	_, err := Read(path)
	if want := path + " may not be read: its permissions do not allow it"; err == nil || err.Error() != want {
		t.Errorf("got:  %v\nwant: %s", err, want)
	}
}

// The name says nothing: a WAV file called .mp3 is read as what it is.
func TestReadByContent(t *testing.T) {
	samples := tone(440, 0.5, 48000, 480)
	path := writeTemp(t, "take.mp3", encoded(t, func(b *bytes.Buffer) error { return EncodeWAV(b, samples, 48000) }))
	s, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	if s.Format != "WAV 16 bit" {
		t.Errorf("format %q", s.Format)
	}
}

// Reading changes neither the bytes nor the time of a file, and works where it
// may only be read.
func TestReadChangesNothing(t *testing.T) {
	for _, name := range []string{"tone.ogg", "tone.mp3"} {
		data := testFile(t, name)
		path := writeTemp(t, name, data)
		when := time.Date(2020, 1, 2, 3, 4, 5, 0, time.UTC)
		if err := errors.Join(os.Chtimes(path, when, when), os.Chmod(path, 0o400)); err != nil {
			t.Fatal(err)
		}
		if _, err := Read(path); err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		after, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !info.ModTime().Equal(when) || !bytes.Equal(after, data) {
			t.Errorf("%s was changed", name)
		}
	}
}

// The FLAC library writes to the standard log at some rates; nothing of it may
// get there, and everything else must.
func TestFLACDoesNotLog(t *testing.T) {
	var logged bytes.Buffer
	before, flags := log.Writer(), log.Flags()
	log.SetOutput(&logged)
	log.SetFlags(0)
	defer func() { log.SetOutput(before); log.SetFlags(flags) }()
	for _, rate := range []int{24000, 176400} {
		mustDecode(t, flacOf(t, tone(440, 0.5, rate, 9000), rate))
	}
	restore := hushFLAC(24000)
	log.Print("another line")
	restore()
	log.Print("and one more")
	if got := logged.String(); got != "another line\nand one more\n" {
		t.Errorf("logged: %q", got)
	}
}

func TestDurationOfNothing(t *testing.T) {
	if d := (Sound{}).Duration(); d != 0 {
		t.Errorf("%v, want 0", d)
	}
}

var errDisk = errors.New("input/output error")

// brokenDisk fails from some byte on.
type brokenDisk struct {
	*bytes.Reader
	good int64 // bytes
}

func (b brokenDisk) Read(p []byte) (int, error) {
	at, _ := b.Seek(0, io.SeekCurrent)
	if at >= b.good {
		return 0, errDisk
	}
	return b.Reader.Read(p[:min(int64(len(p)), b.good-at)])
}

// An error of the disk is said as such and is never taken for a short file.
func TestBrokenDisk(t *testing.T) {
	for name, file := range map[string][]byte{
		"WAV":    encoded(t, func(b *bytes.Buffer) error { return EncodeWAV(b, tone(440, 0.5, 48000, 9600), 48000) }),
		"FLAC":   flacOf(t, tone(440, 0.5, 48000, 9600), 48000),
		"Vorbis": repaged(t, testFile(t, "tone.ogg")),
		"MP3":    testFile(t, "tone.mp3"),
	} {
		for good := int64(0); good < int64(len(file)); good += 61 {
			_, err := Decode("take", brokenDisk{bytes.NewReader(file), good})
			if !errors.Is(err, errDisk) || err.Error() != "take could not be read: input/output error" {
				t.Fatalf("%s, good up to byte %d: %v", name, good, err)
			}
		}
	}
}
