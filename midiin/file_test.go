package midiin

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
)

// specFormat0 and specFormat1 are the worked examples at the end of the specification "Standard MIDI Files 1.0": the same
// three-voice music in one track and in four. The bytes of tracks 3 and 4 of the second are from memory; its lengths agree.
const (
	specFormat0 = `4D 54 68 64 00 00 00 06 00 00 00 01 00 60 4D 54 72 6B 00 00 00 3B 00 FF 58 04 04 02 18 08 00 FF 51 03 07 A1 20
		00 C0 05 00 C1 2E 00 C2 46 00 92 30 60 00 3C 60 60 91 43 40 60 90 4C 20 81 40 82 30 40 00 3C 40 00 81 43 40 00 80 4C 40 00 FF 2F 00`
	specFormat1 = `4D 54 68 64 00 00 00 06 00 01 00 04 00 60
		4D 54 72 6B 00 00 00 14 00 FF 58 04 04 02 18 08 00 FF 51 03 07 A1 20 83 00 FF 2F 00
		4D 54 72 6B 00 00 00 10 00 C0 05 81 40 90 4C 20 81 40 4C 00 00 FF 2F 00
		4D 54 72 6B 00 00 00 0F 00 C1 2E 60 91 43 40 82 20 43 00 00 FF 2F 00
		4D 54 72 6B 00 00 00 15 00 C2 46 00 92 30 60 00 3C 60 83 00 30 00 00 3C 00 00 FF 2F 00`
)

// fromHex turns spaced hexadecimal bytes into bytes.
func fromHex(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.Join(strings.Fields(text), ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// smfBytes builds a file from its header words and the bodies of its tracks.
func smfBytes(format, division int, tracks ...[]byte) []byte {
	b := append([]byte("MThd"), 0, 0, 0, 6, 0, byte(format), 0, byte(len(tracks)), byte(division>>8), byte(division))
	for _, body := range tracks {
		b = append(b, chunkBytes("MTrk", body)...)
	}
	return b
}

func chunkBytes(name string, body []byte) []byte {
	b := binary.BigEndian.AppendUint32([]byte(name), uint32(len(body)))
	return append(b, body...)
}

// mustParse parses and wants no error and exactly these remarks (each given by a part of its text).
func mustParse(t testing.TB, data []byte, remarks ...string) File {
	t.Helper()
	before := bytes.Clone(data)
	f, err := Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before, data) {
		t.Error("Parse changed its input")
	}
	if len(f.Remarks) != len(remarks) {
		t.Fatalf("remarks %q, want parts %q", f.Remarks, remarks)
	}
	for i, part := range remarks {
		if !strings.Contains(f.Remarks[i], part) {
			t.Errorf("remark %q, want part %q", f.Remarks[i], part)
		}
	}
	return f
}

// notesOf reads the notes of a file as from a keyboard.
func notesOf(f File) []Note {
	notes, _ := Notes(f, Options{})
	return notes
}

// specNotes are the notes of both examples: at 96 ticks a quarter and 120 quarters a minute a tick is 1/192 s.
var specNotes = []Note{
	{Onset: 0, Offset: 2, Released: 2, Key: 48, Pitch: 48, Velocity: 96, Channel: 2},
	{Onset: 0, Offset: 2, Released: 2, Key: 60, Pitch: 60, Velocity: 96, Channel: 2},
	{Onset: .5, Offset: 2, Released: 2, Key: 67, Pitch: 67, Velocity: 64, Channel: 1},
	{Onset: 1, Offset: 2, Released: 2, Key: 76, Pitch: 76, Velocity: 32, Channel: 0},
}

// about compares with a tolerance for the rounding of sums of float64 times: 1 ns.
var about = cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })

