package synth

import (
	"math"
	"slices"
	"testing"
)

// constant is a sound of one value.
func constant(value float32, seconds float64) []float32 {
	return slices.Repeat([]float32{value}, samplesOf(seconds, testRate))
}

// A sound is heard alone for as long as it lasts, begins at its sample, and the source comes back as if nothing had been.
func TestAsideInPlaceOfTheSource(t *testing.T) {
	for _, block := range []int{7, 256, 5000} {
		p := opened(t, nil)
		first := p.Position()
		p.Play(notes{after(first, 0, 20, 100)}, first)
		const at, lasts = 0.1, 0.5
		p.PlayAside(constant(0.3, lasts), first+int64(samplesOf(at, testRate)))
		out := make([]float32, testRate)
		for left := out; len(left) > 0; {
			n := min(block, len(left))
			p.Render(left[:n])
			left = left[n:]
		}
		for _, c := range []struct {
			at, want float64
		}{{0.05, 0.1}, {0.099, 0.1}, {at + asideFade, 0.3}, {0.5, 0.3}, {at + lasts + asideFade, 0.1}, {0.9, 0.1}} {
			if got := float64(out[samplesOf(c.at, testRate)]); math.Abs(got-c.want) > 1e-6 {
				t.Errorf("blocks of %d: at %g s %g, want %g", block, c.at, got, c.want)
			}
		}
		if out[samplesOf(at, testRate)+50] == out[0] {
			t.Errorf("blocks of %d: it begins late", block)
		}
	}
}

// Its loudness is the volume that is set, and nothing passes the ceiling.
func TestAsideIsAsLoudAsTheVolume(t *testing.T) {
	p := opened(t, nil)
	p.SetVolume(-20)
	p.PlayAside(constant(0.5, 3), 0)
	out := make([]float32, 2*testRate)
	p.Render(out)
	if got := float64(out[len(out)-1]); math.Abs(got-0.05) > 1e-6 {
		t.Errorf("at -20 dB it is %g, want 0.05", got)
	}
	p = opened(t, notes{after(0, 0, 60, 400)})
	p.PlayAside(constant(5, 1), 0)
	p.Render(out)
	if top := slices.Max(out); top > Ceiling {
		t.Errorf("it reaches %g", top)
	}
}

// A sound that is broken off fades without a step, whether by silence or by another sound.
func TestAsideIsBrokenOffSmoothly(t *testing.T) {
	for name, next := range map[string][]float32{"silence": nil, "another": constant(-0.3, 1)} {
		p := opened(t, nil)
		p.PlayAside(constant(0.3, 5), 0)
		p.Render(make([]float32, testRate/10))
		p.PlayAside(next, 0)
		out := make([]float32, testRate/2)
		p.Render(out)
		const steepest = 1.5 * 0.3 / (asideFade * testRate) // of smooth
		for i := 1; i < len(out); i++ {
			if step := math.Abs(float64(out[i] - out[i-1])); step > steepest*1.01 {
				t.Fatalf("%s: a step of %g", name, step)
			}
		}
		want := float32(0)
		if next != nil {
			want = -0.3
		}
		if got := out[len(out)-1]; math.Abs(float64(got-want)) > 1e-6 {
			t.Errorf("%s: then %g, want %g", name, got, want)
		}
	}
}

func TestAsideAllocatesNothing(t *testing.T) {
	p := opened(t, nil)
	p.Play(notes{after(p.Position(), 0, 20, 100)}, p.Position())
	dst := make([]float32, 480)
	sound := constant(0.3, 0.02)
	if n := testing.AllocsPerRun(50, func() { p.Render(dst) }); n != 0 {
		t.Errorf("%g allocations without", n)
	}
	p.PlayAside(sound, 0)
	if n := testing.AllocsPerRun(50, func() { p.Render(dst) }); n != 0 {
		t.Errorf("%g allocations with", n)
	}
}

// What was sent holds it too, so that a microphone's reference is whole.
func TestAsideIsKept(t *testing.T) {
	p := opened(t, nil)
	first := p.Position()
	p.PlayAside(constant(0.3, 1), 0)
	out, sent := make([]float32, 4800), make([]float32, 4800)
	p.Render(out)
	if err := p.Sent(sent, first); err != nil || !slices.Equal(out, sent) {
		t.Errorf("%v", err)
	}
}

// A tone's pitch is counted in its zero crossings: 440 Hz rises through zero 440 times a second.
func TestTones(t *testing.T) {
	samples := make([]float32, 2*testRate)
	AddTones(samples, testRate, 0.25, Tone{0.5, 1.5, 69}, Tone{3, 4, 60}, Tone{1, 1, 60}, Tone{1, 2, math.NaN()})
	rises, top := 0, 0.0
	for i, x := range samples {
		top = math.Max(top, math.Abs(float64(x)))
		if i > 0 && samples[i-1] < 0 && x >= 0 {
			rises++
		}
		if at := float64(i) / testRate; (at < 0.5 || at > 1.5) && x != 0 {
			t.Fatalf("it sounds at %g s", at)
		}
	}
	if rises < 438 || rises > 441 || top > 0.25 || top < 0.15 {
		t.Errorf("%d rises, peak %g", rises, top)
	}
	if x := math.Abs(float64(samples[testRate/2+5])); x > 1e-3 {
		t.Errorf("it begins with a step of %g", x)
	}
	low := make([]float32, 16000)
	AddTones(low, 16000, 0.25, Tone{0, 1, 120}) // 8372 Hz, above half the rate: nothing that can be carried
	if slices.Max(low) != 0 {
		t.Error("a tone beyond the rate folds back")
	}
}
