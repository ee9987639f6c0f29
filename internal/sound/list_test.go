package sound

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode"

	"pgregory.net/rapid"

	"larkhand/internal/delay"
)

// desk is an invented machine: a microphone held by another program, two speakers, one keyboard.
var desk = List{
	Microphones: []Device{{Name: "Booth", System: "Core Audio", Default: true, Channels: 2, DefaultRate: 48000, LatencyLow: 0.01, LatencyHigh: 0.1}},
	Speakers: []Device{
		{Name: "Headphones", System: "Core Audio", Default: true, Channels: 2, Rates: []float64{48000}, DefaultRate: 48000, LatencyLow: 0.0027, LatencyHigh: 0.0027},
		{Name: "Screen", System: "Core Audio", Channels: 8, Rates: UsualRates(), DefaultRate: 48000, LatencyLow: 0, LatencyHigh: 0.02},
	},
	MIDIInputs:  []Port{{"Keys"}},
	MIDIOutputs: []Port{{"Keys"}, {"Rack"}},
	Remarks:     []string{"the rack is cold"},
	Log:         "a library complained",
}

func text(t *testing.T, l List) string {
	t.Helper()
	var b strings.Builder
	if err := l.Text(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestTextOfAFullDesk(t *testing.T) {
	const want = `Microphones
  * 1  Booth
         Core Audio, 2 channels, latency 10.0 to 100.0 ms
         48000 Hz by default (not free now: another program may hold it)

Speakers
  * 1  Headphones
         Core Audio, 2 channels, latency 2.7 ms
         48000 Hz
    2  Screen
         Core Audio, 8 channels, latency 0.0 to 20.0 ms
         16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000 Hz (48000)

MIDI inputs
    1  Keys

MIDI outputs
    1  Keys
    2  Rack

* is taken where none is named.
Note: the rack is cold.
`
	if got := text(t, desk); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestTextFitsTheTerminal(t *testing.T) {
	const columns = 80
	for line := range strings.Lines(text(t, desk)) {
		if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > columns {
			t.Errorf("%d columns: %q", n, line)
		}
	}
}

func TestTextOfAnEmptyMachine(t *testing.T) {
	const want = "No microphone, speaker or MIDI port was found; plug one in and ask again.\nNote: the kernel is small.\n"
	if got := text(t, List{Remarks: []string{"the kernel is small"}}); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// No name that a device gives itself reaches the terminal as a control sequence, or breaks a line.
func TestTextKeepsNamesHarmless(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		name := string(rapid.SliceOf(rapid.Byte()).Draw(r, "name"))
		plain := List{Microphones: []Device{{Name: "x", System: "x"}}, MIDIInputs: []Port{{"x"}}}
		odd := List{Microphones: []Device{{Name: name, System: name}}, MIDIInputs: []Port{{name}}}
		got := text(t, odd)
		if n, want := strings.Count(got, "\n"), strings.Count(text(t, plain), "\n"); n != want {
			r.Fatalf("%d lines, want %d: %q", n, want, got)
		}
		for _, c := range got {
			if c != '\n' && !unicode.IsPrint(c) {
				r.Fatalf("%q in %q", c, got)
			}
		}
	})
}

func TestJSON(t *testing.T) {
	const want = `{"schema":"larkhand.devices/1",` +
		`"microphones":[{"name":"Booth","system":"Core Audio","default":true,"channels":2,"rates":[],"default_rate":48000,"latency_low":0.01,"latency_high":0.1}],` +
		`"speakers":[{"name":"Screen","system":"Core Audio","default":false,"channels":8,"rates":[44100,48000],"default_rate":48000,"latency_low":0,"latency_high":0.02}],` +
		`"midi_inputs":[{"name":"Keys"}],"midi_outputs":[],"delays":[],"remarks":["the rack is cold"]}` + "\n"
	l := desk
	screen := desk.Speakers[1]
	screen.Rates = []float64{44100, 48000}
	l.Speakers, l.MIDIOutputs = []Device{screen}, nil
	var b strings.Builder
	if err := l.JSON(&b); err != nil {
		t.Fatal(err)
	}
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

func TestJSONOfNothingHasNoNull(t *testing.T) {
	var b strings.Builder
	if err := (List{}).JSON(&b); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "null") || !json.Valid([]byte(b.String())) {
		t.Errorf("got %s", b.String())
	}
}

func TestMeasuredDelaysAreShown(t *testing.T) {
	var l List
	day := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	l.Delays.KeepRoundTrip("Booth", "Shelf", delay.Kept{Seconds: 0.04252, Spread: 0.0003, Measured: day})
	l.Delays.KeepMIDI("Keys 20:0", "Booth", delay.Kept{Seconds: -0.0031, Spread: 0.004, Measured: day})
	const want = "\nMeasured delays\n    Shelf to Booth\n         42.5 ms, within 0.3 ms, measured 4 March 2026\n" +
		"    Keys against Booth\n         -3.1 ms, within 4.0 ms, measured 4 March 2026\n"
	if got := text(t, l); !strings.HasSuffix(got, want) {
		t.Errorf("got %q, want at its end %q", got, want)
	}
	var b strings.Builder
	if err := l.JSON(&b); err != nil {
		t.Fatal(err)
	}
	const wantJSON = `"delays":[{"microphone":"Booth","speaker":"Shelf","seconds":0.04252,"spread":0.0003,"measured":"2026-03-04T05:06:07Z"},` +
		`{"microphone":"Booth","port":"Keys","seconds":-0.0031,"spread":0.004,"measured":"2026-03-04T05:06:07Z"}]`
	if !strings.Contains(b.String(), wantJSON) {
		t.Errorf("got %s, want in it %s", b.String(), wantJSON)
	}
}

func TestEmpty(t *testing.T) {
	cases := map[string]struct {
		list List
		want bool
	}{
		"nothing":      {List{}, true},
		"only remarks": {List{Remarks: []string{"cold"}, Log: "cold"}, true},
		"a microphone": {List{Microphones: make([]Device, 1)}, false},
		"a speaker":    {List{Speakers: make([]Device, 1)}, false},
		"an input":     {List{MIDIInputs: make([]Port, 1)}, false},
		"an output":    {List{MIDIOutputs: make([]Port, 1)}, false},
	}
	for name, c := range cases {
		if got := c.list.Empty(); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