func TestSpecificationExamples(t *testing.T) {
	for name, text := range map[string]string{"format 0": specFormat0, "format 1": specFormat1} {
		t.Run(name, func(t *testing.T) {
			f := mustParse(t, fromHex(t, text))
			if d := cmp.Diff(specNotes, notesOf(f), about); d != "" {
				t.Error(d)
			}
			if d := cmp.Diff([]Tempo{{0, 120}}, f.Tempi); d != "" {
				t.Error(d)
			}
			if f.Division != (Division{TicksPerQuarter: 96}) || math.Abs(f.End-2) > 1e-9 {
				t.Errorf("division %v, end %v", f.Division, f.End)
			}
		})
	}
	if n := len(fromHex(t, specFormat0)); n != 81 {
		t.Errorf("the example has %d bytes, the specification says 81", n)
	}
}

// TestVariableLength has the table of the specification "Standard MIDI Files 1.0".
func TestVariableLength(t *testing.T) {
	for text, want := range map[string]uint32{
		"00": 0, "40": 0x40, "7F": 0x7F, "81 00": 0x80, "C0 00": 0x2000, "FF 7F": 0x3FFF, "81 80 00": 0x4000,
		"C0 80 00": 0x100000, "FF FF 7F": 0x1FFFFF, "81 80 80 00": 0x200000, "C0 80 80 00": 0x8000000, "FF FF FF 7F": 0x0FFFFFFF,
	} {
		b := fromHex(t, text)
		got, n, state := varLen(append(b, 0x55))
		if got != want || n != len(b) || state != reading {
			t.Errorf("%s: %#x of %d bytes, state %v; want %#x of %d", text, got, n, state, want, len(b))
		}
		if _, _, state := varLen(b[:len(b)-1]); state != cutOff {
			t.Errorf("%s cut short: state %v", text, state)
		}
	}
	if _, _, state := varLen([]byte{0xFF, 0xFF, 0xFF, 0xFF, 0x7F}); state != broken {
		t.Errorf("five bytes: state %v", state)
	}
}

// oneNote is a track: A4 struck at the given delta (a hex variable-length quantity) and released 10 ticks later.
func oneNote(t testing.TB, delta string) []byte {
	return fromHex(t, delta+" 90 45 50 0A 80 45 40 00 FF 2F 00")
}

func TestTimeDivision(t *testing.T) {
	for _, c := range []struct {
		name     string
		division int
		delta    string
		onset    float64 // s, by hand
		want     Division
	}{
		{"quarters: 1000 of 480 ticks at 120", 480, "87 68", 1000.0 / 960, Division{TicksPerQuarter: 480}},
		{"24 frames, 4 ticks: 96 ticks a second", 0xE804, "60", 1, Division{FramesPerSecond: 24, TicksPerFrame: 4}},
		{"25 frames, 40 ticks: milliseconds", 0xE728, "87 68", 1, Division{FramesPerSecond: 25, TicksPerFrame: 40}},
		{"29.97 drop frame, 80 ticks: 2400 ticks are 30 frames", 0xE350, "92 60", 1.001, Division{FramesPerSecond: 30000.0 / 1001, TicksPerFrame: 80}},
		{"30 frames, 100 ticks: 3000 ticks a second", 0xE264, "97 38", 1, Division{FramesPerSecond: 30, TicksPerFrame: 100}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := mustParse(t, smfBytes(0, c.division, oneNote(t, c.delta)))
			if f.Division != c.want {
				t.Errorf("division %+v, want %+v", f.Division, c.want)
			}
			if got := f.Events[0].Time; math.Abs(got-c.onset) > 1e-9 {
				t.Errorf("onset %v s, want %v", got, c.onset)
			}
		})
	}
}

// TestSMPTEHasNoTempo: frames are real time, whatever a tempo mark says.
func TestSMPTEHasNoTempo(t *testing.T) {
	f := mustParse(t, smfBytes(0, 0xE728, append(fromHex(t, "00 FF 51 03 0F 42 40"), oneNote(t, "87 68")...)))
	if len(f.Tempi) != 0 || math.Abs(f.Events[0].Time-1) > 1e-9 {
		t.Errorf("tempi %v, onset %v; want none, 1 s", f.Tempi, f.Events[0].Time)
	}
}

