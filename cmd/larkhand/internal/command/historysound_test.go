package command

import (
	"context"
	"math"
	"testing"

	"larkhand/internal/screen/past"
	"larkhand/internal/sound"
)

// TestPlayback: a tone comes out as it went in at the same rate, and as the same tone at another one; then there is silence.
func TestPlayback(t *testing.T) {
	const rate, hz, seconds = 44100, 441.0, 0.5
	tone := make([]float32, int(rate*seconds))
	for i := range tone {
		tone[i] = float32(0.5 * math.Sin(2*math.Pi*hz*float64(i)/rate))
	}
	for _, out := range []int{rate, 48000, 16000} {
		p := &playback{sound: past.Sound{Samples: tone, Rate: rate, Gain: func() float64 { return 1 }}}
		block := make([]float32, 4096)
		p.Render(block)
		for i, x := range block {
			if x != 0 {
				t.Fatalf("sample %d is %v before the rate is known", i, x)
			}
		}
		p.SkipTo(5000)
		p.begin(out)
		got := make([]float32, out)
		p.Render(got)
		if p.Position() != 5000+int64(out) || !p.over.Load() {
			t.Errorf("at %d Hz: position %d, over %v", out, p.Position(), p.over.Load())
		}
		risen := int(1/gainStep) + 1
		worst := 0.0
		end := int(seconds*float64(out)) - 2
		for i := risen; i < end; i++ {
			want := 0.5 * math.Sin(2*math.Pi*hz*float64(i)/float64(out))
			worst = max(worst, math.Abs(float64(got[i])-want))
		}
		// A cubic through the samples of a tone at a hundredth of the rate is off by less than a thousandth of it.
		if worst > 0.0005 {
			t.Errorf("at %d Hz off by %g", out, worst)
		}
		for i := end + 4; i < len(got); i++ {
			if got[i] != 0 {
				t.Fatalf("sample %d after the end is %v", i, got[i])
			}
		}
		if err := p.wait(t.Context()); err != nil {
			t.Error(err)
		}
	}
	p := &playback{sound: past.Sound{Samples: tone, Rate: rate, Gain: func() float64 { return 1 }}}
	p.begin(rate)
	block := make([]float32, 64)
	if n := testing.AllocsPerRun(10, func() { p.Render(block) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if err := p.wait(ctx); err == nil {
		t.Error("a sound that was stopped is played to its end")
	}
}

// TestHistorySpeaker: without devices a sentence says what would work.
func TestHistorySpeaker(t *testing.T) {
	s, silent := historySpeaker()
	if (s == nil) == sound.Built || (silent == "") != sound.Built {
		t.Errorf("speaker %v, %q", s, silent)
	}
}
