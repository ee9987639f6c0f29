package bleed

import "testing"

// One second at 48 kHz in blocks of 10 ms, with a known path.
func BenchmarkLiveSecond(b *testing.B) {
	const block = 480
	l, err := NewLive(48000, block, Path{Delay: 0.06, Taps: noise(liveTaps, 1), Ratio: 1})
	if err != nil {
		b.Fatal(err)
	}
	mic, back := toSingle(noise(block, 2)), toSingle(noise(block, 3))
	dst := make([]float32, 0, 2*LiveBlock)
	for b.Loop() {
		for range 100 {
			dst = l.Write(dst[:0], mic, back)
		}
	}
}
