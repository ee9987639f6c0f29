package music

import "testing"

func TestDistance(t *testing.T) {
	for semitones, want := range map[int]string{1: "a half step", -2: "a whole step", 6: "a tritone", -7: "7 semitones"} {
		if got := Distance(semitones); got != want {
			t.Errorf("Distance(%d) = %q, want %q", semitones, got, want)
		}
	}
}
