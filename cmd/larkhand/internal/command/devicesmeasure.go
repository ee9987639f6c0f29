package command

import (
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"larkhand/internal/delay"
	"larkhand/internal/sound"
)

const speakerGuide = `Measuring how long sound takes from the speaker back to the microphone.

  speaker     %s
  microphone  %s

Take headphones off, and hold one of them to the microphone. Keep the volume
low: soft clicks follow, for about ten seconds. Be quiet until they are over.
`

const keyboardGuide = `Measuring how late the notes of the keyboard come.

  keyboard    %s
  microphone  %s

Lay the microphone beside the keys. Turn the keyboard's own sound off, or keep
it low. Then strike one key %d times, firmly and about once a second; and as
often once more. The microphone hears each strike. How long a key takes from its
contact to its knock differs from keyboard to keyboard, so this is known to a
few milliseconds only.
`

// measureSpeaker measures and remembers the delay from speaker to microphone.
func (l *lookingAt) measureSpeaker(cmd *cobra.Command, found sound.List) error {
	mic, err := found.Microphone(l.mic)
	if err != nil {
		return err
	}
	speaker, err := found.Speaker(l.speaker)
	if err != nil {
		return err
	}
	if err := l.ready(cmd, fmt.Sprintf(speakerGuide, speaker.Name, mic.Name)); err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	number := 0
	unhush := l.kit.hush()
	r, err := l.kit.roundTrip(cmd.Context(), mic.Name, speaker.Name, chosen{microphone: mic, speaker: speaker}.rateOf(), func(s delay.Series) {
		number++
		l.say(out, "series %d: %s\n", number, seriesWords(s, "clicks"))
	})
	unhush()
	if err != nil {
		return cannotMeasure(cmd, err)
	}
	if err := l.keep(found.Delays, r, func(s *delay.Store, k delay.Kept) { s.KeepRoundTrip(mic.Name, speaker.Name, k) }); err != nil {
		return err
	}
	l.say(out, "Sound takes %.1f ms from speaker to microphone, within %.1f ms. This is remembered for these two devices.\n", msPerSecond*r.Seconds, msPerSecond*r.Spread)
	return l.sayJSON(out, measuredDocument{Schema: delaySchema, Microphone: mic.Name, Speaker: speaker.Name, Seconds: r.Seconds, Spread: r.Spread, Series: r.Series})
}

// measureKeyboard measures and remembers the delay of the keyboard.
func (l *lookingAt) measureKeyboard(cmd *cobra.Command, found sound.List) error {
	mic, err := found.Microphone(l.mic)
	if err != nil {
		return err
	}
	port, err := found.MIDIInput(l.midi)
	if err != nil {
		return err
	}
	if err := l.ready(cmd, fmt.Sprintf(keyboardGuide, port.Name, mic.Name, sound.SeriesStrikes)); err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	unhush := l.kit.hush()
	r, err := l.kit.keyboard(cmd.Context(), port.Name, mic.Name, func(s sound.Strike) {
		switch {
		case s.Series != nil:
			l.say(out, "%s\n", seriesWords(*s.Series, "strikes"))
		case s.TooSoon:
			l.say(out, "too soon after the one before; a little slower\n")
		default:
			l.say(out, "strike %d of %d\n", s.Number, sound.SeriesStrikes)
		}
	})
	unhush()
	if err != nil {
		return cannotMeasure(cmd, err)
	}
	if err := l.keep(found.Delays, r, func(s *delay.Store, k delay.Kept) { s.KeepMIDI(port.Name, mic.Name, k) }); err != nil {
		return err
	}
	l.say(out, "Notes of this keyboard come %.1f ms %s the sound of the key, within %.1f ms. This is remembered for these two devices.\n",
		msPerSecond*max(r.Seconds, -r.Seconds), beforeOrAfter(r.Seconds), msPerSecond*r.Spread)
	return l.sayJSON(out, measuredDocument{Schema: delaySchema, Microphone: mic.Name, Port: port.Name, Seconds: r.Seconds, Spread: r.Spread, Series: r.Series})
}

const msPerSecond = 1000

func beforeOrAfter(seconds float64) string {
	if seconds < 0 {
		return "before"
	}
	return "after"
}

// cannotMeasure is a failure with what failed before it, but for one that the player asked for.
func cannotMeasure(cmd *cobra.Command, err error) error {
	if cmd.Context().Err() != nil {
		return cmd.Context().Err()
	}
	return fmt.Errorf("cannot measure the delay: %w", err)
}

// seriesWords says what a series gave.
func seriesWords(s delay.Series, what string) string {
	seconds, spread, heard, fault := s.Estimate()
	text := fmt.Sprintf("%d of %d %s heard", heard, len(s.Arrivals), what)
	switch fault {
	case delay.None:
		return fmt.Sprintf("%s, %.1f ms, within %.1f ms", text, msPerSecond*seconds, msPerSecond*spread)
	case delay.Silent:
		return text + ", the microphone is silent"
	case delay.Clipped:
		return text + ", the microphone is clipped"
	case delay.Unsteady:
		return fmt.Sprintf("%s, but %.0f ms apart", text, msPerSecond*spread)
	}
	return text
}

// delaySchema is the name and version of what a measurement prints as JSON.
const delaySchema = "larkhand.delay/1"

type measuredDocument struct {
	Schema     string  `json:"schema"`
	Microphone string  `json:"microphone"`
	Speaker    string  `json:"speaker,omitempty"`
	Port       string  `json:"port,omitempty"`
	Seconds    float64 `json:"seconds"`
	Spread     float64 `json:"spread"` // s between the estimates that agree
	Series     int     `json:"series"` // that it took
}

// say writes a line of progress, which JSON has none of. Where it cannot be written the result cannot either, which then says so.
func (l *lookingAt) say(w io.Writer, format string, args ...any) {
	if !l.asJSON {
		fmt.Fprintf(w, format, args...)
	}
}

func (l *lookingAt) sayJSON(w io.Writer, document any) error {
	if !l.asJSON {
		return nil
	}
	return json.NewEncoder(w).Encode(document)
}
