package command

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"larkhand/internal/delay"
	"larkhand/internal/practice"
	"larkhand/internal/sound"
)

// fullDesk has a second microphone, a speaker and a keyboard besides.
var fullDesk = sound.List{
	Microphones: append([]sound.Device{desk.Microphones[0]}, sound.Device{Name: "Shelf", System: "ALSA", Channels: 1, DefaultRate: 48000}),
	Speakers:    []sound.Device{{Name: "Loudspeaker", System: "ALSA", Default: true, Channels: 2, DefaultRate: 48000}},
	MIDIInputs:  []sound.Port{{Name: "Small Keys 20:0"}},
}

func fullKit(t *testing.T, change func(*deviceKit)) deviceKit {
	return deskKit(t, func(k *deviceKit) {
		k.list = func() (sound.List, error) { return fullDesk, nil }
		change(k)
	})
}

// clicks is a series in which n of six clicks were heard, 42.5 ms late.
func clicks(n int) delay.Series {
	s := delay.Series{Within: delay.Agreement, Level: -40}
	for i := range 6 {
		a := delay.Arrival{Seconds: math.NaN()}
		if i < n {
			a = delay.Arrival{Seconds: 0.0425 + 0.0001*float64(i), Confidence: 1}
		}
		s.Arrivals = append(s.Arrivals, a)
	}
	return s
}

