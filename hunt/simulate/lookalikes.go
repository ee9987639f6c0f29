package simulate

import (
	"math"
	"math/rand/v2"
	"slices"

	"larkhand/match"
)

// Look names something that looks like searching and is none.
type Look string

// The look-alikes.
const (
	Grace        Look = "grace note"
	SungGrace    Look = "grace note, sung too"
	Slip         Look = "slip of the hand"
	DoubleStrike Look = "double strike"
	Ghost        Look = "converter ghost"
	Roll         Look = "rolled chord"
	Rubato       Look = "rubato"
	LongShort    Look = "long-short"
	Slow         Look = "slow tempo"
	Missing      Look = "one note left out"
	Overlap      Look = "legato overlap"
	LostSung     Look = "sung note lost by the tracker"
	LaidFinger   Look = "finger laid in a long rest"
	WrongKept    Look = "wrong key kept"
	LongWait     Look = "wait before the first note"
)

// Looks lists all look-alikes.
var Looks = []Look{
	Grace, SungGrace, Slip, DoubleStrike, Ghost, Roll, Rubato, LongShort, Slow, Missing, Overlap, LostSung, LaidFinger,
	WrongKept, LongWait,
}

// LookAlike puts in one look-alike; the Faults stay as they are. It panics for a look that does not exist. A converter
// ghost is one only where the answer comes from a guitar converter.
func LookAlike(rng *rand.Rand, c Case, look Look) Case {
	put, ok := looks[look]
	if !ok {
		panic("simulate: no such look-alike: " + string(look))
	}
	c = c.clone()
	if targets := c.targets(0); len(targets) > 1 {
		put(rng, &c, targets)
	}
	return c
}

var looks = map[Look]func(rng *rand.Rand, c *Case, targets []int){
	Grace:        func(rng *rand.Rand, c *Case, targets []int) { c.grace(rng, pick(rng, targets), false) },
	SungGrace:    func(rng *rand.Rand, c *Case, targets []int) { c.grace(rng, pick(rng, targets), true) },
	Slip:         slip,
	DoubleStrike: doubleStrike,
	Ghost:        ghost,
	Roll:         roll,
	Rubato:       rubato,
	LongShort:    longShort,
	Slow:         func(_ *rand.Rand, c *Case, _ []int) { c.stretch(func(int) float64 { return slowestAnswer }) },
	Missing:      missing,
	Overlap:      overlap,
	LostSung:     lostSung,
	LaidFinger:   laidFinger,
	WrongKept:    wrongKept,
	LongWait:     func(rng *rand.Rand, c *Case, _ []int) { c.delay(0, between(rng, 1, 10)) },
}

// near draws a key one or two semitones from pitch.
func near(rng *rand.Rand, pitch float64) float64 {
	return pitch + pick(rng, []float64{-2, -1, 1, 2})
}

// grace puts a note of 30 to 110 ms before the target, which stays on its beat; if sung, the voice has it as well.
func (c *Case) grace(rng *rand.Rand, s int, sung bool) {
	p := c.at(s)
	target := c.Played[p]
	length := between(rng, 0.03, 0.11)
	key := near(rng, target.Pitch)
	c.shorten(p-1, target.Onset-length)
	c.insert(match.Played{
		Onset: target.Onset - length, Offset: target.Onset, Pitch: key,
		Velocity: velocity(float64(target.Velocity) * between(rng, 0.7, 1)), Channel: target.Channel,
	})
	if !sung {
		return
	}
	grace := c.Sung[s]
	grace.Onset, grace.Offset = c.Sung[s].Onset-length, c.Sung[s].Onset
	grace.Pitch, grace.Semitone = key, int(math.Round(key))
	c.Sung = slices.Insert(c.Sung, s, grace)
	for i, answers := range c.Answers {
		if answers >= s {
			c.Answers[i]++
		}
	}
	c.Answers[c.at(s+1)-1] = s
}

// slip brushes a neighbouring key 0 to 68 ms beside a right note.
func slip(rng *rand.Rand, c *Case, targets []int) {
	target := c.Played[c.at(pick(rng, targets))]
	at := target.Onset + between(rng, -0.068, 0.068)
	c.insert(match.Played{
		Onset: at, Offset: at + between(rng, 0.032, 0.089), Pitch: near(rng, target.Pitch),
		Velocity: velocity(float64(target.Velocity) * between(rng, 0.52, 0.94)), Channel: target.Channel,
	})
}

// doubleStrike strikes a right key again 70 to 240 ms later; the flow is kept.
func doubleStrike(rng *rand.Rand, c *Case, targets []int) {
	const apart = 0.06 // s before the next note
	p := c.at(pick(rng, targets))
	note := c.Played[p]
	again := note
	again.Onset += between(rng, 0.07, 0.24)
	if p+1 < len(c.Played) {
		again.Onset = min(again.Onset, max(c.Played[p+1].Onset-apart, note.Onset+0.02))
	}
	again.Offset = max(again.Offset, again.Onset+0.04)
	again.Velocity = velocity(float64(note.Velocity) * between(rng, 0.59, 1))
	c.shorten(p, again.Onset-0.02)
	c.insert(again)
}

