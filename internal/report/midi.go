package report

import (
	"io"
	"math"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/voice"
)

// The clock of a written MIDI file: 960 ticks a quarter note at 120 quarter notes a minute make 1920 ticks a second, so a
// time is written to 0.3 ms.
const (
	ticksPerQuarter = 960
	fileTempo       = 120.0 // quarter notes a minute
	ticksPerSecond  = ticksPerQuarter * fileTempo / 60
)

// How level becomes velocity: the loudest note of the take gets the highest velocity, each dB below it takes some away (own
// choice: a phrase sung 12 dB apart then spans pp to f).
const (
	highestVelocity = 112
	lowestVelocity  = 16
	velocityPerDB   = 4
)

// MIDI writes the sung notes as a Standard MIDI File, format 0, one track, channel 1: each note at its tempered pitch with its own
// onset and offset. The deviations in cents are not written: the file is for notation and for playing along.
func MIDI(w io.Writer, notes []voice.Note) error {
	var track smf.Track
	track.Add(0, smf.MetaTempo(fileTempo))
	loudest := math.Inf(-1)
	for _, n := range notes {
		loudest = math.Max(loudest, n.Level) // NaN, of a written note, stays NaN and gives the highest velocity
	}
	now := uint32(0)
	at := func(time float64) (delta uint32) {
		ticks := max(uint32(math.Round(math.Max(time, 0)*ticksPerSecond)), now)
		delta, now = ticks-now, ticks
		return delta
	}
	for _, n := range notes {
		const lowest, highest = 0, 127
		key := uint8(min(max(n.Semitone, lowest), highest))
		track.Add(at(n.Onset), midi.NoteOn(0, key, velocity(loudest-n.Level)))
		track.Add(at(n.Offset), midi.NoteOff(0, key))
	}
	track.Close(0)
	file := smf.New()
	file.TimeFormat = smf.MetricTicks(ticksPerQuarter)
	if err := file.Add(track); err != nil {
		return err
	}
	_, err := file.WriteTo(w)
	return err
}

// velocity of a note that lies below the loudest by so many dB.
func velocity(below float64) uint8 {
	if math.IsNaN(below) {
		return highestVelocity
	}
	return uint8(math.Max(lowestVelocity, highestVelocity-velocityPerDB*below))
}
