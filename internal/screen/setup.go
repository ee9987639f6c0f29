package screen

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/plan"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
	"larkhand/internal/sound/synth"
	"larkhand/midiin"
)

// field is a line of the set-up.
type field struct {
	name    string // as in SettingError
	label   string
	hint    string
	value   func(*Settings) *string
	choices []string // that left and right go through
	step    int      // that left and right add to a number
	typed   bool     // may be typed
	unused  func(Settings) bool
	offered func(Devices) []string // choices that this machine gives, after those above
	empty   string                 // what an empty setting means, shown in its place
	onSound bool                   // on the second page of the set-up: devices and sound
}

var usualKeys = []string{
	"", "C major", "C minor", "F major", "D minor", "Bb major", "G minor", "Eb major", "Ab major", "F minor", "Db major", "Bb minor",
	"G major", "E minor", "D major", "B minor", "A major", "F# minor", "A minor", "D dorian", "C blues",
}

func noLoop(s Settings) bool { return s.Timing == round.NoLoop.String() }
func noBars(s Settings) bool { return s.Timing != round.OnForm.String() }

// keyOrders are the ways of a kept phrase through keys.
func keyOrders() (words []string) {
	for _, order := range plan.KeyOrders {
		words = append(words, string(order))
	}
	return words
}

// fields are the lines of the set-up, from top to bottom.
var fields = []field{
	{name: "key", empty: "guessed", label: "key", hint: "empty: guessed", value: func(s *Settings) *string { return &s.Key }, choices: usualKeys, typed: true},
	{name: "numbering", label: "numbers", hint: "scale: Eb in C minor is 3; altered: it is b3", value: func(s *Settings) *string { return &s.Numbering },
		choices: []string{music.ScaleNumbers.String(), music.AlteredNumbers.String()}},
	{name: "chart", label: "chart", hint: "own: write the chords on the next line", value: func(s *Settings) *string { return &s.Chart },
		choices: append(loop.Names(), ownChart), unused: noLoop},
	{name: "chords", label: "own chords", hint: "bars, such as Cm7 | Fm7 | G7b9 | Cm7", value: func(s *Settings) *string { return &s.Chords }, typed: true,
		unused: func(s Settings) bool { return noLoop(s) || s.Chart != ownChart }},
	{name: "tempo", label: "tempo", hint: "quarters a minute", value: func(s *Settings) *string { return &s.Tempo }, step: 4, typed: true, unused: noLoop},
	{name: "feel", label: "feel", hint: "straight, swing, or a ratio: swing 2:1", value: func(s *Settings) *string { return &s.Feel },
		choices: []string{"straight", "swing", "swing 1.5:1", "swing 2:1", "swing 3:1"}, typed: true, unused: noLoop},
	{name: "timing", label: "timing", hint: "form: bars; free: the loop waits; or no loop", value: func(s *Settings) *string { return &s.Timing },
		choices: []string{round.OnForm.String(), round.Free.String(), round.NoLoop.String()}},
	{name: "bars", label: "bars a take", hint: "and as many for the answer", value: func(s *Settings) *string { return &s.Bars }, step: 1, typed: true, unused: noBars},
	{name: "thinking", label: "thinking room", hint: "bars; 0 for none; free: until you play", value: func(s *Settings) *string { return &s.Thinking },
		choices: []string{"0", "1", "2", "4", "8", freeWord}, typed: true, unused: noBars},
	{name: "count_in", label: "count-in", hint: "bars", value: func(s *Settings) *string { return &s.CountIn }, step: 1, typed: true, unused: noLoop},
	{name: "loop_alone", label: "loop first", hint: "yes: once through alone, to listen", value: func(s *Settings) *string { return &s.LoopAlone },
		choices: []string{yes, no}, unused: noLoop},
	{name: "from_top", label: "from the top", hint: "yes: take 1 begins at bar 1", value: func(s *Settings) *string { return &s.FromTop },
		choices: []string{yes, no}, unused: noBars},
	{name: "steps", label: "steps", hint: "yes: write numbers and letters, then play", value: func(s *Settings) *string { return &s.Steps },
		choices: []string{no, yes}},
	{name: "phrase", empty: "of your own, each time", label: "kept phrase", hint: "empty: make one up", value: func(s *Settings) *string { return &s.Phrase }, typed: true,
		choices: []string{""}, offered: func(d Devices) []string { return d.Phrases }},
	{name: "phrase_keys", label: "in keys", hint: "weak, due: by record", value: func(s *Settings) *string { return &s.PhraseKeys },
		choices: keyOrders(), unused: func(s Settings) bool { return !s.HasPhrase() }},
	{name: "verdict", label: "verdict stays", hint: "bars; 0: until you go on", value: func(s *Settings) *string { return &s.Verdict },
		choices: []string{"0", "2", "4", "8", "16"}, typed: true},
	{name: "players", empty: "one", label: "players", hint: "names, with commas: they take turns", value: func(s *Settings) *string { return &s.Players }, typed: true},

	{name: "microphone", empty: "the usual one", label: "microphone", hint: "left/right, or type", value: func(s *Settings) *string { return &s.Microphone }, typed: true, onSound: true,
		choices: []string{""}, offered: func(d Devices) []string { return d.Microphones }},
	{name: "channels", empty: "the first", label: "its channels", hint: "of each player, such as 1; 2", value: func(s *Settings) *string { return &s.Channels }, typed: true, onSound: true},
	{name: "speaker", empty: "the usual one", label: "speaker", hint: "left/right, or type; none", value: func(s *Settings) *string { return &s.Speaker }, typed: true, onSound: true,
		choices: []string{"", noDevice}, offered: func(d Devices) []string { return d.Speakers }, unused: func(s Settings) bool { return noLoop(s) || s.MIDIOut != "" }},
	{name: "midi", empty: "the first", label: "MIDI port", hint: "of each player: A; B", value: func(s *Settings) *string { return &s.MIDI }, typed: true, onSound: true,
		choices: []string{"", noDevice}, offered: func(d Devices) []string { return d.MIDIInputs }},
	{name: "instrument", label: "played on", hint: "guitar: a converter's ghost notes drop", value: func(s *Settings) *string { return &s.Instrument }, onSound: true,
		choices: []string{midiin.Keys.String(), midiin.Guitar.String()}},
	{name: "midi_out", empty: "no", label: "loop by MIDI", hint: "in place of the speaker", value: func(s *Settings) *string { return &s.MIDIOut }, typed: true, onSound: true,
		choices: []string{""}, offered: func(d Devices) []string { return d.MIDIOutputs }, unused: noLoop},
	{name: "sound", empty: "a SoundFont, else own sounds", label: "sound", hint: "plain, click, or a .sf2 file", value: func(s *Settings) *string { return &s.Sound }, typed: true, onSound: true,
		choices: []string{"", plainSounds, clickAlone}, unused: noLoop},
	{name: "volume", label: "volume", hint: "dB below full; start low", value: func(s *Settings) *string { return &s.Volume }, step: volumeStep, typed: true, onSound: true, unused: noLoop},
	{name: "muted", empty: "nothing", label: "silent", hint: "of bass, comping, hi-hat, click", value: func(s *Settings) *string { return &s.Muted }, typed: true, onSound: true, unused: noLoop,
		choices: []string{"", "bass", "comping", "hi-hat", "click", "bass, comping", "bass, comping, hi-hat"}},
	{name: "go_on", empty: "space or enter", label: "go on by", hint: "pedal or key; g in a round learns", value: func(s *Settings) *string { return &s.GoOn }, typed: true, onSound: true,
		choices: []string{"", pedalWord}},
}