// ghost is a false trigger of 10 to 50 ms, soft, an octave, a fifth or a string's distance from a note that sounds.
func ghost(rng *rand.Rand, c *Case, targets []int) {
	note := c.Played[c.at(pick(rng, targets))]
	at := between(rng, note.Onset, max(note.Offset, note.Onset+0.05))
	c.insert(match.Played{
		Onset: at, Offset: at + between(rng, 0.01, 0.05), Pitch: note.Pitch + pick(rng, []float64{12, 7, 19, 24, -12, 5, -5}),
		Velocity: velocity(float64(note.Velocity) * between(rng, 0.05, 0.4)), Channel: note.Channel,
	})
}

// roll puts one to three chord notes under a right note, 5 to 70 ms apart.
func roll(rng *rand.Rand, c *Case, targets []int) {
	target := c.Played[c.at(pick(rng, targets))]
	at, key := target.Onset, target.Pitch
	for range 1 + rng.IntN(3) {
		at -= between(rng, 0.005, 0.07)
		key -= float64(3 + rng.IntN(2))
		c.insert(match.Played{
			Onset: at, Offset: target.Offset, Pitch: key, Velocity: velocity(float64(target.Velocity) * between(rng, 0.7, 1)),
			Channel: target.Channel,
		})
	}
}

// stretch multiplies the interval after each played note by factor(i); lengths follow.
func (c *Case) stretch(factor func(i int) float64) {
	old := slices.Clone(c.Played)
	for i := range c.Played {
		note := &c.Played[i]
		if i > 0 {
			note.Onset = c.Played[i-1].Onset + (old[i].Onset-old[i-1].Onset)*factor(i-1)
		}
		note.Offset = note.Onset + (old[i].Offset-old[i].Onset)*factor(i)
	}
}

// rubato slows down and hurries by up to 30 % in one wave over the phrase.
func rubato(rng *rand.Rand, c *Case, _ []int) {
	start, n := between(rng, 0, 2*math.Pi), float64(len(c.Played))
	c.stretch(func(i int) float64 { return 1 + 0.3*math.Sin(start+2*math.Pi*float64(i)/n) })
}

// longShort plays pairs of notes unevenly, up to 2:1.
func longShort(rng *rand.Rand, c *Case, _ []int) {
	ratio := between(rng, 1.2, 2)
	c.stretch(func(i int) float64 {
		if i%2 == 0 {
			return 2 * ratio / (1 + ratio)
		}
		return 2 / (1 + ratio)
	})
}

func missing(rng *rand.Rand, c *Case, targets []int) {
	p := c.at(pick(rng, targets))
	c.Played = slices.Delete(c.Played, p, p+1)
	c.Answers = slices.Delete(c.Answers, p, p+1)
}

// overlap holds every key 20 to 230 ms into the next note.
func overlap(rng *rand.Rand, c *Case, _ []int) {
	for i := range len(c.Played) - 1 {
		c.Played[i].Offset = c.Played[i+1].Onset + between(rng, 0.02, 0.23)
	}
}

// lostSung takes a sung note away, as a voice tracker may.
func lostSung(rng *rand.Rand, c *Case, targets []int) {
	s := pick(rng, targets)
	c.Sung = slices.Delete(c.Sung, s, s+1)
	for i, answers := range c.Answers {
		switch {
		case answers == s:
			c.Answers[i] = match.None
		case answers > s:
			c.Answers[i]--
		}
	}
}

// laidFinger puts a rest of 0.8 to 2 s before a note, in the phrase as in the answer, and a finger that is laid on a
// key in it: soft, 84 to 545 ms long, at least 190 ms from the right notes.
func laidFinger(rng *rand.Rand, c *Case, targets []int) {
	s := pick(rng, targets[1:])
	p := c.at(s)
	rest := between(rng, 0.8, 2)
	tempo := (c.Played[p].Onset - c.Played[p-1].Onset) / (c.Sung[s].Onset - c.Sung[s-1].Onset)
	for i := s; i < len(c.Sung); i++ {
		c.Sung[i].Onset += rest / tempo
		c.Sung[i].Offset += rest / tempo
	}
	c.delay(p, rest)
	note := c.Played[p-1]
	at := between(rng, note.Onset+0.19, c.Played[p].Onset-0.19)
	c.insert(match.Played{
		Onset: at, Offset: at + between(rng, 0.084, 0.545), Pitch: pick(rng, []float64{note.Pitch, c.Played[p].Pitch}),
		Velocity: velocity(float64(note.Velocity) * between(rng, 0.04, 0.29)), Channel: note.Channel,
	})
}

func wrongKept(rng *rand.Rand, c *Case, targets []int) {
	p := c.at(pick(rng, targets))
	c.Played[p].Pitch = wrongKey(rng, c.Played[p].Pitch)
}
