package soundfile

import (
	"bytes"
	"runtime"
	"strings"
	"testing"
	"time"
)

// Bounds for the fuzz tests. The samples of one file are held to fuzzValues, so
// that a small file which claims an hour of silence is refused, as a large one
// is by maxValues; allocation in all (not at once) and time stay within these.
const (
	fuzzValues = 1 << 20
	fuzzBytes  = 512 << 20
	fuzzTime   = 10 * time.Second // a loaded machine needs room; normal is far below 1 s
)

// checkDecode reads any bytes and checks what must always hold.
func checkDecode(t *testing.T, data []byte) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	before.TotalAlloc += uint64(len(data)) // the file itself
	s, err := decode("take", bytes.NewReader(data), fuzzValues)
	took := time.Since(start)
	runtime.ReadMemStats(&after)
	if took > fuzzTime {
		t.Errorf("took %v for %d bytes", took, len(data))
	}
	if used := after.TotalAlloc - min(after.TotalAlloc, before.TotalAlloc); used > fuzzBytes {
		t.Errorf("allocated %d bytes for %d", used, len(data))
	}
	if err != nil {
		text := err.Error()
		if !strings.HasPrefix(text, "take ") || strings.ContainsAny(text, "\x1b\n") {
			t.Errorf("not one plain sentence about the file: %q", text)
		}
		return
	}
	if len(s.Samples) == 0 || s.Rate < MinRate || s.Rate > MaxRate || s.Channels < 1 || s.Format == "" {
		t.Errorf("%d samples, %d Hz, %d channels, %q", len(s.Samples), s.Rate, s.Channels, s.Format)
	}
	for i, x := range s.Samples {
		if x-x != 0 {
			t.Fatalf("sample %d is %v", i, x)
		}
	}
	for _, r := range s.Remarks {
		if r == "" || strings.ContainsAny(r, "\x1b\n") {
			t.Errorf("not a plain sentence: %q", r)
		}
	}
}

func FuzzWAV(f *testing.F) {
	short := tone(440, 0.5, 8000, 40)
	whole := encoded(f, func(b *bytes.Buffer) error { return EncodeWAV(b, short, 8000) })
	f.Add(whole)
	f.Add(encoded(f, func(b *bytes.Buffer) error { return EncodeWAVFloat(b, short, 8000) }))
	f.Add(riff(extensibleChunk(tagPCM, 2, 48000, 24, 24), chunk("data", make([]byte, 60))))
	f.Add(riff(fmtChunk(tagALaw, 1, 8000, 8), chunk("data", make([]byte, 60))))
	f.Add(withSize(f, whole, "data", 0xffffffff))
	f.Add(withSize(f, whole, "data", 0))
	f.Add(append([]byte("RF64"), riff(chunk("ds64", make([]byte, 28)), fmtChunk(tagPCM, 1, 8000, 16), chunk("data", make([]byte, 60)))[4:]...))
	f.Fuzz(checkDecode)
}

func FuzzFLAC(f *testing.F) {
	f.Add(flacOf(f, tone(440, 0.5, 8000, 40), 8000))
	f.Add(flacOf(f, make([]float32, 5000), 8000))
	f.Add(flacOf(f, tone(1000, 0.5, 24000, 4200), 24000))
	f.Fuzz(checkDecode)
}

// FuzzVorbis mends the checksums of all pages first, so that what is damaged
// gets past the Ogg layer to the decoder.
func FuzzVorbis(f *testing.F) {
	file := testFile(f, "tone.ogg")
	f.Add(file)
	f.Add(repaged(f, file))
	f.Add(oggPage([]byte("\x01vorbis")))
	f.Fuzz(func(t *testing.T, data []byte) {
		checkDecode(t, data)
		checkDecode(t, mendOggChecksums(data))
	})
}

func FuzzMP3(f *testing.F) {
	f.Add(testFile(f, "tone.mp3"))
	f.Add(testFile(f, "tone-notag.mp3"))
	f.Add(bytes.Repeat(mpegFrame(3, 3, 9, 0), 4))
	f.Add(bytes.Repeat(mpegFrame(2, 3, 8, 1), 4))
	f.Fuzz(checkDecode)
}
