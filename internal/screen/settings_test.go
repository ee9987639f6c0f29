package screen

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"larkhand/internal/round"
	"larkhand/midiin"
)

func TestUsualSettings(t *testing.T) {
	setup, err := Usual().Setup()
	if err != nil {
		t.Fatal(err)
	}
	if setup.Key.String() != "C minor" || setup.Chart.String() != "Cm7 | Cm7 | Fm7 | Fm7" || setup.Tempo != 96 || setup.Swing != 1 ||
		setup.TakeBars != 4 || setup.ThinkingBars != 0 || setup.CountInBars != 1 || !setup.LeadIn || !setup.FromTop {
		t.Errorf("%+v", setup)
	}
}

func TestSettings(t *testing.T) {
	for _, c := range []struct {
		name  string
		given func(*Settings)
		right func(round.Setup) bool
	}{
		{"guessed key", func(s *Settings) { s.Key, s.Chart, s.Chords = "", "own", "C | G" }, func(r round.Setup) bool { return r.Key == nil && r.Chart.String() == "C | G" }},
		{"free thinking", func(s *Settings) { s.Thinking = "free" }, func(r round.Setup) bool { return r.ThinkingBars == round.FreeThinking }},
		{"comma in tempo", func(s *Settings) { s.Tempo = "92,5" }, func(r round.Setup) bool { return r.Tempo == 92.5 }},
		{"swing", func(s *Settings) { s.Feel = "swing 2:1" }, func(r round.Setup) bool { return r.Swing == 2 }},
		{"circle", func(s *Settings) { s.Players = " Ada , Bo Lee" }, func(r round.Setup) bool { return len(r.Players) == 2 && r.Players[1].Name == "Bo Lee" }},
		{"steps", func(s *Settings) { s.Steps = "yes" }, func(r round.Setup) bool { return r.Steps }},
		{"kept phrase", func(s *Settings) { s.Phrase, s.PhraseKeys = "Rain", "weak" }, func(r round.Setup) bool { return r.Key != nil }},
		{"keys of no phrase", func(s *Settings) { s.PhraseKeys = "sideways" }, func(r round.Setup) bool { return true }},
		{"no steps", func(s *Settings) {}, func(r round.Setup) bool { return !r.Steps }},
		{"free", func(s *Settings) { s.Timing, s.Bars = "free", "" }, func(r round.Setup) bool { return r.Timing == round.Free && !r.FromTop && r.LeadIn }},
		{"channel for all", func(s *Settings) { s.Channels = "2" }, func(r round.Setup) bool { return len(r.Players) == 1 && r.Players[0].Microphone == "channel 2" }},
		{"channel for each", func(s *Settings) { s.Players, s.Channels = "Ada, Bo", "2; 1" }, func(r round.Setup) bool {
			return r.Players[0].Microphone == "channel 2" && r.Players[1].Microphone == "channel 1"
		}},
		{"port for all", func(s *Settings) { s.Players, s.MIDI = "Ada, Bo", "Piano, left" }, func(r round.Setup) bool { return r.Players[0].Keyboard == "" }},
		{"port for each", func(s *Settings) { s.Players, s.MIDI = "Ada, Bo", "Piano, left; Guitar" }, func(r round.Setup) bool {
			return r.Players[0].Keyboard == "Piano, left" && r.Players[1].Keyboard == "Guitar"
		}},
		{"muted", func(s *Settings) { s.Muted = "Bass, hi-hat" }, func(r round.Setup) bool { return r.Muted == round.Bass|round.HiHat }},
		{"click alone", func(s *Settings) { s.Sound = "click" }, func(r round.Setup) bool { return r.Muted == round.Bass|round.Comping|round.HiHat }},
		{"pedal", func(s *Settings) { s.GoOn = "Pedal" }, func(r round.Setup) bool { return r.GoOnPedal && r.GoOnKey == 0 }},
		{"key by number", func(s *Settings) { s.GoOn = "36" }, func(r round.Setup) bool { return r.GoOnKey == 36 }},
		{"key by letter", func(s *Settings) { s.GoOn = "Bb2" }, func(r round.Setup) bool { return r.GoOnKey == 46 }}, // A4 is 69, MIDI 1.0
		{"lowest C of a piano", func(s *Settings) { s.GoOn = "C1" }, func(r round.Setup) bool { return r.GoOnKey == 24 }},
		{"verdict", func(s *Settings) { s.Verdict = "4" }, func(r round.Setup) bool { return r.VerdictBars == 4 }},
		{"guitar", func(s *Settings) { s.Instrument = "guitar" }, func(r round.Setup) bool { return r.Instrument == midiin.Guitar }},
		{"no loop", func(s *Settings) { s.Timing, s.Chart, s.Tempo = "no loop", "", "" }, func(r round.Setup) bool { return r.Timing == round.NoLoop && !r.LeadIn }},
	} {
		s := Usual()
		c.given(&s)
		setup, err := s.Setup()
		if err != nil || !c.right(setup) {
			t.Errorf("%s: %+v, %v", c.name, setup, err)
		}
	}
}

