package hunt

import "testing"

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

// TestHesitation holds the rule: late by more than 250 ms + 0.4 of the expected interval + 1.1 of what goes beyond 0.8 s
// is half a hesitation's ramp above 150; a whole one lies 150 ms later.
func TestHesitation(t *testing.T) {
	cases := []struct{ played, expected, want float64 }{
		{0.4, 0.4, 0},
		{0.4 + 0.15 + 0.16, 0.4, 0},
		{0.4 + 0.3 + 0.16, 0.4, 1},
		{0.4 + 1.0 + 0.16, 0.4, 2},
		{9, 0.4, 2},
		{1.8 + 0.15 + 0.72 + 1.1, 1.8, 0},
		{1.8 + 0.225 + 0.72 + 1.1, 1.8, 0.5},
		{0.1, 0.4, 0},
	}
	for _, c := range cases {
		if got := hesitation(excessLateness(c.played, c.expected)); got < c.want-1e-9 || got > c.want+1e-9 {
			t.Errorf("played %v s for %v s: %v, want %v", c.played, c.expected, got, c.want)
		}
	}
}