func TestMeasuringASpeaker(t *testing.T) {
	var asked string
	kit := fullKit(t, func(k *deviceKit) {
		k.roundTrip = func(_ context.Context, microphone, speaker string, rate int, tell func(delay.Series)) (delay.Result, error) {
			asked = fmt.Sprint(microphone, " ", speaker, " ", rate)
			tell(clicks(6))
			tell(clicks(5))
			return delay.Result{Seconds: 0.0427, Spread: 0.0005, Series: 2}, nil
		}
	})
	out, err := runDevices(t, kit, "--measure", "--mic", "2")
	if err != nil || asked != "Shelf Loudspeaker 48000" {
		t.Fatalf("%v, asked for %q", err, asked)
	}
	for _, want := range []string{
		"  speaker     Loudspeaker\n  microphone  Shelf\n", "hold one of them to the microphone. Keep the volume\nlow: soft clicks follow", "Press Enter when you are ready",
		"series 1: 6 of 6 clicks heard, 42.8 ms, within 0.5 ms\nseries 2: 5 of 6 clicks heard, 42.7 ms, within 0.4 ms\n",
		"Sound takes 42.7 ms from speaker to microphone, within 0.5 ms.",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	if kept, err := delay.Load(kit.file); err != nil {
		t.Error(err)
	} else if k, ok := kept.RoundTrip("Shelf", "Loudspeaker"); !ok || k.Seconds != 0.0427 || k.Spread != 0.0005 || k.Measured.IsZero() {
		t.Errorf("kept %+v", kept)
	}
	if out, err := runDevices(t, kit); err != nil || !strings.Contains(out, "Measured delays\n    Loudspeaker to Shelf\n         42.7 ms, within 0.5 ms, measured ") {
		t.Errorf("the list then: %v\n%s", err, out)
	}
	if out, err := runDevices(t, kit, "--measure", "--json", "--now"); err != nil || out != `{"schema":"larkhand.delay/1","microphone":"Booth","speaker":"Loudspeaker","seconds":0.0427,"spread":0.0005,"series":2}`+"\n" {
		t.Errorf("JSON: %v, %s", err, out)
	}
	if out, err := runDevices(t, kit, "--forget"); err != nil || out != "The measured delays are forgotten.\n" {
		t.Errorf("forgetting: %v, %s", err, out)
	}
	if out, err := runDevices(t, kit, "--forget"); err != nil || out != "No measured delays are remembered.\n" {
		t.Errorf("forgetting again: %v, %s", err, out)
	}
}

func TestMeasuringAKeyboard(t *testing.T) {
	kit := fullKit(t, func(k *deviceKit) {
		k.keyboard = func(_ context.Context, port, microphone string, tell func(sound.Strike)) (delay.Result, error) {
			if port != "Small Keys 20:0" || microphone != "Booth" {
				t.Errorf("asked for %q, %q", port, microphone)
			}
			s := clicks(6)
			tell(sound.Strike{Number: 1})
			tell(sound.Strike{Number: 1, TooSoon: true})
			tell(sound.Strike{Number: 8, Series: &s})
			return delay.Result{Seconds: -0.003, Spread: 0.004, Series: 2}, nil
		}
	})
	out, err := runDevices(t, kit, "--measure-midi", "--now")
	want := "strike 1 of 8\ntoo soon after the one before; a little slower\n6 of 6 strikes heard, 42.8 ms, within 0.5 ms\nNotes of this keyboard come 3.0 ms before the sound of the key, within 4.0 ms."
	if err != nil || !strings.Contains(out, want) || strings.Contains(out, "Enter") {
		t.Errorf("%v\n%s", err, out)
	}
	kept, err := delay.Load(kit.file)
	if k, ok := kept.MIDI("Small Keys 28:0", "Booth"); err != nil || !ok || k.Seconds != -0.003 {
		t.Errorf("kept %+v, %v", kept, err)
	}
}

func TestMeasuringThatFails(t *testing.T) {
	failure := errors.New("the microphone is silent")
	fails := func(k *deviceKit) {
		k.roundTrip = func(context.Context, string, string, int, func(delay.Series)) (delay.Result, error) {
			return delay.Result{}, failure
		}
		k.keyboard = func(context.Context, string, string, func(sound.Strike)) (delay.Result, error) {
			return delay.Result{}, failure
		}
	}
	for name, c := range map[string]struct {
		change    func(*deviceKit)
		arguments []string
		want      string
		code      int
	}{
		"speaker":      {fails, []string{"--measure"}, "cannot measure the delay: the microphone is silent", exitCouldNot},
		"keyboard":     {fails, []string{"--measure-midi"}, "cannot measure the delay: the microphone is silent", exitCouldNot},
		"no such mic":  {fails, []string{"--measure", "--mic", "9"}, "there is no microphone number 9", exitCouldNot},
		"no speaker":   {func(k *deviceKit) { k.list = func() (sound.List, error) { return desk, nil } }, []string{"--measure"}, "there is no speaker", exitCouldNot},
		"no keyboard":  {func(k *deviceKit) { k.list = func() (sound.List, error) { return desk, nil } }, []string{"--measure-midi"}, "there is no MIDI input", exitCouldNot},
		"no device":    {func(k *deviceKit) { k.list = func() (sound.List, error) { return sound.List{}, nil } }, []string{"--measure"}, "there is no microphone", exitCouldNot},
		"JSON and ask": {fails, []string{"--measure", "--json"}, "add --now", exitWrongUse},
		"two at once":  {fails, []string{"--measure", "--forget"}, "do not go together", exitWrongUse},
		"bad delays":   {func(k *deviceKit) { k.file = os.DevNull + "/delays.toml" }, []string{"--measure"}, "cannot read the delays", exitCouldNot},
	} {
		t.Run(name, func(t *testing.T) {
			kit := fullKit(t, c.change)
			_, err := runDevices(t, kit, c.arguments...)
			if err == nil || !strings.Contains(err.Error(), c.want) || exitCode(err) != c.code {
				t.Errorf("%v, exit code %d; want %q, %d", err, exitCode(err), c.want, c.code)
			}
			if kept, err := delay.Load(kit.file); err == nil && !kept.Empty() {
				t.Errorf("kept %+v", kept)
			}
		})
	}
}

// given is a microphone or a port that gives what it holds, and then waits.
type given struct {
	blocks   []practice.Block
	messages []practice.Message
}

type givenMicrophone struct{ *given }
type givenPort struct{ *given }

func (givenMicrophone) Name() string { return "given" }
func (givenMicrophone) Rate() int    { return 16000 }
func (g givenMicrophone) Read(ctx context.Context) (practice.Block, error) {
	if len(g.blocks) == 0 {
		<-ctx.Done()
		return practice.Block{}, ctx.Err()
	}
	b := g.blocks[0]
	g.blocks = g.blocks[1:]
	return b, nil
}

func (givenPort) Name() string { return "given" }
func (g givenPort) Read(ctx context.Context) (practice.Message, error) {
	if len(g.messages) == 0 {
		<-ctx.Done()
		return practice.Message{}, ctx.Err()
	}
	m := g.messages[0]
	g.messages = g.messages[1:]
	return m, nil
}

// someSound is 1.2 s of a square wave at -20 dBFS and then an unplugged microphone; and a note and its end.
func someSound() *given {
	g := &given{messages: []practice.Message{{Time: 0.5, Bytes: [3]byte{0x90, 60, 84}, Size: 3}, {Time: 0.75, Bytes: [3]byte{0x80, 60, 0}, Size: 3}, {Time: 0.8, Status: practice.Gone}}}
	for i := range 120 {
		b := practice.Block{Time: float64(i) / 100, Samples: make([]float32, 160)}
		for k := range b.Samples {
			b.Samples[k] = 0.1 * float32(1-k/20%2*2) // 400 Hz
		}
		g.blocks = append(g.blocks, b)
	}
	g.blocks = append(g.blocks, practice.Block{Time: 1.2, Status: practice.Gone})
	return g
}

func monitorKit(t *testing.T, closed *int) deviceKit {
	return fullKit(t, func(k *deviceKit) {
		k.open = func(microphone, port string) (monitored, error) {
			g := someSound()
			return monitored{givenMicrophone{g}, givenPort{g}, func() { *closed++ }}, nil
		}
	})
}

func TestWatchingLineByLine(t *testing.T) {
	closed := 0
	out, err := runDevices(t, monitorKit(t, &closed), "--watch", "--plain", "--seconds", "0.3")
	for _, want := range []string{"    1.0 s  level -20 dBFS, peak -20 dBFS", "    0.5 s  C4 down, velocity 84, channel 1\n", "    0.8 s  C4 up, channel 1\n", "    1.2 s  the microphone is gone\n", "    0.8 s  the keyboard is gone\n"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	if err != nil || closed != 1 {
		t.Errorf("%v, closed %d times", err, closed)
	}
}

func TestWatchingAsJSON(t *testing.T) {
	closed := 0
	out, err := runDevices(t, monitorKit(t, &closed), "--watch", "--json", "--seconds", "0.3")
	if err != nil || closed != 1 {
		t.Fatalf("%v, closed %d times", err, closed)
	}
	kinds := map[string]int{}
	for line := range strings.Lines(out) {
		var m monitorLine
		if err := json.Unmarshal([]byte(line), &m); err != nil || m.Schema != monitorSchema {
			t.Fatalf("%v in %s", err, line)
		}
		switch {
		case m.Level != nil:
			kinds["level"]++
			if math.Abs(*m.Level+20) > 0.1 || math.Abs(*m.Peak+20) > 0.1 {
				t.Errorf("got %s", line)
			}
		case m.MIDI != "":
			kinds["midi "+m.MIDI]++
		case m.Device != "":
			kinds[m.Device+" "+m.Status]++
		}
	}
	for _, want := range []string{"level", "midi 90 3C 54", "midi 80 3C 00", "microphone gone", "keyboard gone"} {
		if kinds[want] != 1 {
			t.Errorf("%d of %q in\n%s", kinds[want], want, out)
		}
	}
}

func TestWatchingADeviceThatCannotBeOpened(t *testing.T) {
	taken := errors.New("cannot open the microphone")
	kit := fullKit(t, func(k *deviceKit) { k.open = func(string, string) (monitored, error) { return monitored{}, taken } })
	if _, err := runDevices(t, kit, "--watch", "--plain"); !errors.Is(err, taken) {
		t.Errorf("got %v", err)
	}
}

func TestMIDIInWords(t *testing.T) {
	for want, m := range map[string][]byte{
		"C4 down, velocity 84, channel 1": {0x90, 60, 84},
		"C4 up, channel 1":                {0x90, 60, 0},
		"A4 up, channel 16":               {0x8F, 69, 64},
		"C-1 pressed to 3, channel 1":     {0xA0, 0, 3},
		"sustain pedal down, channel 1":   {0xB0, 64, 64},
		"sustain pedal up, channel 1":     {0xB0, 64, 63},
		"modulation 20, channel 1":        {0xB0, 1, 20},
		"controller 20 at 5, channel 2":   {0xB1, 20, 5},
		"all notes off, channel 1":        {0xB0, 123, 0},
		"sound number 8, channel 1":       {0xC0, 7},
		"keys pressed to 9, channel 1":    {0xD0, 9},
		"pitch bend +0 %, channel 1":      {0xE0, 0, 64},
		"pitch bend -100 %, channel 1":    {0xE0, 0, 0},
		"pitch bend +50 %, channel 1":     {0xE0, 0, 96},
	} {
		var msg practice.Message
		msg.Size = copy(msg.Bytes[:], m)
		if got := midiWords(msg); got != want {
			t.Errorf("% X: %q, want %q", m, got, want)
		}
	}
}

// The monitor as it looks, with 80 and 60 columns.
func TestMonitorOnATerminal(t *testing.T) {
	level, peak := -20.0, -10.0
	m := monitorModel{mic: "Booth", port: "Small Keys", width: 80}
	m.take(monitorLine{Time: 1, Level: &level, Peak: &peak, Voice: true})
	m.take(monitorLine{Time: 1.2, MIDI: "90 3C 54", Words: "C4 down, velocity 84, channel 1"})
	const want = `
Microphone  Booth
  [================================       |        ]  -20 dBFS, peak  -10
   -60             -40             -20             0
  A voice is heard.

Keyboard    Small Keys
    1.2 s  C4 down, velocity 84, channel 1







q ends.  Delays: larkhand devices --measure, --measure-midi
`
	if got := m.View(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	for range 20 {
		m.take(monitorLine{Time: 2, Words: strings.Repeat("word ", 30)})
	}
	m.width = 60
	if lines := strings.Split(m.View(), "\n"); len(lines) != strings.Count(want, "\n")+1 {
		t.Errorf("%d lines", len(lines))
	} else {
		for _, line := range lines {
			if len(line) > 60 {
				t.Errorf("%d columns: %q", len(line), line)
			}
		}
	}
	m.take(monitorLine{Time: 3, Remark: "The microphone hums."})
	if !strings.Contains(m.View(), "  The microphone hums.\n") {
		t.Error("the remark is not shown")
	}
	m.take(monitorLine{Time: 4, Device: "microphone", Status: "gone"})
	if !strings.Contains(m.View(), "The microphone is gone") {
		t.Error("it is not shown that the microphone is gone")
	}
}
