package command

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"larkhand/internal/delay"
	"larkhand/internal/practice"
	"larkhand/internal/sound"
)

// deviceKit is what the devices command works with: the devices of this machine, or what a test puts in their place.
type deviceKit struct {
	list      func() (sound.List, error)
	open      func(microphone, port string) (monitored, error)
	roundTrip func(ctx context.Context, microphone, speaker string, rate int, tell func(delay.Series)) (delay.Result, error)
	keyboard  func(ctx context.Context, port, microphone string, tell func(sound.Strike)) (delay.Result, error)
	hush      func() (unhush func() string)
	file      string // of remembered delays
}

// monitored is what is open for the monitor. Keys is nil without a MIDI port.
type monitored struct {
	mic   practice.Microphone
	keys  practice.MIDIPort
	close func()
}

// theDevices are those of this machine.
func theDevices() deviceKit {
	return deviceKit{
		list: sound.Devices, open: openMonitored, roundTrip: sound.MeasureRoundTrip, keyboard: sound.MeasureKeyboard, hush: sound.Hush, file: delay.File(),
	}
}

// openMonitored opens a microphone and, if it is named, a MIDI port.
func openMonitored(microphone, port string) (m monitored, err error) {
	stream, err := sound.OpenStream(sound.StreamConfig{Microphone: microphone, Speaker: sound.NoDevice})
	if err != nil {
		return m, err
	}
	m.close = func() { stream.Close() }
	if m.mic, err = stream.Microphone(microphone); err == nil && port != "" {
		var keys *sound.MIDIInput
		if keys, err = sound.OpenMIDI(port, stream); err == nil {
			m.keys = keys
			m.close = func() { keys.Close(); stream.Close() }
		}
	}
	if err != nil {
		m.close()
	}
	return m, err
}

// lookingAt is the flags of the devices command.
type lookingAt struct {
	kit                               deviceKit
	mic, speaker, midi, logPath       string
	asJSON, plain, watch              bool
	measure, measureMIDI, now, forget bool
	seconds                           float64
}

func newDevices(kit deviceKit) *cobra.Command {
	l := lookingAt{kit: kit}
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "List, watch and measure microphones, speakers and MIDI ports",
		Long: `List the microphones, speakers and MIDI ports of this machine, with channels,
sampling rates and the latency that each device suggests. A machine that has none
is told so and is no error: the exit code is 0. It is 1 where the devices could
not be asked for, or where this build of larkhand has no devices.

On a terminal the level of the microphone and what comes from the keyboard are
shown after the list, until q or Ctrl-C; --plain leaves that out. --watch shows it
line by line where there is no terminal, or with --plain or --json.

--measure plays soft clicks and finds them in the microphone: so the delay from
speaker to microphone is known, and what is sung lies where it was sung over the
loop. --measure-midi listens to keys being struck, with the microphone and the MIDI
port: so a played note lies where it was played. Both are remembered for each pair
of devices; --forget forgets them all.`,
		Example: `  larkhand devices
  larkhand devices --json
  larkhand devices --watch --plain --mic 2 --midi "Small Keyboard" --seconds 10
  larkhand devices --measure
  larkhand devices --measure-midi`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return l.run(cmd) },
	}
	f := cmd.Flags()
	f.BoolVar(&l.asJSON, "json", false, "print JSON (schema "+sound.Schema+"; with --watch one object a line, schema "+monitorSchema+")")
	f.BoolVar(&l.plain, "plain", false, "line by line, for a screen reader or a pipe")
	f.StringVar(&l.logPath, "log", "", "write what the sound libraries complained of to this `file`")
	f.StringVar(&l.mic, "mic", "", "`microphone`: its number or name in the list, or a part of it")
	f.StringVar(&l.speaker, "speaker", "", "`speaker`, likewise")
	f.StringVar(&l.midi, "midi", "", "MIDI `port`, likewise")
	f.BoolVar(&l.watch, "watch", false, "show the microphone's level and the keyboard's messages until Ctrl-C")
	f.Float64Var(&l.seconds, "seconds", 0, "end --watch after so many `seconds`")
	f.BoolVar(&l.measure, "measure", false, "measure the delay from the speaker to the microphone")
	f.BoolVar(&l.measureMIDI, "measure-midi", false, "measure the delay of the keyboard")
	f.BoolVar(&l.now, "now", false, "measure without waiting for Enter")
	f.BoolVar(&l.forget, "forget", false, "forget all measured delays")
	jobs := []string{"watch", "measure", "measure-midi", "forget"}
	for i, a := range jobs {
		for _, b := range jobs[i+1:] {
			exclusive(cmd, a, b)
		}
	}
	return cmd
}