func TestSettingsThatDoNotWork(t *testing.T) {
	for _, c := range []struct {
		name  string
		given func(*Settings)
		text  string
	}{
		{"key", func(s *Settings) { s.Key = "H minor" }, "H"},
		{"numbering", func(s *Settings) { s.Numbering = "roman" }, "scale"},
		{"chart", func(s *Settings) { s.Chart = "waltz" }, "minor vamp"},
		{"chart", func(s *Settings) { s.Key = "" }, "a named chart needs a key"},
		{"chords", func(s *Settings) { s.Chart = "own" }, "an own chart needs chords"},
		{"chords", func(s *Settings) { s.Chart, s.Chords = "own", "Cm7 | Hm7" }, "bar 2"},
		{"tempo", func(s *Settings) { s.Tempo = "1000" }, "write 20 to 400 quarters a minute"},
		{"feel", func(s *Settings) { s.Feel = "funky" }, "straight"},
		{"timing", func(s *Settings) { s.Timing = "rubato" }, "write form"},
		{"bars", func(s *Settings) { s.Bars = "0" }, "choose 1 to 64"},
		{"bars", func(s *Settings) { s.Bars = "four" }, "is no number of bars"},
		{"thinking", func(s *Settings) { s.Thinking = "-1" }, "or free"},
		{"count_in", func(s *Settings) { s.CountIn = "9" }, "write 0 to 8"},
		{"loop_alone", func(s *Settings) { s.LoopAlone = "maybe" }, "write yes or no"},
		{"from_top", func(s *Settings) { s.FromTop = "" }, "write yes or no"},
		{"phrase", func(s *Settings) { s.Phrase, s.Key, s.Chart, s.Chords = "Rain", "", "own", "Cm7" }, "a kept phrase needs a key"},
		{"phrase_keys", func(s *Settings) { s.Phrase, s.PhraseKeys = "Rain", "up" }, "write stay, fourths, semitones, random, weak or due"},
		{"players", func(s *Settings) { s.Players = "Ada, ada" }, "two players are called ada"},
		{"channels", func(s *Settings) { s.Channels = "left" }, "write 1 to 64"},
		{"channels", func(s *Settings) { s.Players, s.Channels = "Ada, Bo", "1; 2; 3" }, "3 microphone channels for 2 players"},
		{"midi", func(s *Settings) { s.MIDI = "Piano; Guitar" }, "2 MIDI ports for 1 player"},
		{"midi", func(s *Settings) { s.Players, s.MIDI = "Ada, Bo", "Piano;" }, "a MIDI port has no name"},
		{"volume", func(s *Settings) { s.Volume = "3" }, "write -60 (silence) to 0 dB"},
		{"volume", func(s *Settings) { s.Volume = "loud" }, "is no volume"},
		{"muted", func(s *Settings) { s.Muted = "bass, drums" }, `"drums" is no part of the loop`},
		{"go_on", func(s *Settings) { s.GoOn = "H2" }, "write pedal, a key such as C2"},
		{"go_on", func(s *Settings) { s.GoOn = "128" }, "write pedal"},
		{"verdict", func(s *Settings) { s.Verdict = "long" }, "is no number of bars"},
		{"instrument", func(s *Settings) { s.Instrument = "kazoo" }, "keys"},
		{"players", func(s *Settings) { s.Players = "Ada," }, "a player has no name"},
	} {
		s := Usual()
		c.given(&s)
		_, err := s.Setup()
		var setting *SettingError
		if !errors.As(err, &setting) || setting.Name != c.name || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: %v, want an error that says %q", c.name, err, c.text)
		}
	}
}

func TestRememberedSettings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "practice.toml")
	if s, err := LoadSettings(path); err != nil || s != Usual() {
		t.Errorf("without a file: %+v, %v", s, err)
	}
	want := demoSettings()
	want.Players = `Ada "the ear", Bo`
	if err := SaveSettings(path, want); err != nil {
		t.Fatal(err)
	}
	if got, err := LoadSettings(path); err != nil || got != want {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
	if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) != 1 {
		t.Errorf("beside the settings lie %v, %v", left, err)
	}
	for text, place := range map[string]string{"key = \"C\"\ntempo = fast\n": "line 2", "sparkle = 1\n": "practice.toml"} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if s, err := LoadSettings(path); err == nil || !strings.Contains(err.Error(), place) || s != Usual() {
			t.Errorf("%q: %+v, %v", text, s, err)
		}
	}
}

func TestChartOfACommandLine(t *testing.T) {
	for given, want := range map[string][2]string{"12-bar blues": {"12-bar blues", ""}, "Minor Vamp": {"Minor Vamp", ""}, "C | F": {ownChart, "C | F"}} {
		s := Usual()
		s.Chart = given
		s.NameChart()
		if got := [2]string{s.Chart, s.Chords}; got != want {
			t.Errorf("%q: %v, want %v", given, got, want)
		}
	}
}
