package midiin

import (
	"bytes"
	"math"
	"runtime"
	"testing"
	"time"
)

// Bounds for fuzzing, own choice, with room: an event takes at least 2 bytes of a file and 16 bytes in each of two lists
// that grow by doubling; a Reader starts with a third of a megabyte. Time: 1 s for the few KB that a fuzzer makes.
const (
	fuzzBytesPerByte = 200
	fuzzBaseBytes    = 1 << 20
	fuzzSeconds      = 1
)

// within runs f and fails where it takes more memory than input bytes allow, or too long.
func within(t *testing.T, input int, f func()) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	f()
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	if used, most := after.TotalAlloc-before.TotalAlloc, uint64(fuzzBaseBytes+fuzzBytesPerByte*input); used > most {
		t.Errorf("%d bytes of input took %d bytes of memory, more than %d", input, used, most)
	}
	if took > fuzzSeconds*time.Second {
		t.Errorf("%d bytes of input took %v", input, took)
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{specFormat0, specFormat1} {
		whole := fromHex(f, text)
		f.Add(whole)
		f.Add(whole[:len(whole)-9])
	}
	f.Add(smfBytes(2, 0xE728, oneNote(f, "60"), oneNote(f, "87 68")))
	f.Add(fromHex(f, "4D 54 68 64 7F FF FF FF 00 00 00 01 00 60 4D 54 72 6B 7F FF FF FF 00 90 3C 40 60 80 3C 40"))
	f.Add(smfBytes(1, 96, fromHex(f, "00 90 3C 40 60 3C 00 00 FF 01 FF FF FF 7F 41"), fromHex(f, "00 F0 02 01 F7 00 C0 05 00 FF 51 03 07 A1 20 00 FF 2F 00")))
	f.Add([]byte("RIFF\x20\x00\x00\x00RMIDdata\x10\x00\x00\x00MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60"))
	f.Fuzz(func(t *testing.T, data []byte) {
		given := bytes.Clone(data)
		within(t, len(data), func() {
			file, err := Parse(data)
			if err != nil {
				return
			}
			checkFile(t, file, len(data))
			for _, instrument := range []Instrument{Keys, Guitar} {
				notes, _ := Notes(file, Options{Instrument: instrument})
				checkNotes(t, notes)
			}
		})
		if !bytes.Equal(given, data) {
			t.Error("Parse changed its input")
		}
	})
}

// checkFile holds a file to what File promises.
func checkFile(t *testing.T, file File, size int) {
	if 2*len(file.Events) > size || 7*(len(file.Tempi)-1) > size || 8*len(file.TrackNames) > size {
		t.Errorf("%d bytes gave %d events, %d tempi, %d tracks", size, len(file.Events), len(file.Tempi), len(file.TrackNames))
	}
	if len(file.Remarks) > maxRemarks+1 {
		t.Errorf("%d remarks", len(file.Remarks))
	}
	last := 0.0
	for _, e := range file.Events {
		if !(e.Time >= last) || e.Status < 0x80 || e.Status >= 0xF0 || e.Data1 >= 0x80 || e.Data2 >= 0x80 {
			t.Fatalf("event %+v after %v s", e, last)
		}
		last = e.Time
	}
	if !(file.End >= last) || math.IsInf(file.End, 0) {
		t.Errorf("end %v, last event %v", file.End, last)
	}
}

// FuzzReader: each message is a byte of time in 10 ms, a byte of length and that many (at most 4) bytes.
func FuzzReader(f *testing.F) {
	f.Add([]byte{0, 3, 0x90, 60, 64, 10, 3, 0x80, 60, 64})
	f.Add([]byte{0, 3, 0xB0, 101, 0, 0, 3, 0xB0, 100, 6, 0, 3, 0xB0, 6, 15, 0, 3, 0x91, 60, 64, 1, 3, 0xE1, 0, 96, 1, 3, 0xE0, 0, 96})
	f.Add([]byte{0, 3, 0xB0, 64, 127, 0, 3, 0x90, 60, 64, 1, 3, 0x80, 60, 0, 1, 3, 0xB0, 121, 0, 0, 1, 0xF8, 0, 3, 0xB0, 126, 6})
	f.Fuzz(func(t *testing.T, data []byte) {
		within(t, len(data), func() {
			r := NewReader(Options{Instrument: Guitar})
			now, rest := 0.0, data
			for len(rest) >= 2 {
				now += float64(rest[0]) / 100
				n := min(int(rest[1]&3)+1, len(rest)-2)
				r.Message(now, rest[2:2+n])
				rest = rest[2+n:]
			}
			checkNotes(t, r.Notes(now))
			notes := r.Finish(now + 1)
			checkNotes(t, notes)
			if 3*len(notes) > len(data) {
				t.Errorf("%d bytes gave %d notes", len(data), len(notes))
			}
		})
	})
}

// worstBytes is the size of the files of TestWorstFiles: a quarter of MaxFileBytes, to keep the tests quick.
const worstBytes = MaxFileBytes / 4

// TestWorstFiles: files made to be slow are read in a time linear in their size: all 2,048 keys down and the bend that
// moves most of them sent over and over, tracks of nothing, and two tracks of the shortest events to be merged.
func TestWorstFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: takes seconds")
	}
	const most = 30 * time.Second // own choice; a quadratic step would take hours, a linear one takes under 1 s
	for name, data := range map[string][]byte{
		"bends":        smfBytes(0, 96, bytes.Repeat(worstBends(), worstBytes/len(worstBends()))),
		"empty tracks": append(smfBytes(1, 96), bytes.Repeat(chunkBytes("MTrk", nil), worstBytes/chunkHead)...),
		"short events": smfBytes(1, 1, shortEvents(), shortEvents()),
	} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			file, err := Parse(data)
			if err != nil {
				t.Fatal(err)
			}
			notes, _ := Notes(file, Options{Instrument: Guitar})
			checkNotes(t, notes)
			if took := time.Since(start); took > most {
				t.Errorf("took %v", took)
			}
		})
	}
}

// shortEvents is a track of program changes in running status, 2 bytes each, a tick apart.
func shortEvents() []byte {
	return append([]byte{0, 0xC0, 1}, bytes.Repeat([]byte{1, 1}, worstBytes/4)...)
}

// worstBends strikes all keys of an MPE zone, then bends its master a thousand times.
func worstBends() []byte {
	b := []byte{0, 0xB0, 101, 0, 0, 0xB0, 100, 6, 0, 0xB0, 6, 15}
	for ch := range byte(16) {
		for key := range byte(128) {
			b = append(b, 0, 0x90|ch, key, 64)
		}
	}
	for i := range 1000 {
		b = append(b, 1, 0xE0, byte(i&0x7F), byte(i*37&0x7F))
	}
	return b
}
