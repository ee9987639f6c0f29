package midiin

import (
	"bytes"
	"fmt"
	"io"
	"os"
)

// MaxFileBytes is the largest MIDI file that is read: 8 MiB, own choice. A MIDI cable at its full 3,125 bytes a second takes 45
// minutes for that, so no answer comes near it. It bounds what a file that is made to be slow can cost: measured, at most
// 2 s and half a gigabyte on one core of a shared machine.
const MaxFileBytes = 8 << 20

// File is what a Standard MIDI File holds, as far as notes need it.
type File struct {
	Events     []Event  // all channel messages of all tracks, in time order; messages of one tick in the order track 1, track 2, ...
	End        float64  // s; the latest end of a track, never before the last event
	Format     int      // 0, 1 or 2, as the header says
	Division   Division // what a tick is
	Tempi      []Tempo  // in time order, the first at 0 s; empty where Division is in SMPTE frames, which have no tempo
	TrackNames []string // one for each track that was read; "" where it has no name
	Remarks    []string // what was damaged, guessed or left out: one plain sentence each; empty for a sound file
}

// Event is one channel message of a file.
type Event struct {
	Time                 float64 // s since the start of the file, >= 0
	Status, Data1, Data2 byte    // the message; Data2 is 0 and no part of it where the kind has one data byte
}

// Append adds the message's bytes (2 or 3) to dst, ready for Reader.Message.
func (e Event) Append(dst []byte) []byte {
	if dataBytes(e.Status) == 1 {
		return append(dst, e.Status, e.Data1)
	}
	return append(dst, e.Status, e.Data1, e.Data2)
}

// dataBytes is the number of data bytes of a channel message: 1 for program change and channel pressure, 2 for the others.
func dataBytes(status byte) int {
	if kind := status & 0xF0; kind == programChange || kind == channelPressure {
		return 1
	}
	return 2
}

// Tempo is one step of the tempo map.
type Tempo struct {
	Time float64 // s since the start of the file
	BPM  float64 // quarter notes a minute
}

// Division says how long a tick is: a part of a quarter note, or (SMPTE) a part of a film frame.
type Division struct {
	TicksPerQuarter int     // 0 where time is counted in SMPTE frames
	FramesPerSecond float64 // 24, 25, 30000/1001 or 30; 0 where time is counted in quarter notes
	TicksPerFrame   int     // 0 where time is counted in quarter notes
}

// String describes the division in words.
func (d Division) String() string {
	if d.TicksPerQuarter > 0 {
		return fmt.Sprintf("%d ticks a quarter note", d.TicksPerQuarter)
	}
	return fmt.Sprintf("%.2f frames a second, %d ticks a frame", d.FramesPerSecond, d.TicksPerFrame)
}

// ReadFile reads the MIDI file at path. It opens the file for reading only. Damage is not an error: what can be rescued is
// returned and File.Remarks says what was wrong. An error means that there is nothing to read: no such file, a folder,
// an empty file, a file over MaxFileBytes, or a file of another kind; its text says what would work.
func ReadFile(path string) (File, error) {
	f, err := os.Open(path)
	if err != nil {
		return File{}, err // os says which file and why
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return File{}, err
	}
	if info.IsDir() {
		return File{}, fmt.Errorf("%s is a folder: name the MIDI file (.mid) in it", path)
	}
	file, err := Read(f)
	if err != nil {
		return File{}, fmt.Errorf("%s %w", path, err)
	}
	return file, nil
}

// Read reads a MIDI file from r, at most MaxFileBytes of it. For damage and errors see ReadFile.
func Read(r io.Reader) (File, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxFileBytes+1))
	if err != nil {
		return File{}, fmt.Errorf("cannot be read: %w", err)
	}
	return Parse(data)
}

// Parse reads a MIDI file that is in memory. It keeps no part of data and does not change it. Time and memory are
// bounded by len(data), whatever lengths the file claims. For damage and errors see ReadFile.
func Parse(data []byte) (File, error) {
	if len(data) > MaxFileBytes {
		return File{}, fmt.Errorf("is larger than %d MiB, the most that is read: export the answer alone as a MIDI file", MaxFileBytes>>20)
	}
	if len(data) == 0 {
		return File{}, &NotMIDIError{Kind: "an empty file"}
	}
	p := parser{data: data}
	start, ok := p.findHeader()
	if !ok {
		return File{}, &NotMIDIError{Kind: kindOf(data)}
	}
	p.chunks(p.header(start))
	return p.file(), nil
}

// NotMIDIError says that bytes are not a MIDI file at all, and what they look like.
type NotMIDIError struct {
	Kind string // what it looks like, with its article: "a WAV sound file"
}

// Error is written to follow a file's name.
func (e *NotMIDIError) Error() string {
	return "is " + e.Kind + ", not a MIDI file: give a Standard MIDI File (.mid), as sequencers and keyboards export it"
}

// signatures are the first bytes of files that are likely to be given by mistake (the formats' own specifications).
var signatures = []struct {
	offset      int
	magic, kind string
}{
	{8, "WAVE", "a WAV sound file"},
	{8, "AIFF", "an AIFF sound file"},
	{8, "AIFC", "an AIFF sound file"},
	{0, "fLaC", "a FLAC sound file"},
	{0, "OggS", "an Ogg sound file"},
	{0, "ID3", "an MP3 sound file"},
	{0, "\xff\xfb", "an MP3 sound file"},
	{0, "\xff\xf3", "an MP3 sound file"},
	{4, "ftyp", "an MP4 sound or video file"},
	{0, "SMF2CLIP", "a MIDI 2.0 clip file"},
	{0, "PK\x03\x04", "a ZIP archive (perhaps compressed MusicXML)"},
	{0, "\x1f\x8b", "a gzip archive"},
	{0, "<?xml", "an XML file (perhaps MusicXML)"},
}

// kindOf names what data looks like.
func kindOf(data []byte) string {
	for _, s := range signatures {
		if s.offset <= len(data) && bytes.HasPrefix(data[s.offset:], []byte(s.magic)) {
			return s.kind
		}
	}
	if looksLikeText(data) {
		return "a text file"
	}
	return "a file of an unknown kind"
}

// looksLikeText looks at the first sniffBytes: no control characters but the usual white space.
func looksLikeText(data []byte) bool {
	const sniffBytes = 512 // own choice
	for _, b := range data[:min(len(data), sniffBytes)] {
		if b < ' ' && b != '\n' && b != '\r' && b != '\t' && b != '\f' || b == 0x7F {
			return false
		}
	}
	return true
}