// TestTempoMap: 100 ticks a quarter; quarters last 0.5 s, from tick 200 on 1 s, from tick 300 on 0.25 s. The map stands in
// the second track. So tick 400 is at 2*0.5 + 1*1 + 1*0.25 = 2.25 s.
func TestTempoMap(t *testing.T) {
	notes := fromHex(t, "64 90 3C 40 82 2C 80 3C 40 00 FF 2F 00") // on at 100, off at 400
	tempi := fromHex(t, "81 48 FF 51 03 0F 42 40 64 FF 51 03 03 D0 90 00 FF 2F 00")
	f := mustParse(t, smfBytes(1, 100, notes, tempi))
	want := []Note{{Onset: .5, Offset: 2.25, Released: 2.25, Key: 60, Pitch: 60, Velocity: 64}}
	if d := cmp.Diff(want, notesOf(f), about); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]Tempo{{0, 120}, {1, 60}, {2, 240}}, f.Tempi, about); d != "" {
		t.Error(d)
	}
}

// TestOrderInATick: messages of one tick come in the order of the tracks and, within a track, of the file.
func TestOrderInATick(t *testing.T) {
	first := fromHex(t, "05 B0 07 01 00 B0 07 02 00 B0 07 03 00 FF 2F 00")
	second := fromHex(t, "04 B0 07 00 01 B0 07 04 00 B0 07 05 00 FF 2F 00")
	f := mustParse(t, smfBytes(1, 96, first, second))
	var got []byte
	for _, e := range f.Events {
		got = append(got, e.Data2)
	}
	if d := cmp.Diff([]byte{0, 1, 2, 3, 4, 5}, got); d != "" {
		t.Error(d)
	}
}

func TestFormat2(t *testing.T) {
	empty := fromHex(t, "00 FF 51 03 0F 42 40 00 FF 2F 00")
	first := append(fromHex(t, "00 FF 51 03 03 D0 90"), oneNote(t, "60")...) // 250 ms a quarter
	second := fromHex(t, "00 90 40 40 60 40 00 00 FF 2F 00")
	f := mustParse(t, smfBytes(2, 96, empty, first, second, second), "independent sequences (format 2); the first with notes was read and 2 more left out")
	notes := notesOf(f)
	if len(notes) != 1 || notes[0].Key != 69 || math.Abs(notes[0].Onset-.25) > 1e-9 {
		t.Errorf("notes %+v, want one A4 at 0.25 s", notes)
	}
}

func TestTrackNames(t *testing.T) {
	named := func(name string) []byte {
		b := append(fromHex(t, "00 FF 03"), byte(len(name)))
		return append(append(b, name...), fromHex(t, "00 FF 2F 00")...)
	}
	f := mustParse(t, smfBytes(1, 96, named("Klavier h\xf6her"), named("gr\u00fcn\x1b[31m"), fromHex(t, "00 FF 2F 00")))
	want := []string{"Klavier h\u00f6her", "gr\u00fcn [31m", ""}
	if d := cmp.Diff(want, f.TrackNames); d != "" {
		t.Error(d)
	}
}

