package round

import (
	"testing"
)

// playedRound is a round of form whose verdict stands from 16.25 s on, for 2 bars.
func playedRound() []Event {
	return []Event{press(0, GoOn), sing(3), rest(5), sing(7), rest(9), play(13, 60), let(14, 60), tick(16.5)}
}

func planned(at float64, shift int) Event { return Event{Kind: KeyPlanned, Time: at, Amount: shift} }

// TestPlannedKey: what becomes of a key that is planned for the next round; it is the key of the round that is sung at 24 s.
func TestPlannedKey(t *testing.T) {
	for name, c := range map[string]struct {
		before, after []Event // of the round that is played
		want          string
	}{
		"none":                              {nil, nil, "C minor"},
		"by itself, after the verdict":      {nil, []Event{planned(17, 5)}, "F minor"},
		"on":                                {nil, []Event{planned(17, 5), press(18, GoOn)}, "F minor"},
		"skip at the verdict":               {nil, []Event{planned(17, 5), press(18, Skip)}, "F minor"},
		"down":                              {nil, []Event{planned(17, -1)}, "B minor"},
		"a second plan":                     {nil, []Event{planned(17, 5), planned(17.5, 7)}, "G minor"},
		"the same again":                    {nil, []Event{planned(17, 5), press(18, Repeat)}, "C minor"},
		"another key than the planned one":  {nil, []Event{planned(17, 5), {Kind: Pressed, Time: 17.5, Action: AnotherKey, Amount: 2}}, "G minor"},
		"too late for a key that was asked": {nil, []Event{{Kind: Pressed, Time: 17, Action: AnotherKey, Amount: 2}, planned(18, 5)}, "D minor"},
		"before the first":                  {[]Event{planned(0, 9)}, nil, "A minor"},
		"stopped":                           {nil, []Event{planned(17, 5), press(18, Stop), press(19, GoOn)}, "F minor"},
		"a device is gone":                  {nil, []Event{planned(17, 5), lost(18, Microphone), press(19, GoOn), found(20, Microphone)}, "F minor"},
	} {
		m := NewMachine(form(t))
		run(m, c.before...)
		run(m, playedRound()...)
		run(m, c.after...)
		if v := m.View(0); v.NextKey.String() != c.want && v.Part == PartVerdict {
			t.Errorf("%s: the next key is %s, want %s", name, v.NextKey, c.want)
		}
		run(m, tick(22), tick(24))
		if v := m.View(0); v.Part.Take() == 0 || v.Key.String() != c.want {
			t.Errorf("%s: %s in %s, want a take in %s", name, v.Part, v.Key, c.want)
		}
	}
}

// TestPlannedKeyWithinARound: it is not heeded, whatever the part.
func TestPlannedKeyWithinARound(t *testing.T) {
	for at := range 17 {
		m := NewMachine(form(t))
		commands := 0
		for _, e := range playedRound() {
			if e.Time > float64(at) {
				break
			}
			run(m, e)
		}
		if at > 0 {
			run(m, tick(float64(at)))
			commands = len(m.Handle(planned(float64(at), 5)))
		}
		if v := m.View(0); commands > 0 || at > 0 && v.NextKey.String() != "C minor" {
			t.Errorf("at %d s, %s: %d commands, next in %s", at, v.Part, commands, v.NextKey)
		}
	}
}
