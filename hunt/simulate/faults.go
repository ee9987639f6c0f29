package simulate

import (
	"math/rand/v2"

	"larkhand/hunt"
	"larkhand/match"
)

// strong checks the strength, 1 to 3, and gives the value for it.
func strong[T any](strength int, values [3]T) T {
	if strength < 1 || strength > 3 {
		panic("simulate: strength must be 1, 2 or 3")
	}
	return values[strength-1]
}

// neighbourShare is how often a wrong key lies 1 or 2 semitones from the right one (76 % of the real extra notes).
const neighbourShare = 0.76

// wrongKey draws a key near pitch that is not it.
func wrongKey(rng *rand.Rand, pitch float64) float64 {
	step := 1 + rng.IntN(2)
	if rng.Float64() > neighbourShare {
		step = 3 + rng.IntN(5)
	}
	if rng.IntN(2) == 0 {
		step = -step
	}
	return pitch + float64(step)
}

// Correct presses 1, 2 or 3 wrong keys where a note was due, each for a time around 250, 300 or 400 ms (130 to 1500),
// then the right one; what follows is late by that time.
func Correct(rng *rand.Rand, c Case, strength int) Case {
	const spread = 0.4 // of the logarithm: real repairs lie 124 to 886 ms after the wrong key
	const shortest, longest = 0.13, 1.5
	number, usual := strong(strength, [3]int{1, 2, 3}), strong(strength, [3]float64{0.25, 0.3, 0.4})
	lengths := make([]float64, number)
	for i := range lengths {
		lengths[i] = logNormal(rng, usual, spread, shortest, longest)
	}
	return c.tryBefore(rng, hunt.Correction, strength, lengths, func(target float64, _ int) float64 {
		return wrongKey(rng, target)
	})
}

// Creep presses 2, 3 or 4 neighbouring keys (steps of 1 or 2 semitones) that lead up or down to the right one, each for
// a time around 280 ms (140 to 900).
func Creep(rng *rand.Rand, c Case, strength int) Case {
	const usual, spread, shortest, longest = 0.28, 0.4, 0.14, 0.9
	lengths := make([]float64, strong(strength, [3]int{2, 3, 4}))
	offsets := make([]float64, len(lengths))
	direction := float64(1 - 2*rng.IntN(2))
	sum := 0.0
	for i := len(lengths) - 1; i >= 0; i-- {
		lengths[i] = logNormal(rng, usual, spread, shortest, longest)
		sum += direction * float64(1+rng.IntN(2))
		offsets[i] = sum
	}
	return c.tryBefore(rng, hunt.Creep, strength, lengths, func(target float64, i int) float64 {
		return target + offsets[i]
	})
}

// tryBefore puts keys where a random note was due, one after the other, and delays the note by their lengths.
func (c Case) tryBefore(rng *rand.Rand, kind hunt.Kind, strength int, lengths []float64, key func(target float64, i int) float64) Case {
	targets := c.targets(0)
	if len(targets) == 0 {
		return c.clone()
	}
	c = c.clone()
	s := pick(rng, targets)
	p := c.at(s)
	target := c.Played[p]
	at := target.Onset
	var tries []match.Played
	for i, length := range lengths {
		tries = append(tries, match.Played{
			Onset: at, Offset: at + 0.9*length, Pitch: key(target.Pitch, i), Velocity: target.Velocity, Channel: target.Channel,
		})
		at += length
	}
	c.shorten(p-1, target.Onset)
	c.delay(p, at-target.Onset)
	c.insert(tries...)
	c.Faults = append(c.Faults, Fault{kind, s, strength})
	return c
}

// Hesitate waits before 1, 2 or 3 notes (never the first) for 0.3 to 0.5, 0.5 to 1 or 1 to 2.5 s.
func Hesitate(rng *rand.Rand, c Case, strength int) Case {
	number := strong(strength, [3]int{1, 2, 3})
	wait := strong(strength, [3][2]float64{{0.3, 0.5}, {0.5, 1}, {1, 2.5}})
	c = c.clone()
	targets := c.targets(1)
	rng.Shuffle(len(targets), func(i, j int) { targets[i], targets[j] = targets[j], targets[i] })
	for _, s := range targets[:min(number, len(targets))] {
		c.delay(c.at(s), between(rng, wait[0], wait[1]))
		c.Faults = append(c.Faults, Fault{hunt.Hesitation, s, strength})
	}
	return c
}

// Restart stops after a note, waits 0.35 to 0.9, 0.4 to 1.4 or 0.6 to 3.3 s, and plays the last note, the last one to
// three, or everything again before it goes on.
func Restart(rng *rand.Rand, c Case, strength int) Case {
	pause := strong(strength, [3][2]float64{{0.35, 0.9}, {0.4, 1.4}, {0.6, 3.3}})
	targets := c.targets(0)
	if len(targets) < 2 {
		return c.clone()
	}
	c = c.clone()
	stop := rng.IntN(len(targets) - 1) // the last note before the stop
	back := strong(strength, [3]int{1, 1 + rng.IntN(3), stop + 1})
	first := max(0, stop-back+1)
	from, to := c.at(targets[first]), c.at(targets[stop])
	wait := between(rng, pause[0], pause[1])
	again := c.Played[to].Onset + wait
	shift := again - c.Played[from].Onset
	var earlier []match.Played
	for p := from; p <= to; p++ {
		earlier = append(earlier, c.Played[p])
	}
	c.delay(from, shift)
	c.insert(earlier...)
	c.shorten(to, again)
	c.Faults = append(c.Faults, Fault{hunt.Restart, targets[first], strength})
	return c
}

// Touch brushes a neighbouring key softly (0.15 to 0.55 of the target's velocity, 30 to 90 ms long) 90 to 500 ms before
// 1, 3 or 4 notes. Nothing is late.
func Touch(rng *rand.Rand, c Case, strength int) Case {
	const earliest, latest = 0.5, 0.09  // s before the target
	const apart = 0.09                  // s after the note before
	const softest, loudest = 0.15, 0.55 // of the target's velocity
	const shortest, longest = 0.03, 0.09
	number := strong(strength, [3]int{1, 3, 4})
	c = c.clone()
	targets := c.targets(1)
	rng.Shuffle(len(targets), func(i, j int) { targets[i], targets[j] = targets[j], targets[i] })
	for _, s := range targets {
		if number == 0 {
			break
		}
		p := c.at(s)
		target := c.Played[p]
		low := max(target.Onset-earliest, c.Played[p-1].Onset+apart)
		if low > target.Onset-latest {
			continue
		}
		at := between(rng, low, target.Onset-latest)
		c.insert(match.Played{
			Onset: at, Offset: at + between(rng, shortest, longest), Pitch: wrongKey(rng, target.Pitch),
			Velocity: velocity(float64(target.Velocity) * between(rng, softest, loudest)), Channel: target.Channel,
		})
		c.Faults = append(c.Faults, Fault{hunt.Touch, s, strength})
		number--
	}
	return c
}

// Put puts in one fault of the given kind. It panics for a kind that does not exist.
func Put(rng *rand.Rand, c Case, kind hunt.Kind, strength int) Case {
	switch kind {
	case hunt.Correction:
		return Correct(rng, c, strength)
	case hunt.Creep:
		return Creep(rng, c, strength)
	case hunt.Hesitation:
		return Hesitate(rng, c, strength)
	case hunt.Restart:
		return Restart(rng, c, strength)
	case hunt.Touch:
		return Touch(rng, c, strength)
	}
	panic("simulate: no such kind of evidence: " + string(kind))
}
