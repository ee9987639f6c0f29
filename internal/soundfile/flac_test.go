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
