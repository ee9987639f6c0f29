package synth

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/loop"

	"pgregory.net/rapid"
)

func hex(messages []Message) string {
	var out []string
	for i := range messages {
		out = append(out, fmt.Sprintf("%.2f: % X", messages[i].Time, messages[i].Data()))
	}
	return strings.Join(out, "; ")
}

// Bytes by MIDI 1.0 (from memory), written by hand: 90 is a note on channel 1, 80 its end, 99 a note on channel 10.
func TestMessages(t *testing.T) {
	source := notes{
		{Time: 1, Duration: 0.5, Key: 36, Velocity: 100, Part: loop.Bass, Channel: 0},
		{Time: 1.25, Duration: 0.1, Key: 42, Velocity: 64, Part: loop.HiHat, Channel: 9},
		{Time: 1.5, Duration: 0.5, Key: 36, Velocity: 90, Part: loop.Bass, Channel: 0},
	}
	var none, noHat [loop.Parts]bool
	noHat[loop.HiHat] = true
	for _, tc := range []struct {
		from, to float64
		muted    [loop.Parts]bool
		want     string
	}{
		{0, 9, none, "1.00: 90 24 64; 1.25: 99 2A 40; 1.35: 89 2A 40; 1.50: 80 24 40; 1.50: 90 24 5A; 2.00: 80 24 40"},
		{0, 9, noHat, "1.00: 90 24 64; 1.35: 89 2A 40; 1.50: 80 24 40; 1.50: 90 24 5A; 2.00: 80 24 40"},
		{1.3, 2, none, "1.35: 89 2A 40; 1.50: 80 24 40; 1.50: 90 24 5A"},
		{2, 3, none, "2.00: 80 24 40"},
		{3, 4, none, ""},
	} {
		if got := hex(Messages(source, tc.from, tc.to, tc.muted)); got != tc.want {
			t.Errorf("from %v to %v:\n got %s\nwant %s", tc.from, tc.to, got, tc.want)
		}
	}
}

// Controllers and programs of General MIDI (from memory): C0 20 is program 33, acoustic bass, C1 04 program 5, electric piano 1; 7 is the volume, 7B (123) all
// notes off. 40 log10(v/127) = -24 gives v = 32.
func TestSetupVolumeSilence(t *testing.T) {
	for _, tc := range []struct {
		got  []Message
		want string
	}{
		{Setup(), "0.00: C0 20; 0.00: C1 04"},
		{Silence(), "0.00: B0 7B 00; 0.00: B1 7B 00; 0.00: B9 7B 00"},
		{Volume(-24), "0.00: B0 07 20; 0.00: B1 07 20; 0.00: B9 07 20"},
		{Volume(3), "0.00: B0 07 7F; 0.00: B1 07 7F; 0.00: B9 07 7F"},
		{Volume(-99), "0.00: B0 07 00; 0.00: B1 07 00; 0.00: B9 07 00"},
	} {
		if got := hex(tc.got); got != tc.want {
			t.Errorf("got %s, want %s", got, tc.want)
		}
	}
}

// However time is cut into windows the messages are the same, and every note that starts ends.
func TestMessageWindowsJoin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := backingOf(t, rapid.SampledFrom(loop.Names()).Draw(t, "chart"), rapid.Float64Range(40, 300).Draw(t, "tempo"))
		to := rapid.Float64Range(0, 30).Draw(t, "to")
		cuts := rapid.SliceOfN(rapid.Float64Range(0, to), 0, 6).Draw(t, "cuts")
		slices.Sort(cuts)
		var none [loop.Parts]bool
		whole := Messages(b, 0, to, none)
		var joined []Message
		last := 0.0
		for _, cut := range append(cuts, to) {
			joined = append(joined, Messages(b, last, cut, none)...)
			last = cut
		}
		if !slices.Equal(joined, whole) {
			t.Fatalf("%d messages in pieces, %d at once", len(joined), len(whole))
		}
		on := map[[2]byte]int{}
		for _, m := range Messages(b, 0, to+b.Longest()+1, none) {
			key := [2]byte{m.Bytes[0] & 0x0F, m.Bytes[1]}
			switch {
			case m.Bytes[0]&0xF0 == noteOn && m.Time < to:
				on[key]++
			case m.Bytes[0]&0xF0 == noteOff:
				on[key]--
			}
		}
		for key, n := range on {
			if n > 0 {
				t.Fatalf("channel %d, key %d: %d notes never end", key[0], key[1], n)
			}
		}
	})
}
