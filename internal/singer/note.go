package singer

import (
	"fmt"
	"math"
)

// Note is one note as it is to be sung. The zero value of a field that says "usual" takes the usual value.
type Note struct {
	Onset, Offset float64  // s; onset of the vowel and end of the voice; Offset > Onset
	Pitch         float64  // MIDI number as aimed; with DetuneCents 28 to 88
	DetuneCents   float64  // how far the sounding centre lies from Pitch (intonation error and drift of the take)
	Syllable      Syllable // what is sung; see Syllable

	ConsonantSeconds float64 // length of the leading consonants before Onset; 0: usual
	DropDB           float64 // how far the level drops in a voiced consonant or dip; 0: usual for the consonant

	LevelDB        float64 // level of the vowel relative to the voice's level
	DecayDB        float64 // change of level from the start of the note to its end
	AttackSeconds  float64 // rise of the level where no consonant makes it; 0: usual
	ReleaseSeconds float64 // fall of the level at the end, where a rest follows; 0: usual

	GlideSeconds   float64 // length of the pitch movement from the note before, where connected; 0: usual
	OvershootCents float64 // how far a glide goes past the pitch before it settles
	ScoopCents     float64 // how far below the pitch the note starts; negative: above
	ScoopSeconds   float64 // how long the scoop takes to reach the pitch; 0: usual
	SlopeCents     float64 // how much the pitch rises from the start of the note to its end, around its centre
	FallCents      float64 // how far the pitch falls at the end of the note; negative: rises
	FallSeconds    float64 // how long the fall takes; 0: usual

	VibratoHz    float64 // cycles per second; 0: usual where VibratoCents is set
	VibratoCents float64 // extent: the pitch moves between minus and plus this
	VibratoDelay float64 // s after Onset before the vibrato starts to grow
	WobbleCents  float64 // standard deviation of slow unsteadiness (about 1 to 3 Hz)

	BreathSeconds float64 // audible breath in the rest before the note; 0: none
}

// Truth is what a perfect listener writes down about a rendered note.
type Truth struct {
	Onset  float64 // s, onset of the vowel
	Offset float64 // s, end of the voice, at the latest the start of the next note's consonants
	Pitch  float64 // MIDI number of the sounding centre: without scoop, slope, fall, vibrato, wobble and flutter
}

// Sounding returns the MIDI number of the note's sounding centre.
func (n Note) Sounding() float64 { return n.Pitch + n.DetuneCents/centsPerSemitone }

const centsPerSemitone = 100.0

// Usual values, s and Hz: common practice, no source, inside the ranges measured on solo singing (glides of 40 to 120 ms,
// attacks of 20 to 80 ms).
const (
	usualAttack  = 0.045
	usualRelease = 0.060
	usualGlide   = 0.070
	usualScoop   = 0.100
	usualFall    = 0.120
	usualVibrato = 5.8
)

// shortestVowel is the least time in s that the consonants of the next note leave to a vowel.
const shortestVowel = 0.040

// connectedGap is the longest gap in s that is still sung through without letting the voice go.
const connectedGap = 0.012

func orUsual(x, usual float64) float64 {
	if x == 0 {
		return usual
	}
	return x
}

// Check says whether the notes can be sung, in one sentence that says what would work.
func Check(notes []Note) error {
	for i, n := range notes {
		for _, x := range []float64{n.Onset, n.Offset, n.Pitch, n.DetuneCents, n.ConsonantSeconds, n.DropDB, n.LevelDB, n.DecayDB,
			n.AttackSeconds, n.ReleaseSeconds, n.GlideSeconds, n.OvershootCents, n.ScoopCents, n.ScoopSeconds, n.SlopeCents, n.FallCents,
			n.FallSeconds, n.VibratoHz, n.VibratoCents, n.VibratoDelay, n.WobbleCents, n.BreathSeconds} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return fmt.Errorf("singer: note %d has a value that is not a number; every field must be finite", i)
			}
		}
		if n.Onset < 0 || n.Offset < n.Onset+shortestVowel {
			return fmt.Errorf("singer: note %d lasts from %.3f to %.3f s; a note must start at 0 s or later and last at least %.2f s",
				i, n.Onset, n.Offset, shortestVowel)
		}
		if i > 0 && n.Onset < notes[i-1].Onset+shortestVowel {
			return fmt.Errorf("singer: note %d starts at %.3f s; it must start at least %.2f s after the note before", i, n.Onset, shortestVowel)
		}
		if p := n.Sounding(); p < lowestPitch || p > highestPitch {
			return fmt.Errorf("singer: note %d has pitch %.2f; pitches from %g to %g can be sung", i, p, float64(lowestPitch), float64(highestPitch))
		}
		if _, err := n.Syllable.parse(); err != nil {
			return fmt.Errorf("note %d: %w", i, err)
		}
	}
	return nil
}

// Pitches that Render accepts: MIDI numbers of 41 Hz and 1319 Hz, a little more than human solo singing of phrases.
const (
	lowestPitch  = 28
	highestPitch = 88
)

// Truths returns the truth of each note, in order. It panics where Check gives an error.
func Truths(notes []Note) []Truth {
	spans := plan(notes)
	truths := make([]Truth, len(notes))
	for i, n := range notes {
		truths[i] = Truth{Onset: n.Onset, Offset: spans[i].voiceEnd, Pitch: n.Sounding()}
	}
	return truths
}

// span is when the parts of a note happen, s.
type span struct {
	said       spoken  // the parsed syllable
	consonants float64 // where the leading consonants start
	vowel      float64 // the onset of the vowel
	voiceEnd   float64 // the end of the vowel and of voiced last consonants
	connected  bool    // the note before runs into this one
}

// plan lays the consonants before the vowels and cuts the notes where the next one's consonants start.
func plan(notes []Note) []span {
	if err := Check(notes); err != nil {
		panic(err.Error())
	}
	spans := make([]span, len(notes))
	for i, n := range notes {
		said, err := n.Syllable.parse()
		if err != nil {
			panic(err.Error()) // Check has parsed it
		}
		s := span{said: said, vowel: n.Onset, voiceEnd: n.Offset}
		s.consonants = n.Onset - orUsual(n.ConsonantSeconds, said.leadSeconds())
		if len(said.lead) == 0 {
			s.consonants = n.Onset
		}
		if i == 0 {
			s.consonants = math.Max(s.consonants, 0)
		} else {
			before := &spans[i-1]
			s.consonants = math.Max(s.consonants, before.vowel+shortestVowel)
			after := before.said.noisyEnd()
			room := math.Max(s.consonants-after, before.vowel+shortestVowel)
			s.connected = after == 0 && s.consonants-before.voiceEnd <= connectedGap
			before.voiceEnd = math.Min(before.voiceEnd, room)
			if s.connected {
				before.voiceEnd = s.consonants
			}
		}
		spans[i] = s
	}
	return spans
}
