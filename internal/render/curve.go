package render

import (
	"math"
	"math/rand/v2"
)

// How the two curves move; own, within what singers do.
const (
	glideSeconds   = 0.05  // s of the movement of pitch between connected notes
	glideShare     = 0.35  // of the shorter of the two intervals, at most
	scoopSeconds   = 0.10  // s
	scoopShare     = 0.4   // of the note, at most
	fallSeconds    = 0.15  // s
	fallShare      = 0.4   // of the note, at most
	vibratoHz      = 5.6   // common practice, no source
	vibratoDelay   = 0.20  // s after the onset
	vibratoGrowth  = 0.20  // s
	riseSeconds    = 0.012 // s of the level at an onset after silence or a closure
	releaseSeconds = 0.04  // s of the level at the end of the voice
	releaseShare   = 0.3   // of the note, at most
	silentDB       = -90.0
	curveHop       = 0.005 // s between points of curves that are handed to programs
	floorDBFS      = -68.0 // noise of a quiet room
	peakLevel      = 0.5   // of full scale, to which each phrase is brought
)

// ease moves from 0 to 1 by a raised cosine.
func ease(x float64) float64 { return (1 - math.Cos(math.Pi*math.Max(0, math.Min(1, x)))) / 2 }

// noteAt is the index of the note whose consonant or vowel sounds at t, or that sounded last; 0 before the first.
func noteAt(notes []Note, t float64) int {
	i := 0
	for i+1 < len(notes) && t >= consonantStart(notes, i+1) {
		i++
	}
	return i
}

// pitchAt is the pitch at time t, MIDI number.
func pitchAt(notes []Note, t float64) float64 {
	i := noteAt(notes, t)
	n := notes[i]
	pitch := n.Pitch
	long := n.Offset - n.Onset
	since := t - n.Onset
	if n.ScoopCents != 0 {
		pitch -= n.ScoopCents / 100 * (1 - ease(since/math.Min(scoopSeconds, scoopShare*long)))
	} else if i > 0 && n.Onset-notes[i-1].Offset < glideSeconds {
		short := math.Min(n.Onset-notes[i-1].Onset, long)
		glide := math.Min(glideSeconds, glideShare*short)
		start := -glide / 2 // a slurred note glides through its onset
		if n.Syllable != "" {
			start = -glide // a syllable moves in its consonant
		}
		before := notes[i-1].Pitch
		pitch = before + (pitch-before)*ease((since-start)/glide)
	}
	if n.FallCents != 0 {
		fall := math.Min(fallSeconds, fallShare*long)
		pitch -= n.FallCents / 100 * ease((t-n.Offset+fall)/fall)
	}
	if n.VibratoCents != 0 && since > vibratoDelay {
		grown := math.Min(1, (since-vibratoDelay)/vibratoGrowth)
		pitch += n.VibratoCents / 100 * grown * math.Sin(2*math.Pi*vibratoHz*(since-vibratoDelay))
	}
	return pitch
}

// levelAt is the level at time t, dB. With closures the consonants are made by the level alone, else only the notes' own levels, the
// dips before repeats without a consonant, and the ends of the voice.
func levelAt(notes []Note, t float64, closures bool) float64 {
	i := noteAt(notes, t)
	n := notes[i]
	start, end := consonantStart(notes, i), voiceEnd(notes, i)
	if t < start || t > end {
		return silentDB
	}
	s := syllables[n.Syllable]
	level := n.LevelDB
	dip := 0.0
	if n.Syllable != "" && (closures || s.start == bare) {
		dip = s.closeDB
	}
	if t < n.Onset {
		joined := i > 0 && start-voiceEnd(notes, i-1) < curveHop
		if !joined && s.start == stop && closures {
			return silentDB
		}
		level -= dip * ease((t-start)/riseSeconds)
	} else {
		level -= dip * (1 - ease((t-n.Onset)/riseSeconds))
	}
	release := math.Min(releaseSeconds, releaseShare*(end-start))
	last := i+1 == len(notes) || consonantStart(notes, i+1)-end > curveHop
	if last {
		level += 40 * math.Min(0, (end-t)/release-1) // 40 dB down at the end
	}
	if i == 0 || start-voiceEnd(notes, i-1) > curveHop {
		level += 40 * math.Min(0, (t-start)/riseSeconds-1)
	}
	return level
}

// hertz of a MIDI number.
func hertz(pitch float64) float64 { return 440 * math.Exp2((pitch-69)/12) }

func gain(db float64) float64 { return math.Pow(10, db/20) }

// finish brings a phrase to its level and adds the noise of a quiet room.
func finish(samples []float64, seed uint64) []float32 {
	peak := 1e-9
	for _, x := range samples {
		peak = math.Max(peak, math.Abs(x))
	}
	rng := rand.New(rand.NewPCG(seed, seed))
	out := make([]float32, len(samples))
	for i, x := range samples {
		out[i] = float32(x*peakLevel/peak + gain(floorDBFS)*rng.NormFloat64())
	}
	return out
}
