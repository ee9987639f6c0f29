package round

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"larkhand/voice"
)

// Bounds of what counts as a take. All are own choices, set where a player can do something about it.
const (
	shortestTake = 0.3   // s; a phrase of three fast notes is longer
	silence      = -70.0 // dBFS; below lie the hiss of a good microphone amplifier and the last bits of 16-bit files
	quietVoice   = -50.0 // dBFS; a voice at arm's length at a sensible gain lies 20 dB above
	noisyBelow   = 15.0  // dB between voice and background under which soft notes begin to be lost
	// One voice alone has a clarity of 0.95 and more (23 clips of amateurs and of solo singers); two singers at once 0.80
	// to 0.96; chords of two to five synthesized notes, with and without drums, 0 to 0.43.
	oneVoice    = 0.9 // from here on nothing is said
	severalLike = 0.5 // below, the take is refused
	background  = 0.2 // quantile of the level outside the notes that counts as the background
	leastRest   = 30  // frames outside the notes (0.3 s) from which their level is judged
)

// CheckTake refuses a take that holds no phrase, in one sentence that begins with name and says what would work. What
// was remarked when the file was read follows in brackets, since it may be the reason.
func CheckTake(take Take, name string) error {
	trouble := troubleWith(take)
	if trouble == "" {
		return nil
	}
	text := name + " " + trouble
	if len(take.Remarks) > 0 && trouble != silent {
		known := strings.TrimPrefix(strings.Join(take.Remarks, " "), take.File+": ")
		text += " (" + strings.TrimSuffix(known, ".") + ")"
	}
	return errors.New(text)
}

// silent is the trouble that needs no further reason.
const silent = "is silent: check that the microphone is on and chosen, then sing again"

// troubleWith says why a take holds no phrase, "" where it does.
func troubleWith(take Take) string {
	v := take.Voice
	switch {
	case take.Written && len(v.Notes) == 0:
		return "holds no notes: name a MIDI file with the phrase, or a recording of it"
	case take.Written:
		return ""
	case v.Duration < shortestTake:
		return fmt.Sprintf("is too short (%.2f s) to hold a phrase: record from before the first note until after the last", v.Duration)
	case loudest(v.Frames) < silence:
		return silent
	case v.Clarity < severalLike && len(v.Notes) > 0:
		return "does not sound like one voice alone: record the voice without other singers, instruments or a backing in the microphone"
	case len(v.Notes) == 0:
		return "holds no singing that can be told from noise: sing or hum closer to the microphone, in a quiet room"
	}
	return ""
}

// loudest is the highest level of the frames, dBFS.
func loudest(frames []voice.Frame) float64 {
	level := math.Inf(-1)
	for _, f := range frames {
		level = math.Max(level, f.Level)
	}
	return level
}

// soundRemarks says what the player can mend in the sound of a take that has notes.
func soundRemarks(take voice.Take) []string {
	if len(take.Notes) == 0 {
		return nil
	}
	var levels []float64
	for _, n := range take.Notes {
		levels = append(levels, n.Level)
	}
	voiceLevel := median(levels)
	var out []string
	if voiceLevel < quietVoice {
		out = append(out, fmt.Sprintf("The voice is very quiet (%.0f dBFS): turn the microphone up or come closer.", voiceLevel))
	}
	if take.Clarity < oneVoice {
		out = append(out, "Something else sounds with the voice, so notes may be wrong: record one voice alone.")
	}
	if floor, ok := backgroundLevel(take); ok && voiceLevel-floor < noisyBelow {
		out = append(out, fmt.Sprintf("The background is only %.0f dB softer than the voice: soft notes may be missed; find a quieter place or come closer.",
			math.Max(voiceLevel-floor, 0)))
	}
	return out
}

// backgroundLevel is the level between the notes, dBFS; ok is false where there is too little between them to tell.
func backgroundLevel(take voice.Take) (level float64, ok bool) {
	var outside []float64
	next := 0
	for _, f := range take.Frames {
		for next < len(take.Notes) && take.Notes[next].Offset <= f.Time {
			next++
		}
		if next == len(take.Notes) || f.Time < take.Notes[next].Onset {
			outside = append(outside, f.Level)
		}
	}
	if len(outside) < leastRest {
		return 0, false
	}
	slices.Sort(outside)
	return outside[int(background*float64(len(outside)))], true
}