func (l *lookingAt) run(cmd *cobra.Command) error {
	if l.seconds < 0 {
		return wrongUse("--seconds %g lies in the past; give how long to watch, as in --seconds 10", l.seconds)
	}
	out := cmd.OutOrStdout()
	if l.forget {
		return l.forgetDelays(out)
	}
	found, err := l.kit.list()
	if l.logPath != "" {
		write := func(w io.Writer) error { _, err := io.WriteString(w, found.Log); return err }
		if err := writeFile(l.logPath, nil, write); err != nil {
			return err
		}
	}
	if err != nil && found.Empty() {
		return err
	}
	if found.Delays, err = l.remembered(err); err != nil && (l.measure || l.measureMIDI) {
		return err
	}
	switch {
	case l.measure:
		return l.measureSpeaker(cmd, found)
	case l.measureMIDI:
		return l.measureKeyboard(cmd, found)
	case l.watch:
		return errors.Join(l.monitor(cmd, found), err)
	}
	if err := errors.Join(l.show(out, found), err); err != nil {
		return err
	}
	if l.asJSON || l.plain || len(found.Microphones) == 0 || !isTerminal(out) || !isTerminalReader(cmd.InOrStdin()) || os.Getenv("TERM") == "dumb" {
		return nil
	}
	return l.monitor(cmd, found)
}

// remembered are the measured delays, with what went wrong before.
func (l *lookingAt) remembered(before error) (delay.Store, error) {
	s, err := delay.Load(l.kit.file)
	return s, errors.Join(before, err)
}

func (l *lookingAt) show(w io.Writer, found sound.List) error {
	if l.asJSON {
		return found.JSON(w)
	}
	return found.Text(w)
}

// forgetDelays removes the file of delays, whatever is in it.
func (l *lookingAt) forgetDelays(w io.Writer) error {
	switch err := os.Remove(l.kit.file); {
	case errors.Is(err, os.ErrNotExist):
		_, err := fmt.Fprintln(w, "No measured delays are remembered.")
		return err
	case err != nil:
		return fmt.Errorf("cannot forget the delays in %s: %w", l.kit.file, plainCause(err))
	}
	_, err := fmt.Fprintln(w, "The measured delays are forgotten.")
	return err
}

// isTerminalReader says whether keys are read from a terminal.
func isTerminalReader(r io.Reader) bool {
	f, ok := r.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// ready says what is to be done and waits until the player has done it.
func (l *lookingAt) ready(cmd *cobra.Command, guide string) error {
	if l.asJSON && !l.now {
		return wrongUse("--json cannot ask whether you are ready; add --now")
	}
	if l.asJSON {
		return nil
	}
	if !l.now {
		guide += "\nPress Enter when you are ready, Ctrl-C to leave it: "
	}
	if _, err := io.WriteString(cmd.OutOrStdout(), guide); err != nil || l.now {
		return err
	}
	answered := make(chan error, 1)
	go func() {
		_, err := bufio.NewReader(cmd.InOrStdin()).ReadString('\n')
		answered <- err
	}()
	select {
	case err := <-answered:
		if err != nil {
			return errors.New("nobody pressed Enter; add --now to measure without it")
		}
		return nil
	case <-cmd.Context().Done():
		return cmd.Context().Err()
	}
}

// keep remembers a delay, which put has put into the store.
func (l *lookingAt) keep(store delay.Store, r delay.Result, put func(*delay.Store, delay.Kept)) error {
	put(&store, delay.Kept{Seconds: r.Seconds, Spread: r.Spread, Measured: time.Now().Truncate(time.Second)})
	return store.Save(l.kit.file)
}
