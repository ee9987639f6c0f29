package soundfile

import (
	"bytes"
	"testing"
)

// benchmarkDecode reads 60 s; the metric is how many times faster than it sounds.
func benchmarkDecode(b *testing.B, file []byte) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode("take", bytes.NewReader(file)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "x-real-time")
}

func BenchmarkWAV60s(b *testing.B) {
	samples := tone(440, 0.5, 48000, 60*48000)
	benchmarkDecode(b, encoded(b, func(w *bytes.Buffer) error { return EncodeWAV(w, samples, 48000) }))
}

func BenchmarkWAVStereoFloat60s(b *testing.B) {
	samples := tone(440, 0.5, 48000, 60*48000)
	benchmarkDecode(b, wavOf(48000, samples, scaled(samples, 0.5)))
}

func BenchmarkFLAC60s(b *testing.B) {
	benchmarkDecode(b, flacOf(b, tone(440, 0.5, 48000, 60*48000), 48000))
}