// form is the state of the set-up.
type form struct {
	settings  Settings
	at        int    // the line that keys change
	refused   string // why it cannot be practised so
	devices   Devices
	looking   bool   // for devices
	told      string // what became of an offer
	answering bool   // the offer is being dealt with
}

func newForm(s Settings) form { return form{settings: s} }

// refuse says why a session cannot begin, and goes to the line that can mend it.
func (f *form) refuse(err error) {
	f.refused = ""
	if err == nil {
		return
	}
	f.refused = err.Error()
	var setting *SettingError
	if errors.As(err, &setting) {
		if i := slices.IndexFunc(fields, func(l field) bool { return l.name == setting.Name }); i >= 0 {
			f.at = i
		}
	}
}

// press takes a key.
func (f *form) press(msg tea.KeyMsg) {
	line := fields[f.at]
	value := line.value(&f.settings)
	switch msg.String() {
	case keyUp:
		f.move(-1)
		return
	case keyDown:
		f.move(1)
		return
	case "tab":
		f.turn()
		return
	case keyLeft:
		line.change(value, -1, f.devices)
	case keyRight:
		line.change(value, 1, f.devices)
	case "backspace":
		if runes := []rune(*value); line.typed && len(runes) > 0 {
			*value = string(runes[:len(runes)-1])
		}
	case "ctrl+u":
		if line.typed {
			*value = ""
		}
	default:
		const longest = 500 // runes of a setting; own choice
		if line.typed && (msg.Type == tea.KeyRunes || msg.Type == tea.KeySpace) && len([]rune(*value))+len(msg.Runes) <= longest {
			*value += string(msg.Runes)
		}
	}
	f.refused = ""
	if _, err := f.settings.Setup(); err != nil {
		f.refused = err.Error()
	}
}

// move goes to the next line that is of use.
func (f *form) move(way int) {
	for range fields {
		f.at = (f.at + way + len(fields)) % len(fields)
		if l := fields[f.at]; l.unused == nil || !l.unused(f.settings) {
			return
		}
	}
}

// turn goes to the first line of the other page.
func (f *form) turn() {
	here := fields[f.at].onSound
	for f.move(1); fields[f.at].onSound == here; f.move(1) {
	}
}

