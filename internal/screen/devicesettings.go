package screen

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/sound/synth"
	"larkhand/midiin"
)

// Words of the settings on devices.
const (
	noDevice     = "none"
	clickAlone   = "click"
	plainSounds  = "plain"
	pedalWord    = "pedal"
	listMark     = ";" // between the players' devices, whose names hold commas
	mostChannels = 64  // of a microphone; own choice: more than sound cards have
)

// backings are the parts of the loop by the names that settings and screens give them.
var backings = []struct {
	part round.Backing
	name string
}{{round.Bass, "bass"}, {round.Comping, "comping"}, {round.HiHat, "hi-hat"}, {round.Click, "click"}}

func (s Settings) readInstrument(out *round.Setup) (err error) {
	out.Instrument, err = midiin.ParseInstrument(s.Instrument)
	return err
}

func (s Settings) readVerdict(out *round.Setup) (err error) {
	out.VerdictBars, err = whole(s.Verdict, round.MaxVerdictBars)
	return err
}

func (s Settings) readVolume(*round.Setup) error {
	if strings.TrimSpace(s.Volume) == "" {
		return nil
	}
	_, err := volume(s.Volume)
	return err
}

// usualVolume is that of the first day, as it is written.
var usualVolume = fmt.Sprintf("%.0f", synth.StartVolume)

// volume reads dB below full.
func volume(text string) (float64, error) {
	db, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || math.IsNaN(db) || db < synth.MinVolume || db > synth.MaxVolume {
		return 0, fmt.Errorf("%q is no volume: write %.0f (silence) to %.0f dB, such as %.0f", text, synth.MinVolume, synth.MaxVolume, synth.StartVolume)
	}
	return db, nil
}

func (s Settings) readMuted(out *round.Setup) error {
	if strings.TrimSpace(s.Muted) != "" {
		for name := range strings.SplitSeq(s.Muted, ",") {
			i := slices.IndexFunc(backings, func(b struct {
				part round.Backing
				name string
			}) bool {
				return strings.EqualFold(b.name, strings.TrimSpace(name))
			})
			if i < 0 {
				return fmt.Errorf("%q is no part of the loop: write bass, comping, hi-hat or click, with commas between them", strings.TrimSpace(name))
			}
			out.Muted |= backings[i].part
		}
	}
	if s.Sound == clickAlone {
		out.Muted |= round.Bass | round.Comping | round.HiHat
	}
	return nil
}

// mutedText writes parts as readMuted reads them.
func mutedText(muted round.Backing) string {
	var out []string
	for _, b := range backings {
		if muted&b.part != 0 {
			out = append(out, b.name)
		}
	}
	return strings.Join(out, ", ")
}

// listed reads what is given for each player; nil where it is given for all of them.
func listed(text string, players int, what string) ([]string, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	var out []string
	for item := range strings.SplitSeq(text, listMark) {
		out = append(out, strings.TrimSpace(item))
	}
	if players = max(1, players); len(out) > 1 && len(out) != players {
		noun := "players"
		if players == 1 {
			noun = "player"
		}
		return nil, fmt.Errorf("%d %s for %d %s: give one for all, or one for each with ; between them", len(out), what, players, noun)
	}
	return out, nil
}

func (s Settings) readChannels(out *round.Setup) error {
	channels, err := listed(s.Channels, len(out.Players), "microphone channels")
	if err != nil || channels == nil {
		return err
	}
	for i, text := range channels {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > mostChannels {
			return fmt.Errorf("%q is no channel of a microphone: write 1 to %d", text, mostChannels)
		}
		if len(out.Players) == 0 {
			out.Players = []round.Person{{}}
		}
		for k := range out.Players {
			if len(channels) == 1 || k == i {
				out.Players[k].Microphone = fmt.Sprintf("channel %d", n)
			}
		}
	}
	return nil
}

func (s Settings) readMIDI(out *round.Setup) error {
	ports, err := listed(s.MIDI, len(out.Players), "MIDI ports")
	if err != nil || len(ports) < 2 {
		return err
	}
	for i, name := range ports {
		if name == "" {
			return errors.New("a MIDI port has no name: write names with ; between them, one for each player")
		}
		out.Players[i].Keyboard = name
	}
	return nil
}

func (s Settings) readGoOn(out *round.Setup) error {
	text := strings.TrimSpace(s.GoOn)
	switch {
	case text == "":
		return nil
	case strings.EqualFold(text, pedalWord):
		out.GoOnPedal = true
		return nil
	}
	key, ok := midiKey(text)
	if !ok || key < 1 || key > 127 {
		return fmt.Errorf("%q does not go on: write pedal, a key such as C2 or 36, or nothing", text)
	}
	out.GoOnKey = key
	return nil
}

// midiKey reads a key as a number or as letter and octave; C4 is 60.
func midiKey(text string) (int, bool) {
	if n, err := strconv.Atoi(text); err == nil {
		return n, true
	}
	const letters = "C D EF G A B"
	at := strings.IndexByte(letters, strings.ToUpper(text)[0])
	if at < 0 || text[0] == ' ' {
		return 0, false
	}
	rest := text[1:]
	switch {
	case strings.HasPrefix(rest, "#"):
		at, rest = at+1, rest[1:]
	case strings.HasPrefix(rest, "b"):
		at, rest = at-1, rest[1:]
	}
	octave, err := strconv.Atoi(rest)
	const semitones, lowest = 12, -1
	return at + semitones*(octave-lowest), err == nil && octave >= lowest && octave <= 9
}

// goOnText writes what goes on, as readGoOn reads it.
func goOnText(key int, pedal bool) string {
	switch {
	case pedal:
		return pedalWord
	case key > 0:
		return music.Key{}.Letter(key).String()
	}
	return ""
}
