package command

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/practice"
	"larkhand/internal/sound"
)

// monitorSchema is the name and version of the lines that --watch --json prints.
const monitorSchema = "larkhand.monitor/1"

// monitorLine is one line of --watch --json. A line holds a level, a remark, a message, or a change of a device.
type monitorLine struct {
	Schema  string   `json:"schema"`
	Time    float64  `json:"time"`              // s since the devices were opened
	Level   *float64 `json:"level,omitempty"`   // dBFS of the mean square now, at least -90
	Peak    *float64 `json:"peak,omitempty"`    // dBFS of the highest sample of the last seconds, at least -90
	Clipped bool     `json:"clipped,omitempty"` // in the last seconds
	Voice   bool     `json:"voice,omitempty"`   // a voice is heard
	Remark  string   `json:"remark,omitempty"`  // what is wrong with the sound, and what helps
	MIDI    string   `json:"midi,omitempty"`    // the bytes, in hexadecimal: "90 3C 54"
	Words   string   `json:"words,omitempty"`   // the same in words
	Device  string   `json:"device,omitempty"`  // "microphone" or "keyboard"
	Status  string   `json:"status,omitempty"`  // of that device: "gone" or "back"
}

// text is the line in words.
func (m monitorLine) text() string {
	switch {
	case m.Level != nil:
		text := fmt.Sprintf("level %.0f dBFS, peak %.0f dBFS", *m.Level, *m.Peak)
		if m.Clipped {
			text += ", clipped"
		}
		if m.Voice {
			text += ", voice"
		}
		return text
	case m.Remark != "":
		return m.Remark
	case m.Words != "":
		return m.Words
	}
	return fmt.Sprintf("the %s is %s", m.Device, m.Status)
}

// How often the level is told, s.
const (
	lineEvery   = 1.0
	screenEvery = 0.1
)

// monitor shows level and messages until the context or the time ends.
func (l *lookingAt) monitor(cmd *cobra.Command, found sound.List) error {
	mic, err := found.Microphone(l.mic)
	if err != nil {
		return err
	}
	var port sound.Port
	if l.midi != "" || len(found.MIDIInputs) > 0 {
		if port, err = found.MIDIInput(l.midi); err != nil {
			return err
		}
	}
	ctx, cancel := context.WithCancel(cmd.Context())
	if l.seconds > 0 {
		ctx, cancel = context.WithTimeout(cmd.Context(), time.Duration(l.seconds*float64(time.Second)))
	}
	defer cancel()
	defer l.kit.hush()()
	opened, err := l.kit.open(mic.Name, port.Name)
	if err != nil {
		return err
	}
	defer opened.close()
	out := cmd.OutOrStdout()
	if l.asJSON || l.plain || !isTerminal(out) || !isTerminalReader(cmd.InOrStdin()) || os.Getenv("TERM") == "dumb" {
		return l.monitorLines(ctx, out, opened)
	}
	return monitorScreen(ctx, cmd.InOrStdin(), out, mic.Name, port.Name, opened)
}

// monitorLines prints a line for everything that comes.
func (l *lookingAt) monitorLines(ctx context.Context, w io.Writer, opened monitored) error {
	var lock sync.Mutex
	encoder := json.NewEncoder(w)
	return watch(ctx, opened, lineEvery, func(m monitorLine) error {
		lock.Lock()
		defer lock.Unlock()
		if l.asJSON {
			return encoder.Encode(m)
		}
		_, err := fmt.Fprintf(w, "%7.1f s  %s\n", m.Time, m.text())
		return err
	})
}

// watch hands over everything that comes from the devices, until ctx ends, which is no error, or show fails. show is called by two goroutines.
func watch(ctx context.Context, opened monitored, every float64, show func(monitorLine) error) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var watching sync.WaitGroup
	start := func(f func() error) {
		watching.Go(func() {
			if err := f(); err != nil && ctx.Err() == nil {
				cancel(err)
			}
		})
	}
	start(func() error { return watchMicrophone(ctx, opened.mic, every, show) })
	if opened.keys != nil {
		start(func() error { return watchKeys(ctx, opened.keys, show) })
	}
	watching.Wait()
	if err := context.Cause(ctx); err != nil && !errors.Is(err, context.Canceled) && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return nil
}

func watchMicrophone(ctx context.Context, mic practice.Microphone, every float64, show func(monitorLine) error) error {
	meter, err := practice.NewMeter(mic.Rate())
	if err != nil {
		return err
	}
	next := math.Inf(-1)
	for {
		b, err := mic.Read(ctx)
		if err != nil {
			return err
		}
		if b.Status != practice.Fine {
			if err := show(change(b.Time, "microphone", b.Status)); err != nil {
				return err
			}
		}
		for _, r := range meter.Hear(b) {
			if err := show(monitorLine{Schema: monitorSchema, Time: b.Time, Remark: r.Text}); err != nil {
				return err
			}
		}
		if math.IsInf(next, -1) {
			next = b.Time + every
		}
		if b.Time < next {
			continue
		}
		next = b.Time + every
		level, peak := round2(meter.Level()), round2(meter.Peak())
		if err := show(monitorLine{Schema: monitorSchema, Time: b.Time, Level: &level, Peak: &peak, Clipped: meter.Clipped(), Voice: meter.Voice()}); err != nil {
			return err
		}
	}
}

// round2 keeps two decimals of a level.
func round2(x float64) float64 { return math.Round(100*x) / 100 }

func watchKeys(ctx context.Context, keys practice.MIDIPort, show func(monitorLine) error) error {
	for {
		m, err := keys.Read(ctx)
		if err != nil {
			return err
		}
		line := monitorLine{Schema: monitorSchema, Time: m.Time}
		if m.Status != practice.Fine {
			line = change(m.Time, "keyboard", m.Status)
		} else {
			line.MIDI, line.Words = fmt.Sprintf("% X", m.Bytes[:m.Size]), midiWords(m)
		}
		if err := show(line); err != nil {
			return err
		}
	}
}

func change(at float64, device string, status practice.Status) monitorLine {
	word := "gone"
	if status == practice.Back {
		word = "back"
	}
	return monitorLine{Schema: monitorSchema, Time: at, Device: device, Status: word}
}
