package synth

import (
	"testing"
	"time"

	"larkhand/internal/loop"
)

// BenchmarkRender plays a jazz blues at 240 quarter notes a minute in blocks of 256 samples at 48 kHz. "worst-us" is the longest block; 5333 microseconds is the
// time that a block lasts. "times-real" is how much faster than real time it is.
func BenchmarkRender(b *testing.B) {
	synths := bothSynths(b)
	if path := found([]string{systemFonts}); len(path) > 0 {
		if s, _, err := choose("", "", []string{systemFonts}, testRate); err == nil {
			synths["found"] = s
		}
	}
	for name, s := range synths {
		b.Run(name, func(b *testing.B) {
			p := mustPlayer(b, s, DefaultKeep)
			p.SetVolume(MaxVolume)
			p.Play(backingOf(b, "12-bar jazz blues", 240), 0)
			block := make([]float32, 256)
			var worst, all time.Duration
			b.ReportAllocs()
			for b.Loop() {
				start := time.Now()
				p.Render(block)
				took := time.Since(start)
				worst, all = max(worst, took), all+took
			}
			b.ReportMetric(float64(worst.Microseconds()), "worst-us")
			b.ReportMetric(float64(b.N)*256/testRate/all.Seconds(), "times-real")
		})
	}
}

var _ Source = (*loop.Backing)(nil)
