package screen

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/plan"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// Words that settings are written in.
const (
	ownChart = "own"
	freeWord = "free"
	yes, no  = "yes", "no"
)

// Settings are what the set-up asks for, each as the player writes it. Setup reads them.
type Settings struct {
	Key        string `toml:"key"`         // "C minor"; empty lets it be guessed
	Numbering  string `toml:"numbering"`   // "scale" or "altered"
	Chart      string `toml:"chart"`       // a name of loop.Names, or "own"
	Chords     string `toml:"chords"`      // of the own chart: "Cm7 | Fm7 | G7b9 | Cm7"
	Tempo      string `toml:"tempo"`       // quarter notes a minute
	Feel       string `toml:"feel"`        // "straight", "swing" or "swing 2:1"
	Timing     string `toml:"timing"`      // "form", "free" or "no loop"
	Bars       string `toml:"bars"`        // bars of a take and of the answer
	Thinking   string `toml:"thinking"`    // bars of thinking room, or "free"
	CountIn    string `toml:"count_in"`    // bars
	LoopAlone  string `toml:"loop_alone"`  // "yes" or "no": the loop plays once through alone first
	FromTop    string `toml:"from_top"`    // "yes" or "no": take 1 begins where the chart begins
	Steps      string `toml:"steps"`       // "yes" or "no": numbers and letters are written down before the answer
	Phrase     string `toml:"phrase"`      // name of a kept phrase that is practised; empty: phrases are made up
	PhraseKeys string `toml:"phrase_keys"` // the keys that it goes through, one of plan.KeyOrders
	Verdict    string `toml:"verdict"`     // bars for which the verdict stays; "0": until the player goes on
	Players    string `toml:"players"`     // names with commas between them; empty is one player without a name

	Instrument string `toml:"instrument"` // that the answer is played on: "keys" or "guitar"
	Microphone string `toml:"microphone"` // name, or "" for the default one
	Channels   string `toml:"channels"`   // of the microphone, one for each player, with ; between them; empty: the first for all
	Speaker    string `toml:"speaker"`    // name, "" for the default one, or "none"
	MIDI       string `toml:"midi"`       // name of a port, "" for the first one, several with ; between them in the order of the players, or "none"
	MIDIOut    string `toml:"midi_out"`   // MIDI port that plays the loop; "" for the speaker
	Sound      string `toml:"sound"`      // of the loop: a SoundFont file, "plain", "click", or "" for what is found
	Volume     string `toml:"volume"`     // of the loop, dB below full
	Muted      string `toml:"muted"`      // parts of the loop, with commas: bass, comping, hi-hat, click
	GoOn       string `toml:"go_on"`      // "pedal", a MIDI key, or ""
}

// Usual are the settings of the first day.
func Usual() Settings {
	return Settings{
		Key: "C minor", Numbering: music.ScaleNumbers.String(), Chart: "minor vamp", Tempo: "96", Feel: "straight",
		Timing: round.OnForm.String(), Bars: "4", Thinking: "0", CountIn: "1", LoopAlone: yes, FromTop: yes, Steps: no, PhraseKeys: string(plan.Stay), Verdict: "0",
		Instrument: midiin.Keys.String(), Volume: usualVolume,
	}
}

// SettingError is a setting that does not work.
type SettingError struct {
	Name string // of the setting, as in a settings file: "chords"
	Err  error
}

func (e *SettingError) Error() string { return e.Err.Error() }

func (e *SettingError) Unwrap() error { return e.Err }

// Setup reads the settings. Its error is a *SettingError.
func (s Settings) Setup() (round.Setup, error) {
	var out round.Setup
	for _, step := range []struct {
		name string
		read func(*round.Setup) error
	}{
		{"key", s.readKey}, {"numbering", s.readNumbering}, {"timing", s.readTiming}, {"tempo", s.readTempo},
		{"chords", s.readChart}, {"feel", s.readFeel}, {"bars", s.readBars}, {"thinking", s.readThinking},
		{"count_in", s.readCountIn}, {"loop_alone", s.readLoopAlone}, {"from_top", s.readFromTop}, {"steps", s.readSteps}, {"phrase", s.readPhrase}, {"phrase_keys", s.readPhraseKeys}, {"verdict", s.readVerdict}, {"players", s.readPlayers},
		{"instrument", s.readInstrument}, {"channels", s.readChannels}, {"midi", s.readMIDI}, {"volume", s.readVolume}, {"muted", s.readMuted}, {"go_on", s.readGoOn},
	} {
		if err := step.read(&out); err != nil {
			name := step.name
			if name == "chords" && !strings.EqualFold(s.Chart, ownChart) {
				name = "chart"
			}
			return round.Setup{}, &SettingError{name, err}
		}
	}
	if err := out.Check(); err != nil {
		return round.Setup{}, &SettingError{"bars", err}
	}
	return out, nil
}

func (s Settings) readKey(out *round.Setup) error {
	if strings.TrimSpace(s.Key) == "" {
		return nil
	}
	key, err := music.ParseKey(s.Key)
	out.Key = &key
	return err
}

func (s Settings) readNumbering(out *round.Setup) (err error) {
	out.Numbering, err = music.ParseNumbering(s.Numbering)
	return err
}

func (s Settings) readTiming(out *round.Setup) (err error) {
	out.Timing, err = round.ParseTiming(s.Timing)
	return err
}