// TestWrappers: containers and oddities around a sound file lose nothing.
func TestWrappers(t *testing.T) {
	spec := fromHex(t, specFormat0)
	riff := append([]byte("RIFF\xff\x00\x00\x00RMID"), "DISP\x03\x00\x00\x00abc\x00data\x51\x00\x00\x00"...)
	riff = append(append(riff, spec...), "\x00LIST\x04\x00\x00\x00INFO"...)
	long := bytes.Clone(spec[:14])
	long[7] = 8
	long = append(append(long, 0xAB, 0xCD), spec[14:]...)
	lying := bytes.Clone(spec)
	binary.BigEndian.PutUint32(lying[4:], 1<<31)
	short := bytes.Clone(spec)
	short[7] = 4
	noHeader := bytes.Clone(spec[14:])
	for _, c := range []struct {
		name    string
		data    []byte
		remarks []string
	}{
		{"RIFF", riff, nil},
		{"header of 8 bytes", long, nil},
		{"header that claims 2 GB", lying, []string{"claims to be 2147483648 bytes long"}},
		{"header that claims 4 bytes", short, []string{"claims to be 4 bytes long"}},
		{"128 bytes before it", append(make([]byte, 128), spec...), []string{"after 128 bytes of something else"}},
		{"unknown chunk before the track", append(append(bytes.Clone(spec[:14]), chunkBytes("XFIH", []byte("MTrk?"))...), spec[14:]...), nil},
		{"unknown chunk behind the track", append(bytes.Clone(spec), chunkBytes("XFKM", []byte{1, 2, 3})...), nil},
		{"padded track", append(bytes.Clone(spec), 0), []string{"The end of the file (1 byte) is too short"}},
		{"a second file behind", append(bytes.Clone(spec), spec...), []string{"A second MIDI file"}},
		{"zeros behind", append(bytes.Clone(spec), make([]byte, 40)...), []string{"from byte 81 on (40 bytes) is no part"}},
		{"no header", noHeader, []string{"header is missing"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := mustParse(t, c.data, c.remarks...)
			want := specNotes
			if c.name == "no header" { // at the assumed 480 instead of 96 ticks a quarter all times shrink by 5
				want = make([]Note, len(specNotes))
				for i, n := range specNotes {
					n.Onset, n.Offset, n.Released = n.Onset/5, n.Offset/5, n.Released/5
					want[i] = n
				}
			}
			if d := cmp.Diff(want, notesOf(f), about); d != "" {
				t.Error(d)
			}
		})
	}
}

