package hunt

import (
	"math"
	"testing"

	"larkhand/match"
)

func TestOrdinal(t *testing.T) {
	for index, want := range map[int]string{
		0: "1st", 1: "2nd", 2: "3rd", 3: "4th", 9: "10th", 10: "11th", 11: "12th", 12: "13th", 20: "21st", 21: "22nd", 22: "23rd",
		100: "101st", 110: "111th", 112: "113th", 121: "122nd",
	} {
		if got := ordinal(index); got != want {
			t.Errorf("note with index %d is the %s, want %s", index, got, want)
		}
	}
}

func TestCount(t *testing.T) {
	for n, want := range map[int]string{1: "1 key", 2: "2 keys", 11: "11 keys"} {
		if got := count(n, "key"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestSeconds(t *testing.T) {
	for s, want := range map[float64]string{0.01: "0.1 s", 0.26: "0.3 s", 1: "1.0 s", 12.34: "12.3 s"} {
		if got := seconds(s); got != want {
			t.Errorf("%v s is said as %q, want %q", s, got, want)
		}
	}
}

// TestHesitation holds the rule: what is late by more than 0.4 of the expected interval, 1.1 of what a note that is long at
// a usual tempo (1.3) has beyond 0.8 s, and 50 ms for each 1 that the tempo is slower than that, begins at 140 ms to be a
// hesitation, is a whole one at 280 ms and counts twice at 1 s.
func TestHesitation(t *testing.T) {
	cases := []struct{ played, sung, ratio, want float64 }{
		{0.4, 0.4, 1, 0},
		{0.4 + 0.14 + 0.16, 0.4, 1, 0},
		{0.4 + 0.28 + 0.16, 0.4, 1, 1},
		{0.4 + 1.0 + 0.16, 0.4, 1, 2},
		{9, 0.4, 1, 2},
		{1.8 + 0.14 + 0.72 + 1.1, 1.8, 1, 0},
		{1.8 + 0.21 + 0.72 + 1.1, 1.8, 1, 0.5},
		{0.1, 0.4, 1, 0},
		// At 4 s a second 0.4 s become 1.6 s, but at a usual tempo it is 0.52 s, no long note; 0.05 x 2.7 = 0.135.
		{1.6 + 0.28 + 0.64 + 0.135, 0.4, 4, 1},
		// At 2 s a second 1 s becomes 2 s; at a usual tempo it is 1.3 s, 0.5 of it held freely: 0.55 more; 0.05 x 0.7 = 0.035.
		{2 + 0.21 + 0.8 + 0.55 + 0.035, 1, 2, 0.5},
	}
	for _, c := range cases {
		if got := hesitation(excessLateness(c.played, c.sung, c.ratio)); got < c.want-1e-9 || got > c.want+1e-9 {
			t.Errorf("played %v s for %v s at tempo ratio %v: %v, want %v", c.played, c.sung, c.ratio, got, c.want)
		}
	}
}

// TestLongShort: every other interval long is a style, up to 2.4 times the tempo and where no other one is late.
func TestLongShort(t *testing.T) {
	cases := []struct {
		name   string
		played []float64 // s, sung at 0.5 s a note
		first  int
		tempo  float64
	}{
		{"even", []float64{0.5, 0.5, 0.5, 0.5}, match.None, 0},
		{"long first", []float64{1, 0.5, 1, 0.5, 1}, 0, 2},
		{"long second", []float64{0.5, 1, 0.5, 1}, 1, 2},
		{"one of them not long", []float64{1, 0.5, 0.5, 0.5, 1}, match.None, 0},
		{"one of them late", []float64{0.9, 0.5, 0.9, 1.4, 0.9}, match.None, 0},
		{"longer than swung", []float64{1.5, 0.5, 1.5, 0.5}, match.None, 0},
		{"too few", []float64{1, 0.5}, match.None, 0},
	}
	for _, c := range cases {
		intervals := make([]interval, len(c.played))
		for i, played := range c.played {
			intervals[i].Interval = match.Interval{Sung: 0.5, Played: played}
		}
		if first, tempo := longShort(intervals, 1); first != c.first || tempo != c.tempo {
			t.Errorf("%s: first %d, tempo ratio %v, want %d, %v", c.name, first, tempo, c.first, c.tempo)
		}
	}
}

// TestSteadyTempo: a slow tempo with clearly faster stretches in it is the tempo of these.
func TestSteadyTempo(t *testing.T) {
	cases := []struct {
		name   string
		played []float64 // s, sung at 0.4 s a note
		ratio  float64
		want   float64
	}{
		{"slow throughout", []float64{1.2, 1.2, 1.2, 1.2}, 3, 3},
		{"one of three fast", []float64{1.2, 0.4, 1.2}, 3, 1},
		{"one of six fast", []float64{1.2, 0.4, 1.2, 1.2, 1.2, 1.2}, 3, 3},
		{"two of six fast", []float64{1.2, 0.4, 1.2, 0.44, 1.2, 1.2}, 3, 1.05},
		{"two keys at once", []float64{1.2, 0.1, 1.2}, 3, 3},
		{"not slow", []float64{0.5, 0.25, 0.5}, 1.25, 1.25},
	}
	for _, c := range cases {
		intervals := make([]interval, len(c.played))
		for i, played := range c.played {
			intervals[i].Interval = match.Interval{Sung: 0.4, Played: played}
		}
		if got := steadyTempo(intervals, c.ratio); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: tempo ratio %v, want %v", c.name, got, c.want)
		}
	}
}
