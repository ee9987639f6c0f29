package soundfile

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// tone is a sine of the given amplitude (full scale 1).
func tone(hz, amplitude float64, rate, n int) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = float32(amplitude * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)))
	}
	return out
}

// chunk is one RIFF chunk, padded to an even length.
func chunk(id string, body []byte) []byte {
	b := append([]byte(id), binary.LittleEndian.AppendUint32(nil, uint32(len(body)))...)
	b = append(b, body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// fmtChunk is a 16-byte fmt chunk.
func fmtChunk(tag, channels, rate, bits int) []byte {
	align := channels * ((bits + 7) / 8)
	return fmtChunkAligned(tag, channels, rate, bits, align)
}

func fmtChunkAligned(tag, channels, rate, bits, align int) []byte {
	le := binary.LittleEndian
	b := le.AppendUint16(nil, uint16(tag))
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*align))
	b = le.AppendUint16(b, uint16(align))
	return chunk("fmt ", le.AppendUint16(b, uint16(bits)))
}

// extensibleChunk is a 40-byte fmt chunk with the sub-format tag.
func extensibleChunk(tag, channels, rate, bits, validBits int) []byte {
	le := binary.LittleEndian
	b := append([]byte(nil), fmtChunk(tagExtensible, channels, rate, bits)[chunkHeaderBytes:]...)
	b = le.AppendUint16(b, 22)
	b = le.AppendUint16(b, uint16(validBits))
	b = le.AppendUint32(b, 0)
	b = le.AppendUint16(b, uint16(tag))
	return chunk("fmt ", append(b, subFormatTail...))
}

// riff puts chunks into a file whose RIFF size is right.
func riff(chunks ...[]byte) []byte {
	body := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return append(append([]byte("RIFF"), binary.LittleEndian.AppendUint32(nil, uint32(len(body)))...), body...)
}

// withSize overwrites the size of the first chunk that has the id.
func withSize(t testing.TB, file []byte, id string, size uint32) []byte {
	t.Helper()
	at := bytes.Index(file, []byte(id))
	if at < 0 {
		t.Fatalf("no chunk %q in the test's own file", id)
	}
	out := bytes.Clone(file)
	binary.LittleEndian.PutUint32(out[at+4:], size)
	return out
}

// le16 packs 16-bit codes.
func le16(codes ...int) []byte {
	var b []byte
	for _, c := range codes {
		b = binary.LittleEndian.AppendUint16(b, uint16(c))
	}
	return b
}

// mustDecode reads a file that has to be readable.
func mustDecode(t testing.TB, file []byte) Sound {
	t.Helper()
	s, err := Decode("take.wav", bytes.NewReader(file))
	if err != nil {
		t.Fatalf("Decode: %v", err)
	}
	return s
}

// wantSamples compares with a tolerance (0 for exact).
func wantSamples(t testing.TB, got, want []float32, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d samples, want %d", len(got), len(want))
	}
	for i := range want {
		if d := math.Abs(float64(got[i]) - float64(want[i])); !(d <= tolerance) {
			t.Fatalf("sample %d is %v, want %v (+-%g)", i, got[i], want[i], tolerance)
		}
	}
}

// wantRemark checks that one remark contains the text.
func wantRemark(t testing.TB, s Sound, text string) {
	t.Helper()
	for _, r := range s.Remarks {
		if strings.Contains(r, text) {
			return
		}
	}
	t.Errorf("no remark with %q in %q", text, s.Remarks)
}

// wantNoRemarks checks that a faultless file is read in silence.
func wantNoRemarks(t testing.TB, s Sound) {
	t.Helper()
	if len(s.Remarks) > 0 {
		t.Errorf("remarks on a faultless file: %q", s.Remarks)
	}
}

// writeTemp puts bytes into a file of the test's own folder.
func writeTemp(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// encoded runs one of the encoders.
func encoded(t testing.TB, encode func(w *bytes.Buffer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := encode(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// testFile reads one of the package's own test files.
func testFile(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}
