package soundfile

import (
	"bytes"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"
)

// drawSamples gives any samples within full scale.
func drawSamples(t *rapid.T) []float32 {
	return rapid.SliceOfN(rapid.Float32Range(-1, 1), 1, 9000).Draw(t, "samples")
}

// The 16-bit writers lose at most half a code (and one code at +1, which 16 bits
// do not have).
func TestSixteenBitRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := drawSamples(t)
		rate := rapid.IntRange(MinRate, MaxRate).Draw(t, "rate")
		for _, encode := range []func(*bytes.Buffer) error{
			func(b *bytes.Buffer) error { return EncodeWAV(b, samples, rate) },
			func(b *bytes.Buffer) error { return EncodeFLAC(b, samples, rate) },
		} {
			var b bytes.Buffer
			if err := encode(&b); err != nil {
				t.Fatal(err)
			}
			s, err := Decode("take", bytes.NewReader(b.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			if s.Rate != rate || len(s.Samples) != len(samples) {
				t.Fatalf("%d samples at %d Hz, want %d at %d", len(s.Samples), s.Rate, len(samples), rate)
			}
			for i, x := range samples {
				want := min(float64(x), 32767.0/32768)
				if d := math.Abs(float64(s.Samples[i]) - want); d > 0.5/32768 {
					t.Fatalf("sample %d: %v, want %v", i, s.Samples[i], x)
				}
			}
		}
	})
}

// What was read from 16 bits is written as the same 16 bits.
func TestSixteenBitCodesAreKept(t *testing.T) {
	for code := math.MinInt16; code <= math.MaxInt16; code++ {
		if got := Code16(float32(code) / (1 << 15)); int(got) != code {
			t.Fatalf("code %d becomes %d", code, got)
		}
	}
	for x, want := range map[float32]int16{1: 32767, 2: 32767, -2: -32768, float32(math.Inf(1)): 32767, float32(math.Inf(-1)): -32768} {
		if got := Code16(x); got != want {
			t.Errorf("%v becomes %d, want %d", x, got, want)
		}
	}
	if got := Code16(float32(math.NaN())); got != 0 {
		t.Errorf("NaN becomes %d, want 0", got)
	}
}

func TestFloatRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := rapid.SliceOfN(rapid.Float32Range(-4, 4), 1, 3000).Draw(t, "samples")
		var b bytes.Buffer
		if err := EncodeWAVFloat(&b, samples, 48000); err != nil {
			t.Fatal(err)
		}
		s, err := Decode("take", bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range samples {
			if s.Samples[i] != x {
				t.Fatalf("sample %d: %v, want %v", i, s.Samples[i], x)
			}
		}
	})
}

// The header's fields as the specification has them.
func TestWAVHeaderBytes(t *testing.T) {
	got := encoded(t, func(b *bytes.Buffer) error { return EncodeWAV(b, []float32{0.5, -0.5}, 48000) })
	want := []byte("RIFF\x28\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\xbb\x00\x00\x00\x77\x01\x00\x02\x00\x10\x00data\x04\x00\x00\x00\x00\x40\x00\xc0")
	if !bytes.Equal(got, want) {
		t.Errorf("got  %x\nwant %x", got, want)
	}
}

func TestWriteFiles(t *testing.T) {
	samples := tone(440, 0.5, 44100, 4410)
	for name, write := range map[string]func(string, []float32, int) error{
		"a.wav": WriteWAV, "b.wav": WriteWAVFloat, "c.flac": WriteFLAC,
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, name)
		for range 2 { // the second time over the first
			if err := write(path, samples, 44100); err != nil {
				t.Fatal(err)
			}
		}
		s, err := Read(path)
		if err != nil {
			t.Fatal(err)
		}
		wantSamples(t, s.Samples, samples, 0.5/32768)
		if s.Duration() != 0.1 {
			t.Errorf("%s lasts %v s, want 0.1", name, s.Duration())
		}
		wantOnlyFile(t, dir, name)
		if err := write(filepath.Join(dir, "no", "such", "folder.wav"), samples, 44100); err == nil {
			t.Errorf("%s: no error for a folder that does not exist", name)
		}
		if err := write(filepath.Join(dir, "rate.wav"), samples, 0); err == nil {
			t.Errorf("%s: no error for a rate of 0", name)
		}
		wantOnlyFile(t, dir, name)
	}
}

// wantOnlyFile checks that no temporary file is left.
func wantOnlyFile(t *testing.T, dir, name string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 1 || entries[0].Name() != name {
		t.Errorf("the folder holds %v, want only %s", entries, name)
	}
}

// fullDisk takes some bytes and then fails.
type fullDisk struct{ left int }

func (d *fullDisk) Write(p []byte) (int, error) {
	if d.left -= len(p); d.left < 0 {
		return 0, errDisk
	}
	return len(p), nil
}

func TestEncodeToFullDisk(t *testing.T) {
	noise := make([]float32, 100000)
	for i := range noise {
		noise[i] = float32(math.Sin(float64(i * i)))
	}
	for name, encode := range map[string]func(io.Writer, []float32, int) error{
		"WAV": EncodeWAV, "WAV float": EncodeWAVFloat, "FLAC": EncodeFLAC,
	} {
		for _, room := range []int{0, 5000, 60000} {
			if err := encode(&fullDisk{room}, noise, 48000); err != errDisk {
				t.Errorf("%s, room for %d bytes: %v", name, room, err)
			}
		}
	}
}