// TestDamage: what can be rescued is, and each fault has its sentence.
func TestDamage(t *testing.T) {
	good := "00 90 3C 40 60 80 3C 40 "
	second := fromHex(t, good+"00 FF 2F 00")
	withLength := func(body []byte, length uint32, behind ...byte) []byte {
		b := chunkBytes("MTrk", body)
		binary.BigEndian.PutUint32(b[4:], length)
		return append(append(smfBytes(1, 96), b...), behind...)
	}
	twoTracks := func(first []byte, length uint32) []byte {
		b := withLength(first, length, chunkBytes("MTrk", second)...)
		b[11] = 2
		return b
	}
	oneTrack := func(body string) []byte { return smfBytes(0, 96, fromHex(t, body)) }
	promise := func(b []byte, tracks byte) []byte { b[11] = tracks; return b }
	for _, c := range []struct {
		name    string
		data    []byte
		notes   int
		remarks []string
	}{
		{"no end of track", oneTrack(good), 1, []string{"Track 1 has no end mark"}},
		{"cut in an event", oneTrack(good + "00 90 3C"), 1, []string{"Track 1 breaks off in the middle of an event, after 2 messages."}},
		{"data without a status", oneTrack(good[3:]), 0, []string{"cannot be read from byte 22 on; it was read up to there (0 messages)"}},
		{"status where data should be", oneTrack(good + "00 90 90 3C 40"), 1, []string{"cannot be read from byte 30 on"}},
		{"delta of five bytes", oneTrack(good + "FF FF FF FF 7F 90 3C 40"), 1, []string{"cannot be read from byte 30 on"}},
		{"meta event that claims 256 MB", oneTrack(good + "00 FF 01 FF FF FF 7F 41"), 1, []string{"breaks off"}},
		{"system exclusive that claims 256 MB", oneTrack(good + "00 F0 FF FF FF 7F 41"), 1, []string{"breaks off"}},
		{"tempo 0", oneTrack("00 FF 51 03 00 00 00 " + good + "00 FF 2F 00"), 1, []string{"1 tempo mark that cannot be"}},
		{"tempo of two bytes", oneTrack("00 FF 51 02 07 A1 " + good + "00 FF 2F 00"), 1, []string{"1 tempo mark that cannot be"}},
		{"running status after a meta event", oneTrack("00 90 3C 40 00 FF 01 01 41 60 3C 00 00 FF 2F 00"), 1, []string{"leaves out status bytes"}},
		{"bare system message cut short", oneTrack(good + "00 F2 01"), 1, []string{"breaks off"}},
		{"bare system messages", oneTrack("00 F8 00 F2 01 02 00 F3 01 " + good + "00 FF 2F 00"), 1, []string{"system messages that have no place"}},
		{"track that claims 4 GB", promise(withLength(second, math.MaxUint32), 1), 1, []string{"Track 1 claims to be 4294967295 bytes long"}},
		{"first of two claims 4 GB", twoTracks(second, math.MaxUint32), 2, []string{"Track 1 claims to be 4294967295 bytes long"}},
		{"first of two claims a little too much", twoTracks(second, uint32(len(second)+9)), 2, []string{"Track 1 is shorter"}},
		{"first of two claims too little", twoTracks(second, 4), 2, []string{"Track 1 is longer than the 4 bytes"}},
		{"first of two claims too little, in an event", twoTracks(second, 6), 2, []string{"Track 1 is longer than the 6 bytes"}},
		{"recording that was not closed: length 0, no end", promise(withLength(fromHex(t, good), 0), 1), 1,
			[]string{"Track 1 is longer than the 0 bytes", "Track 1 has no end mark"}},
		{"no end of track and something else behind", promise(withLength(fromHex(t, good), 8, fromHex(t, "00 90 40 40 00 80 40 40 81")...), 1), 1,
			[]string{"Track 1 has no end mark", "from byte 30 on (9 bytes) is no part"}},
		{"something after the end of track", oneTrack(good + "00 FF 2F 00 90 40 40"), 1, []string{"What follows the end mark of track 1 (3 bytes) was skipped"}},
		{"fewer tracks than promised", promise(oneTrack(good+"00 FF 2F 00"), 3), 1, []string{"promises 3 tracks, the file has 1"}},
		{"more tracks than promised", promise(smfBytes(1, 96, second, second), 1), 2, []string{"promises 1 track, the file has 2"}},
		{"damaged track name", append(append(smfBytes(1, 96, second), "MTsk\xff\xff\xff\xff"...), chunkBytes("MTrk", second)...), 2,
			[]string{"is no part of a MIDI file", "promises 1 track, the file has 2"}},
		{"no division", smfBytes(0, 0, second), 1, []string{"no length of a tick"}},
		{"SMPTE without ticks", smfBytes(0, 0xE700, second), 1, []string{"no length of a tick"}},
		{"frame rate 20", smfBytes(0, 0xEC04, second), 1, []string{"frame rate of 20"}},
		{"format 9", smfBytes(9, 96, second), 1, []string{"format 9, which does not exist"}},
		{"only a name", []byte("MThd"), 0, []string{"ends in its header"}},
		{"only a header", smfBytes(0, 96), 0, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := mustParse(t, c.data, c.remarks...)
			if got := len(notesOf(f)); got != c.notes {
				t.Errorf("%d notes, want %d", got, c.notes)
			}
		})
	}
}

// TestTruncation: a good file cut anywhere gives an error for an empty file only, and never loses what was complete.
func TestTruncation(t *testing.T) {
	whole := fromHex(t, specFormat1)
	all := mustParse(t, whole)
	seen := 0
	for n := range whole {
		f, err := Parse(whole[:n])
		if n < 4 {
			if err == nil {
				t.Errorf("%d bytes: no error", n)
			}
			continue
		}
		if err != nil {
			t.Errorf("%d bytes: %v", n, err)
		}
		if len(f.Remarks) == 0 {
			t.Errorf("%d bytes: no remark", n)
		}
		if len(f.Events) < seen {
			t.Errorf("%d bytes: %d events, fewer than from a shorter piece", n, len(f.Events))
		}
		seen = len(f.Events)
	}
	if seen != len(all.Events) {
		t.Errorf("cut by one byte: %d events, want all %d (only the end mark is cut)", seen, len(all.Events))
	}
}

