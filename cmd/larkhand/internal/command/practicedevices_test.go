package command

import (
	"errors"
	"testing"

	"larkhand/internal/round"
	"larkhand/internal/screen"
	"larkhand/internal/sound"
)

// Without a loop a speaker only lets things be heard again, so that one that is not there is no error; with one it is.
func TestChooseASpeaker(t *testing.T) {
	there := fullDesk.Speakers[0].Name
	for name, c := range map[string]struct {
		speaker string
		timing  round.Timing
		has     bool
		fails   bool
	}{
		"form":             {there, round.OnForm, true, false},
		"form, not there":  {"Nowhere", round.OnForm, false, true},
		"form, none":       {sound.NoDevice, round.OnForm, false, false},
		"no loop":          {there, round.NoLoop, true, false},
		"no loop, gone":    {"Nowhere", round.NoLoop, false, false},
		"no loop, nothing": {sound.NoDevice, round.NoLoop, false, false},
	} {
		got, err := choose(fullDesk, screen.Settings{Speaker: c.speaker}, round.Setup{Timing: c.timing})
		var setting *screen.SettingError
		if c.fails != errors.As(err, &setting) || !c.fails && (err != nil || got.hasSpeaker != c.has || (got.speaker.Name == there) != c.has) {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
}
