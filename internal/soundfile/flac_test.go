package soundfile

import (
	"bytes"
	"testing"
)

func flacOf(t testing.TB, samples []float32, rate int) []byte {
	t.Helper()
	return encoded(t, func(b *bytes.Buffer) error { return EncodeFLAC(b, samples, rate) })
}

func TestFLACRoundTrip(t *testing.T) {
	for _, n := range []int{1, 2, 15, 16, 17, 4095, 4096, 4097, 4100, 20000} {
		for _, rate := range []int{8000, 16000, 22050, 24000, 44100, 44056, 48000, 96000, 100001, 176400, 192000} {
			want := tone(440, 0.5, rate, n)
			s := mustDecode(t, flacOf(t, want, rate))
			wantSamples(t, s.Samples, want, 0.5/32768)
			if s.Rate != rate || s.Format != "FLAC" || s.Channels != 1 {
				t.Fatalf("%d samples at %d Hz: got %d Hz, %q, %d channels", n, rate, s.Rate, s.Format, s.Channels)
			}
		}
	}
}

// Bytes of the stream's header (RFC 9639, 8.2), counted from the file's start.
const (
	flacBitsAt   = 20 // its last bit is the first of the sample size, which goes on in the next byte
	flacLengthAt = 21 // 4 bits here and 4 bytes after
)

func TestFLACHeaderLies(t *testing.T) {
	samples := tone(440, 0.5, 48000, 4800)
	file := flacOf(t, samples, 48000)

	length := bytes.Clone(file)
	length[flacLengthAt] |= 0x0f // more than 2^35 samples
	s := mustDecode(t, length)
	wantSamples(t, s.Samples, samples, 0.5/32768)
	wantRemark(t, s, "the header's length is wrong: the whole file was read")

	unknown := bytes.Clone(file)
	unknown[flacLengthAt] &= 0xf0
	clear(unknown[flacLengthAt+1 : flacLengthAt+5])
	s = mustDecode(t, unknown)
	wantSamples(t, s.Samples, samples, 0.5/32768)
	wantNoRemarks(t, s)

	bits := bytes.Clone(file)
	bits[flacBitsAt] |= 1
	bits[flacLengthAt] |= 0xf0
	_, err := Decode("take", bytes.NewReader(bits))
	if want := "take is a FLAC file with 32 bits a sample, which larkhand does not read: save it with 16 or 24 bits"; err == nil || err.Error() != want {
		t.Errorf("got:  %v\nwant: %s", err, want)
	}

	other := bytes.Clone(file)
	other[flacBitsAt] |= 2 // two channels, while all frames have one
	_, err = Decode("take", bytes.NewReader(other))
	if err == nil {
		t.Error("frames of another kind than the header's are read")
	}
}
