package main

import (
	"math/rand/v2"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/internal/singer"
	"larkhand/match"
)

// player is an invented player. A moment of the season goes from 0, its first session, to 1, its last.
type player struct {
	name     string
	voice    singer.Voice
	tonic    int // MIDI number of the first degree that phrases lie around
	keys     []string
	seed     uint64
	hunt     func(rng *rand.Rand, p phrase, c simulate.Case, moment float64) simulate.Case // puts the habit in
	response func(moment float64) float64                                                  // s, median
	wobble   [2]float64                                                                    // cents, unsteadiness of take 1 and take 2
	misname  func(rng *rand.Rand, p phrase) int                                            // note whose letter goes wrong, match.None for none; nil for players who write nothing down
}

// players and their stories.
var players = []player{
	{ // Creeps to the note by semitones, in eight rounds of ten at first and in one at last: known answers grow more.
		name: "Ilvane", voice: singer.Alto, tonic: 60, keys: []string{"C minor", "D dorian"}, seed: 11,
		hunt: func(rng *rand.Rand, p phrase, c simulate.Case, moment float64) simulate.Case {
			if rng.Float64() > 0.8-0.7*moment {
				return c
			}
			return creepBySemitones(rng, c, rng.IntN(len(p.notes)))
		},
		response: func(float64) float64 { return 2.2 },
		wobble:   [2]float64{20, 9},
	},
	{ // After a leap up stops and plays the part again, and goes on doing so; but begins to answer sooner and sooner.
		name: "Corrick", voice: singer.Tenor, tonic: 53, keys: []string{"F major", "G minor"}, seed: 12,
		hunt: func(rng *rand.Rand, p phrase, c simulate.Case, _ float64) simulate.Case {
			if at := p.leapUp(); at != match.None && rng.Float64() < 0.8 {
				return restartAt(rng, c, at)
			}
			return c
		},
		response: func(moment float64) float64 { return 4 - 2.4*moment },
		wobble:   [2]float64{18, 8},
	},
	{ // Waits before the sixth degree, and the second take is no steadier than the first. Nothing changes.
		name: "Sunnel", voice: singer.Alto, tonic: 57, keys: []string{"A minor", "Bb major"}, seed: 13,
		hunt: func(rng *rand.Rand, p phrase, c simulate.Case, _ float64) simulate.Case {
			if at := p.sixth(); at != match.None && rng.Float64() < 0.8 {
				return waitBefore(rng, c, at)
			}
			return c
		},
		response: func(float64) float64 { return 1.8 },
		wobble:   [2]float64{14, 14},
	},
	{ // Writes numbers and letters down. In the keys with many flats forgets one in six rounds of ten, and plays what was written; searches for nothing.
		name: "Ferrow", voice: singer.Mezzo, tonic: 64, keys: []string{"Db major", "Gb major", "D major", "G major"}, seed: 14,
		hunt:     func(_ *rand.Rand, _ phrase, c simulate.Case, _ float64) simulate.Case { return c },
		response: func(float64) float64 { return 9 },
		wobble:   [2]float64{18, 8},
		misname: func(rng *rand.Rand, p phrase) int {
			if flat := p.flats(); len(flat) > 0 && rng.Float64() < 0.6 {
				return flat[rng.IntN(len(flat))]
			}
			return match.None
		},
	},
}

// Ranges of the faults, s: those of package simulate at its middle strength.
const (
	tryFrom, tryTo     = 0.22, 0.40
	waitFrom, waitTo   = 0.7, 1.4
	pauseFrom, pauseTo = 0.5, 1.2
)

func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

// creepBySemitones strikes the two or three keys below or above the right one before it.
func creepBySemitones(rng *rand.Rand, c simulate.Case, note int) simulate.Case {
	steps := 2 + rng.IntN(2)
	side := float64(1 - 2*rng.IntN(2))
	target := c.Played[note]
	at := target.Onset
	var tries []match.Played
	for i := steps; i > 0; i-- {
		length := between(rng, tryFrom, tryTo)
		tries = append(tries, match.Played{Onset: at, Offset: at + 0.9*length, Pitch: target.Pitch + side*float64(i), Velocity: target.Velocity})
		at += length
	}
	late := at - target.Onset
	delay(c.Played[note:], late)
	c.Played = append(c.Played[:note:note], append(tries, c.Played[note:]...)...)
	c.Faults = append(c.Faults, simulate.Fault{Kind: hunt.Creep, Sung: note, Strength: steps - 1})
	return c
}

// waitBefore comes late to a note and all that follow.
func waitBefore(rng *rand.Rand, c simulate.Case, note int) simulate.Case {
	delay(c.Played[note:], between(rng, waitFrom, waitTo))
	c.Faults = append(c.Faults, simulate.Fault{Kind: hunt.Hesitation, Sung: note, Strength: 2})
	return c
}

// restartAt stops after a note, and plays it and the one before again before it goes on.
func restartAt(rng *rand.Rand, c simulate.Case, note int) simulate.Case {
	from := note - 1
	first := append([]match.Played(nil), c.Played[from:note+1]...)
	again := first[1].Onset + between(rng, pauseFrom, pauseTo)
	first[1].Offset = min(first[1].Offset, again)
	delay(c.Played[from:], again-first[0].Onset)
	c.Played = append(c.Played[:from:from], append(first, c.Played[from:]...)...)
	c.Faults = append(c.Faults, simulate.Fault{Kind: hunt.Restart, Sung: from, Strength: 2})
	return c
}

// playWritten plays the note that was written in place of the one that was sung.
func playWritten(c simulate.Case, note, written int) simulate.Case {
	c.Played[note].Pitch = float64(written)
	return c
}

func delay(notes []match.Played, seconds float64) {
	for i := range notes {
		notes[i].Onset += seconds
		notes[i].Offset += seconds
	}
}