func (s Settings) readTempo(out *round.Setup) error {
	if out.Timing == round.NoLoop {
		return nil
	}
	x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(s.Tempo), ",", ".", 1), 64)
	if err != nil || math.IsNaN(x) || x < loop.MinTempo || x > loop.MaxTempo {
		return fmt.Errorf("%q is no tempo: write %.0f to %.0f quarters a minute", s.Tempo, loop.MinTempo, loop.MaxTempo)
	}
	out.Tempo = x
	return nil
}

func (s Settings) readChart(out *round.Setup) (err error) {
	switch {
	case out.Timing == round.NoLoop:
		return nil
	case strings.EqualFold(s.Chart, ownChart):
		if strings.TrimSpace(s.Chords) == "" {
			return errors.New(`an own chart needs chords: write them in bars, such as "Cm7 | Fm7 | G7b9 | Cm7"`)
		}
		out.Chart, err = music.ParseChart(s.Chords)
		return err
	case out.Key == nil:
		return errors.New("a named chart needs a key: set one, or write the chords yourself")
	}
	out.Chart, err = loop.Named(s.Chart, *out.Key)
	return err
}

func (s Settings) readFeel(out *round.Setup) error {
	if out.Timing == round.NoLoop {
		return nil
	}
	feel, err := loop.ParseFeel(s.Feel, out.Tempo)
	out.Swing = feel.Ratio
	return err
}

// whole reads a whole number of bars.
func whole(text string, most int) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 || n > most {
		return 0, fmt.Errorf("%q is no number of bars: write 0 to %d", text, most)
	}
	return n, nil
}

func (s Settings) readBars(out *round.Setup) (err error) {
	if out.Timing != round.OnForm {
		return nil
	}
	out.TakeBars, err = whole(s.Bars, round.MaxTakeBars)
	return err
}

func (s Settings) readThinking(out *round.Setup) (err error) {
	switch {
	case out.Timing != round.OnForm:
		return nil
	case strings.TrimSpace(s.Thinking) == freeWord:
		out.ThinkingBars = round.FreeThinking
		return nil
	}
	out.ThinkingBars, err = whole(s.Thinking, round.MaxThinkingBars)
	if err != nil {
		err = fmt.Errorf("%w, or free", err)
	}
	return err
}

func (s Settings) readCountIn(out *round.Setup) (err error) {
	if out.Timing == round.NoLoop {
		return nil
	}
	out.CountInBars, err = whole(s.CountIn, round.MaxCountInBars)
	return err
}

func (s Settings) readLoopAlone(out *round.Setup) error {
	if s.LoopAlone != yes && s.LoopAlone != no {
		return fmt.Errorf("%q does not say whether the loop plays once alone first: write yes or no", s.LoopAlone)
	}
	out.LeadIn = s.LoopAlone == yes && out.Timing != round.NoLoop
	return nil
}

func (s Settings) readFromTop(out *round.Setup) error {
	if s.FromTop != yes && s.FromTop != no {
		return fmt.Errorf("%q does not say whether take 1 begins where the chart begins: write yes or no", s.FromTop)
	}
	out.FromTop = s.FromTop == yes && out.Timing == round.OnForm
	return nil
}

func (s Settings) readSteps(out *round.Setup) error {
	if s.Steps != yes && s.Steps != no {
		return fmt.Errorf("%q does not say whether numbers and letters are written down: write yes or no", s.Steps)
	}
	out.Steps = s.Steps == yes
	return nil
}

func (s Settings) readPhrase(out *round.Setup) error {
	if s.HasPhrase() && out.Key == nil {
		return errors.New("a kept phrase needs a key to begin in: set one, such as C minor")
	}
	return nil
}

func (s Settings) readPhraseKeys(*round.Setup) error {
	if s.HasPhrase() && !slices.Contains(plan.KeyOrders, phrase.Order(s.PhraseKeys)) {
		return fmt.Errorf("%q is no way through keys: write stay, fourths, semitones, random, weak or due", s.PhraseKeys)
	}
	return nil
}

// HasPhrase is true where a kept phrase is practised.
func (s Settings) HasPhrase() bool { return strings.TrimSpace(s.Phrase) != "" }

func (s Settings) readPlayers(out *round.Setup) error {
	if strings.TrimSpace(s.Players) == "" {
		return nil
	}
	var names []string
	for name := range strings.SplitSeq(s.Players, ",") {
		name = strings.Join(strings.Fields(name), " ")
		switch {
		case name == "":
			return errors.New("a player has no name: write names with one comma between them, such as Ann, Bo")
		case slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, name) }):
			return fmt.Errorf("two players are called %s: give each a name of its own", name)
		}
		names = append(names, name)
		out.Players = append(out.Players, round.Person{Name: name})
	}
	if len(names) > round.MaxPlayers {
		return fmt.Errorf("a circle of %d is too large: at most %d players take turns", len(names), round.MaxPlayers)
	}
	return nil
}

// NameChart reads Chart as a command line gives it: the name of a chart, or else the chords of an own one.
func (s *Settings) NameChart() {
	if strings.EqualFold(s.Chart, ownChart) || slices.ContainsFunc(loop.Names(), func(name string) bool { return strings.EqualFold(name, s.Chart) }) {
		return
	}
	s.Chords, s.Chart = s.Chart, ownChart
}