// TestLyingLengthsCostNothing: the two files with which a library was seen to take gigabytes: a header of 2 GB and a meta
// event of 256 MB in 50 bytes. Parsing each allocates less than 64 KiB (own bound; the parser's lists start small).
func TestLyingLengthsCostNothing(t *testing.T) {
	header := fromHex(t, "4D 54 68 64 7F FF FF FF 00 00 00 01 00 60 4D 54 72 6B 7F FF FF FF 00 90 3C 40 60 80 3C 40")
	inner := smfBytes(0, 96, fromHex(t, "00 90 3C 40 60 80 3C 40 00 FF 01 FF FF FF 7F 41"))
	for _, data := range [][]byte{header, inner} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		f, err := Parse(data)
		runtime.ReadMemStats(&after)
		if err != nil || len(f.Events) != 2 {
			t.Errorf("%d events, error %v; want 2", len(f.Events), err)
		}
		if got := after.TotalAlloc - before.TotalAlloc; got > 64<<10 {
			t.Errorf("%d bytes allocated", got)
		}
	}
}

func TestRemarksAreBounded(t *testing.T) {
	tracks := make([][]byte, 200)
	f, err := Parse(smfBytes(1, 96, tracks...)) // 200 empty tracks, none with an end mark
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Remarks) != maxRemarks+1 || !strings.Contains(f.Remarks[maxRemarks], "180 more") {
		t.Errorf("%d remarks, the last %q", len(f.Remarks), f.Remarks[len(f.Remarks)-1])
	}
}

func TestNotMIDI(t *testing.T) {
	for data, want := range map[string]string{
		"":                             "an empty file",
		"RIFF\x24\x00\x00\x00WAVEfmt ": "a WAV sound file",
		"fLaC\x00\x00\x00\x22":         "a FLAC sound file",
		"OggS\x00\x02":                 "an Ogg sound file",
		"ID3\x04":                      "an MP3 sound file",
		"FORM\x00\x00\x00\x00AIFF":     "an AIFF sound file",
		"PK\x03\x04":                   "a ZIP archive (perhaps compressed MusicXML)",
		"<?xml version=\"1.0\"?>":      "an XML file (perhaps MusicXML)",
		"C D E F\n":                    "a text file",
		"\x00\x01\x02\x03":             "a file of an unknown kind",
	} {
		_, err := Parse([]byte(data))
		var not *NotMIDIError
		if !errors.As(err, &not) || not.Kind != want {
			t.Errorf("%q: %v, want %s", data, err, want)
		}
		if err != nil && !strings.Contains(err.Error(), ".mid") {
			t.Errorf("%q does not say what would work", err)
		}
	}
}

func TestReadFileErrors(t *testing.T) {
	dir := t.TempDir()
	wav := filepath.Join(dir, "take.wav")
	big := filepath.Join(dir, "big.mid")
	for path, data := range map[string][]byte{wav: []byte("RIFF\x24\x00\x00\x00WAVE"), big: append(fromHex(t, specFormat0), make([]byte, MaxFileBytes)...)} {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for path, want := range map[string]string{
		wav:                            wav + " is a WAV sound file, not a MIDI file: give a Standard MIDI File (.mid)",
		big:                            big + " is larger than 8 MiB",
		dir:                            dir + " is a folder: name the MIDI file",
		filepath.Join(dir, "none.mid"): "no such file",
	} {
		if _, err := ReadFile(path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want %q", path, err, want)
		}
	}
}

func TestReadFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "answer.mid")
	if err := os.WriteFile(path, fromHex(t, specFormat1), 0o400); err != nil {
		t.Fatal(err)
	}
	f, err := ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(specNotes, notesOf(f), about); d != "" {
		t.Error(d)
	}
}

func TestReadPassesErrorsOn(t *testing.T) {
	broken := errors.New("the disk is gone")
	if _, err := Read(iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("error %v, want %v in it", err, broken)
	}
}

func TestDivisionString(t *testing.T) {
	for want, d := range map[string]Division{
		"480 ticks a quarter note":                {TicksPerQuarter: 480},
		"29.97 frames a second, 80 ticks a frame": {FramesPerSecond: 30000.0 / 1001, TicksPerFrame: 80},
	} {
		if got := d.String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