// change goes to the next choice, or adds a step to a number.
func (l field) change(value *string, way int, devices Devices) {
	if l.step > 0 {
		if n, err := strconv.Atoi(strings.TrimSpace(*value)); err == nil {
			n += way * l.step
			if l.name == "volume" {
				n = max(int(synth.MinVolume), min(n, int(synth.MaxVolume)))
			} else {
				n = max(0, n)
			}
			*value = strconv.Itoa(n)
		}
		return
	}
	choices := l.choices
	if l.offered != nil {
		choices = append(slices.Clone(choices), l.offered(devices)...)
	}
	if len(choices) > 0 {
		i := slices.Index(choices, *value)
		if i < 0 && way < 0 {
			i = 0
		}
		*value = choices[(i+way+len(choices))%len(choices)]
	}
}

// viewSetup draws the page of the set-up that the line lies on.
func (m *model) viewSetup() string {
	onSound := fields[m.form.at].onSound
	title, other := "Larkhand: set-up", "tab: devices and sound"
	if onSound {
		title, other = "Larkhand: set-up, devices and sound", "tab: the round"
	}
	body := []string{m.styles.Strong.Render(draw.Pad(title, m.width-len(other)-1)) + m.styles.Quiet.Render(other), ""}
	foot := m.setupFoot()
	var lines []string
	at := 0 // the line that keys change
	for i := range fields {
		if fields[i].onSound != onSound {
			continue
		}
		if i == m.form.at {
			at = len(lines)
		}
		lines = append(lines, m.settingLine(i))
	}
	if onSound {
		lines = append(lines, m.deviceLines(m.height-len(body)-len(lines)-4)...)
	} else if chords := m.form.chords(); chords != "" {
		lines = append(lines, draw.Pad("", 17)+m.styles.Quiet.Render(draw.Clip(chords, m.width-17)))
	}
	return draw.Page(append(body, draw.Around(lines, at, m.height-len(body)-len(foot))...), foot, m.width, m.height)
}

// setupFoot is what keeps the settings from being practised, or what else is to be said, and the keys.
func (m *model) setupFoot() []string {
	var foot []string
	switch {
	case m.form.refused != "":
		for _, line := range draw.Wrap("! "+m.form.refused, m.width) {
			foot = append(foot, m.styles.Look.Render(line))
		}
		foot = foot[:min(3, len(foot))]
	case m.form.told != "":
		foot = draw.Wrap(m.form.told, m.width)
		foot = foot[:min(3, len(foot))]
	case m.cfg.Kept != "":
		foot = append(foot, m.cfg.Kept)
	}
	return append(foot, m.styles.Quiet.Render(draw.Clip("enter start  up/down line  left/right other  tab page  esc quit  ?", m.width)))
}

// deviceLines are the devices that can be chosen on the line of the set-up; the chosen one has a mark.
func (m *model) deviceLines(rows int) []string {
	l := fields[m.form.at]
	if l.offered == nil || m.cfg.Devices == nil || rows < 2 {
		return nil
	}
	if m.form.looking {
		return []string{"", m.styles.Quiet.Render("Looking for devices ...")}
	}
	found := l.offered(m.form.devices)
	if len(found) == 0 {
		return []string{"", m.styles.Quiet.Render("There is none on this machine; ctrl+r looks again.")}
	}
	out := []string{"", m.styles.Quiet.Render(draw.Clip("On this machine (left/right choose, ctrl+r looks again):", m.width))}
	room := max(1, rows-len(out))
	chosen := max(0, slices.Index(found, *l.value(&m.form.settings)))
	first := max(0, min(chosen-room/2, len(found)-room))
	for _, name := range found[first:min(len(found), first+room)] {
		mark := "    "
		if name == *l.value(&m.form.settings) {
			mark = "  > "
		}
		out = append(out, mark+name)
	}
	return out
}

// chords are those of a named chart.
func (f form) chords() string {
	if setup, err := f.settings.Setup(); err == nil && !noLoop(f.settings) {
		return setup.Chart.String()
	}
	return ""
}

func (m *model) settingLine(i int) string {
	const labelWidth, valueWidth = 15, 22
	l := fields[i]
	value := *l.value(&m.form.settings)
	if i != m.form.at {
		line := "  " + draw.Pad(l.label, labelWidth)
		if l.unused != nil && l.unused(m.form.settings) {
			return m.styles.Quiet.Render(line + "-")
		}
		if value == "" {
			return draw.Clip(line+m.styles.Quiet.Render(l.empty), m.width)
		}
		return draw.Clip(line+value, m.width)
	}
	shown := value
	if l.typed {
		shown += "_"
	} else {
		shown = fmt.Sprintf("< %s >", value)
	}
	if l.name == "chords" {
		// The end of a long chart is what is being typed.
		runes := []rune(shown)
		room := m.width - labelWidth - len("> ")
		return m.styles.Strong.Render("> " + draw.Pad(l.label, labelWidth) + string(runes[max(0, len(runes)-room):]))
	}
	line := "> " + draw.Pad(l.label, labelWidth) + draw.Pad(shown, valueWidth)
	if len([]rune(shown)) > valueWidth {
		line = "> " + draw.Pad(l.label, labelWidth) + shown
		return m.styles.Strong.Render(draw.Clip(line, m.width))
	}
	return m.styles.Strong.Render(line) + draw.Clip(l.hint, m.width-len("> ")-labelWidth-valueWidth)
}
