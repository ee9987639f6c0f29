package synth

import "larkhand/internal/loop"

// Synth makes the sounds of notes.
type Synth interface {
	// Name says in a few words what sounds, for the player to read.
	Name() string
	// NewVoice gives a voice that plays one note at a time. It allocates; the voice does not.
	NewVoice() Voice
}

// Voice plays one note at a time. What it gives after Start depends on the note only, not on what it has played before and not on the sizes of
// the blocks in which it is asked.
type Voice interface {
	// Start begins a note at the first sample of the next Add.
	Start(e loop.Event)
	// Add adds the next len(dst) samples to dst. It reports whether the note may still sound afterwards; once it does not, it adds nothing.
	Add(dst []float32) (sounds bool)
}

// Sampling rates of the synthesizers, Hz: those that the SoundFont synthesizer takes.
const (
	MinRate = 16000
	MaxRate = 192000
)

// samplesOf is the length of a duration in s, rounded to whole samples.
func samplesOf(seconds float64, rate int) int {
	return int(seconds*float64(rate) + 0.5)
}
