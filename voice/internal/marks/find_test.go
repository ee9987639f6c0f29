package marks

import (
	"math"
	"testing"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/track"
)

// beginsAt gives marks with clear beginnings at some frames.
func beginsAt(n int, frames ...int) []Marks {
	out := make([]Marks, n)
	for _, t := range frames {
		out[t].Begins = 0.9
	}
	return out
}

// In a run the marks are those of the network for runs, from the attack of its first note to the end of its last; elsewhere they are
// the mean of both.
func TestRunsAreMarkedByTheirNetwork(t *testing.T) {
	runs := beginsAt(400, 20, 120, 132, 144, 156, 300)
	steady := beginsAt(400, 20, 300)
	got := together(steady, runs, false)
	for _, c := range []struct {
		frame int
		want  float64
	}{{20, 0.9}, {120, 0.9}, {132, 0.9}, {156, 0.9}, {300, 0.9}, {200, 0}} {
		if v := got[c.frame].Begins; math.Abs(v-c.want) > 1e-9 {
			t.Errorf("frame %d: probability of a beginning %.3f, want %.3f", c.frame, v, c.want)
		}
	}
	for i := range steady {
		steady[i].Inside = 1
	}
	got = together(steady, runs, false)
	for _, c := range []struct {
		frame int
		want  float64
	}{{114, 1 - runsShare}, {115, 0}, {180, 0}, {181, 1 - runsShare}} {
		if v := got[c.frame].Inside; math.Abs(v-c.want) > 1e-9 {
			t.Errorf("frame %d: probability of being inside %.3f, want %.3f", c.frame, v, c.want)
		}
	}
}

// Two quick notes are an ornament, not a run.
func TestAnOrnamentIsNoRun(t *testing.T) {
	got := together(beginsAt(400, 20, 220), beginsAt(400, 20, 120, 132, 144, 220), false)
	if v := got[132].Begins; math.Abs(v-0.9*runsShare) > 1e-9 {
		t.Errorf("probability of a beginning in an ornament %.3f, want %.3f", v, 0.9*runsShare)
	}
}

// In noise a beginning that one network marks counts.
func TestEitherNetworkCountsInNoise(t *testing.T) {
	got := together(beginsAt(200, 50), beginsAt(200, 150), true)
	if got[50].Begins != 0.9 || got[150].Begins != 0.9 {
		t.Errorf("probabilities of beginnings %.3f and %.3f, want 0.9", got[50].Begins, got[150].Begins)
	}
}

// Ten seconds with pauses of a second: noise 15 dB below the vowels is noise, 40 dB below it is none.
func TestInNoise(t *testing.T) {
	for _, c := range []struct {
		floor float32 // dBFS
		want  bool
	}{{-35, true}, {-60, false}} {
		frames := make([]front.Frame, 1000)
		for i := range frames {
			frames[i].Level = -20
			if i%500 < 100 {
				frames[i].Level = c.floor
			}
		}
		if got := inNoise(frames, track.Path{Reference: -20}); got != c.want {
			t.Errorf("pauses at %.0f dBFS: in noise %v, want %v", c.floor, got, c.want)
		}
	}
	if inNoise(nil, track.Path{}) {
		t.Error("no frames stand in noise")
	}
}
