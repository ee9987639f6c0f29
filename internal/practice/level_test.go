package practice

import (
	"math"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/round"
)

// watch gives a sound to a level watch in blocks of 10 ms and returns what it finds, in order.
func watch(w *levelWatch, sound []float32, voiced bool) (out []found) {
	for block := range slices.Chunk(sound, w.rate/100) {
		out = append(out, slices.Clone(w.next(block, voiced))...)
	}
	return out
}

func sine(seconds, hz, level float64, rate int) []float32 {
	out := make([]float32, int(seconds*float64(rate)))
	for i := range out {
		out[i] = float32(math.Sqrt2 * math.Pow(10, level/20) * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)))
	}
	return out
}

func TestLevelWatch(t *testing.T) {
	const rate = 16000
	clipped := sine(1, 200, 0, rate)
	for i, x := range clipped {
		clipped[i] = min(1, max(-1, x))
	}
	for _, c := range []struct {
		name   string
		sound  []float32
		voiced bool
		want   []round.Warning
	}{
		{"a quiet room", noise(5, -65, rate), false, nil},
		{"digital silence", make([]float32, 5*rate), false, []round.Warning{round.MicrophoneSilent, round.MicrophoneSilent}},
		{"a dead input with its last bits", noise(3, -90, rate), false, []round.Warning{round.MicrophoneSilent}},
		{"a moment of silence", join(noise(1, -65, rate), make([]float32, rate), noise(1, -65, rate)), false, nil},
		{"full scale, not clipped", sine(1, 200, -3.1, rate), false, nil},
		{"hum of 50 Hz", add(sine(4, 50, -45, rate), noise(4, -60, rate)), false, []round.Warning{round.MicrophoneHum, round.MicrophoneHum}},
		{"hum of 60 Hz with its third harmonic", add(add(sine(2.5, 60, -45, rate), sine(2.5, 180, -45, rate)), noise(2.5, -60, rate)), false, []round.Warning{round.MicrophoneHum}},
		{"hum that is too soft to matter", add(sine(4, 50, -70, rate), noise(4, -75, rate)), false, nil},
		{"G1 of a bass", sine(4, 49, -40, rate), false, nil},
		{"hum under a voice", sine(4, 50, -40, rate), true, nil},
		{"a short hum", join(sine(1.2, 50, -45, rate), noise(2, -60, rate)), false, nil},
		{"noise", noise(4, -30, rate), false, nil},
	} {
		var got []round.Warning
		for _, f := range watch(newLevelWatch(rate), c.sound, c.voiced) {
			got = append(got, f.trouble)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if got := watch(newLevelWatch(rate), clipped, true); len(got) == 0 || got[0].trouble != round.MicrophoneClipped {
		t.Errorf("clipped: %v", got)
	}
}

func TestVoiceLevelIsJudgedWhenItEnds(t *testing.T) {
	const rate = 16000
	w := newLevelWatch(rate)
	if got := watch(w, sine(1, 200, -55, rate), true); got != nil {
		t.Errorf("under way: %v", got)
	}
	got := watch(w, noise(0.1, -70, rate), false)
	if len(got) != 1 || got[0].trouble != round.MicrophoneLow || !strings.Contains(got[0].text, "-55 dBFS") {
		t.Errorf("soft: %v", got)
	}
	watch(w, sine(1, 200, -20, rate), true)
	if got := watch(w, noise(0.1, -70, rate), false); got != nil || math.Abs(w.loud+20) > 0.1 {
		t.Errorf("loud enough: %v, %g dBFS", got, w.loud)
	}
	watch(w, sine(0.3, 200, -55, rate), true)
	if got := watch(w, noise(0.1, -70, rate), false); got != nil || math.Abs(w.loud+20) > 0.1 {
		t.Errorf("too short to tell: %v, %g dBFS", got, w.loud)
	}
	if math.Abs(w.meter+30) > 0.1 { // half a second after -20 dBFS, at 20 dB/s
		t.Errorf("the meter is at %g dBFS", w.meter)
	}
}

func TestLevelWatchAllocatesNothing(t *testing.T) {
	w, block := newLevelWatch(48000), noise(0.01, -40, 48000)
	if n := testing.AllocsPerRun(500, func() { w.next(block, false) }); n > 0 {
		t.Errorf("%g allocations a block", n)
	}
}
