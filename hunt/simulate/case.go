package simulate

import (
	"math/rand/v2"
	"slices"

	"larkhand/hunt"
	"larkhand/match"
)

// Fault is one generated fault.
type Fault struct {
	Kind     hunt.Kind
	Sung     int // the sung note before which it lies
	Strength int // 1 to 3
}

// Case is a phrase, an answer to it, and what was put in.
type Case struct {
	Sung    []match.Sung
	Played  []match.Played
	Answers []int   // for each played note the sung note that it answers, or match.None
	Faults  []Fault // what was put in; empty: the answer is known
}

// Ranges of the base phrase.
const (
	shortestPace = 0.25 // s, median sung interval
	longestPace  = 0.55

	fastestAnswer = 0.85 // played s per sung s
	usualAnswer   = 1.3
	slowestAnswer = 2.5
	slowAnswers   = 8 // one in so many is slower than usualAnswer
)

// Sing makes a sung phrase of keys with the rhythm of onsets and durations (s), brought to a median interval between
// 250 and 550 ms, each onset off by a normal error with standard deviation noise (s). The lists have one length.
func Sing(rng *rand.Rand, keys []int, onsets, durations []float64, noise float64) []match.Sung {
	scale := 1.0
	if len(keys) > 1 {
		intervals := make([]float64, len(keys)-1)
		for i := range intervals {
			intervals[i] = onsets[i+1] - onsets[i]
		}
		scale = between(rng, shortestPace, longestPace) / median(intervals)
	}
	exact := make([]match.Sung, len(keys))
	for i, key := range keys {
		onset := scale * (onsets[i] - onsets[0])
		exact[i] = match.Sung{
			Onset: onset, Offset: onset + scale*durations[i], Pitch: float64(key), Semitone: key,
			Chance: [3]float64{0.02, 0.96, 0.02}, Confidence: 0.95,
		}
	}
	return Blur(rng, exact, noise)
}

// Blur moves each onset by a normal error with standard deviation noise (s), never past its neighbour.
func Blur(rng *rand.Rand, sung []match.Sung, noise float64) []match.Sung {
	const room = 0.02 // s that stay between neighbouring onsets
	blurred := slices.Clone(sung)
	for i := range blurred {
		onset := sung[i].Onset + noise*rng.NormFloat64()
		if i > 0 {
			onset = max(onset, blurred[i-1].Onset+room)
		}
		blurred[i].Onset = onset
		blurred[i].Offset = max(sung[i].Offset, onset+room)
	}
	return blurred
}

// Answer plays the phrase fluently: 0.85 to 1.3 times as slowly as it was sung, once in eight times up to 2.5 times.
// The sung onsets are taken as the rhythm; blur them (Blur) afterwards, as the voice tracker would.
func Answer(rng *rand.Rand, sung []match.Sung, timing Timing) Case {
	tempo := between(rng, fastestAnswer, usualAnswer)
	if rng.IntN(slowAnswers) == 0 {
		tempo = between(rng, usualAnswer, slowestAnswer)
	}
	return AnswerAt(rng, sung, timing, tempo)
}

// AnswerAt plays the phrase fluently at tempo played seconds per sung second, from 0 s on.
func AnswerAt(rng *rand.Rand, sung []match.Sung, timing Timing, tempo float64) Case {
	c := Case{Sung: slices.Clone(sung)}
	at := 0.0
	for i, stroke := range timing.Strokes(rng, len(sung)) {
		interval := sung[i].Offset - sung[i].Onset
		if i+1 < len(sung) {
			interval = sung[i+1].Onset - sung[i].Onset
		}
		interval *= tempo * stroke.Stretch
		c.Played = append(c.Played, match.Played{
			Onset: at, Offset: at + interval*stroke.Hold, Pitch: float64(sung[i].Semitone), Velocity: stroke.Velocity,
		})
		c.Answers = append(c.Answers, i)
		at += interval
	}
	return c
}

func (c Case) clone() Case {
	return Case{slices.Clone(c.Sung), slices.Clone(c.Played), slices.Clone(c.Answers), slices.Clone(c.Faults)}
}

// at gives the place in Played of the note that answers sung note s, match.None where it is missing.
func (c Case) at(s int) int { return slices.Index(c.Answers, s) }

// targets lists the sung notes from first on that are answered.
func (c Case) targets(first int) []int {
	var list []int
	for _, s := range c.Answers {
		if s != match.None && s >= first {
			list = append(list, s)
		}
	}
	return list
}

// delay moves all played notes from place p on by d seconds.
func (c Case) delay(p int, d float64) {
	for i := p; i < len(c.Played); i++ {
		c.Played[i].Onset += d
		c.Played[i].Offset += d
	}
}

// insert puts extra notes in, in the order of time.
func (c *Case) insert(notes ...match.Played) {
	for _, note := range notes {
		i := 0
		for i < len(c.Played) && c.Played[i].Onset <= note.Onset {
			i++
		}
		c.Played = slices.Insert(c.Played, i, note)
		c.Answers = slices.Insert(c.Answers, i, match.None)
	}
}

// shorten ends the note at place p no later than t.
func (c Case) shorten(p int, t float64) {
	if p >= 0 {
		c.Played[p].Offset = min(c.Played[p].Offset, max(t, c.Played[p].Onset))
	}
}

func pick[T any](rng *rand.Rand, list []T) T { return list[rng.IntN(len(list))] }
