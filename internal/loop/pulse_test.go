package loop

import (
	"slices"
	"testing"

	"larkhand/internal/music"
)

// Common practice, no source: 6/8 is felt in two, 12/8 in four, 7/8 as 2+2+3.
func TestGroups(t *testing.T) {
	tests := []struct {
		beats, unit int
		want        []int
	}{
		{4, 4, []int{1, 1, 1, 1}}, {3, 4, []int{1, 1, 1}}, {2, 2, []int{1, 1}}, {1, 4, []int{1}}, {6, 4, []int{1, 1, 1, 1, 1, 1}},
		{6, 8, []int{3, 3}}, {9, 8, []int{3, 3, 3}}, {12, 8, []int{3, 3, 3, 3}}, {6, 16, []int{3, 3}},
		{5, 8, []int{2, 3}}, {7, 8, []int{2, 2, 3}}, {8, 8, []int{2, 2, 2, 2}}, {11, 8, []int{2, 2, 2, 2, 3}},
		{1, 8, []int{1}}, {2, 8, []int{1, 1}}, {3, 8, []int{1, 1, 1}}, {4, 8, []int{2, 2}},
	}
	for _, tc := range tests {
		m := music.Meter{Beats: tc.beats, Unit: tc.unit}
		if got := groups(m); !slices.Equal(got, tc.want) {
			t.Errorf("%v: %v, want %v", m, got, tc.want)
		}
	}
}

func TestPulsesFillTheBar(t *testing.T) {
	for beats := 1; beats <= 32; beats++ {
		for unit := 1; unit <= 32; unit *= 2 {
			m := music.Meter{Beats: beats, Unit: unit}
			at := 0.0
			for _, p := range pulses(m) {
				if p.at != at || p.long <= 0 {
					t.Fatalf("%v: a pulse at %v lasts %v, the one before ended at %v", m, p.at, p.long, at)
				}
				at += p.long
			}
			if at != m.Quarters() {
				t.Fatalf("%v: the pulses end at %v, the bar at %v", m, at, m.Quarters())
			}
		}
	}
}
