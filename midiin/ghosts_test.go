package midiin

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// played is a note by key, onset, length, velocity and channel (0 for one-channel converters).
func played(key int, onset, length float64, velocity, channel int) Note {
	return Note{Onset: onset, Released: onset + length, Offset: onset + length, Key: key, Pitch: float64(key), Velocity: velocity, Channel: channel}
}

// TestDropGhosts: the rule case by case. Each list is a short line at velocity 90 with one note in question.
func TestDropGhosts(t *testing.T) {
	for _, c := range []struct {
		name  string
		notes []Note
		ghost int // place of the only ghost, -1 for none
	}{
		{"an octave up inside a held note", []Note{played(64, 0, .5, 90, 0), played(76, .1, .025, 12, 0)}, 1}, // 76, velocity 12, 25 ms, during 64, velocity 90 (from memory)
		{"any soft blip inside a held note", []Note{played(64, 0, .5, 90, 0), played(65, .1, .025, 12, 1)}, 1},
		{"next string at the attack", []Note{played(60, 0, .3, 90, 1), played(67, .4, .03, 15, 2), played(64, .42, .3, 90, 1)}, 1},
		{"twelfth at the attack on one channel", []Note{played(60, 0, .3, 90, 0), played(79, .4, .03, 15, 0), played(60, .44, .3, 90, 0)}, 1},
		{"octave as the note dies away", []Note{played(60, 0, .3, 90, 0), played(72, .32, .03, 15, 0), played(64, .5, .3, 90, 0)}, 1},
		{"one soft neighbour among loud ones does not matter", []Note{played(64, 0, .5, 90, 0), played(76, .1, .025, 12, 0), played(60, .6, .2, 12, 0), played(62, .9, .2, 90, 0), played(64, 1.2, .2, 90, 0)}, 1},
		{"60 ms is not short", []Note{played(64, 0, .5, 90, 0), played(76, .125, .0625, 12, 0)}, -1},
		{"0.45 of the velocity is not soft", []Note{played(64, 0, .5, 80, 0), played(76, .1, .025, 36, 0)}, -1},
		{"soft among soft ones", []Note{played(64, 0, .5, 20, 0), played(76, .1, .025, 12, 0)}, -1},
		{"short soft grace note by step", []Note{played(60, 0, .3, 90, 0), played(61, .35, .04, 20, 0), played(62, .4, .3, 90, 0)}, -1},
		{"short soft grace note, overlapping its goal", []Note{played(60, 0, .3, 90, 0), played(61, .35, .055, 20, 0), played(62, .4, .3, 90, 0)}, -1},
		{"muted note alone in its place in the line", []Note{played(60, 0, .15, 90, 0), played(63, .25, .03, 20, 0), played(65, .5, .15, 90, 0)}, -1},
		{"muted octave alone in its place in the line", []Note{played(60, 0, .15, 90, 0), played(72, .25, .03, 20, 0), played(65, .5, .15, 90, 0)}, -1},
		{"legato: begins before the louder one is let go, ends after", []Note{played(60, 0, .3, 90, 0), played(63, .28, .05, 20, 0), played(65, .5, .15, 90, 0)}, -1},
		{"alone", []Note{played(60, 0, .02, 1, 0)}, -1},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := append([]Note(nil), c.notes...)
			kept, dropped := DropGhosts(c.notes)
			want := append([]Note{}, c.notes...)
			if c.ghost >= 0 {
				want = append(want[:c.ghost], want[c.ghost+1:]...)
			}
			if d := cmp.Diff(want, kept); d != "" || dropped != len(c.notes)-len(want) {
				t.Errorf("%d dropped: %s", dropped, d)
			}
			if d := cmp.Diff(before, c.notes); d != "" {
				t.Errorf("the notes given were changed: %s", d)
			}
		})
	}
	if kept, dropped := DropGhosts(nil); len(kept) != 0 || dropped != 0 {
		t.Error("no notes gave some")
	}
}

// TestGhostsOfFile: only a guitar drops them, and says how many.
func TestGhostsOfFile(t *testing.T) {
	// 1 ms ticks: 64 held for 500 ms, 76 of velocity 12 for 25 ms in it
	f := mustParse(t, smfBytes(0, 0xE728, fromHex(t, "00 90 40 5A 64 90 4C 0C 19 80 4C 40 82 77 80 40 40 00 FF 2F 00")))
	if notes, remarks := Notes(f, Options{Instrument: Keys}); len(notes) != 2 || remarks != nil {
		t.Errorf("keys: %d notes, remarks %q", len(notes), remarks)
	}
	notes, remarks := Notes(f, Options{Instrument: Guitar})
	if len(notes) != 1 || notes[0].Key != 64 || len(remarks) != 1 || !strings.HasPrefix(remarks[0], "1 ghost note was dropped") {
		t.Errorf("guitar: %+v, remarks %q", notes, remarks)
	}
}
