package singer

import (
	"math"
	"math/rand/v2"
)

// loudness finds the source amplitude that gives a wanted level, by singing the steady sound and measuring it: own. It makes LevelDB
// mean the same for every vowel, pitch and voice.
type loudness struct {
	voice Voice
	rate  float64
	known map[loudKey]float64
}

// loudKey names a steady sound; pitches are told apart by a sixteenth of a semitone.
type loudKey struct {
	shape shape
	step  int
	rd    int
}

const (
	warmSeconds    = 0.030 // until the slowest formant has settled
	measureSeconds = 0.040 // at least; whole periods are measured
	keySteps       = 16    // a semitone
)

func newLoudness(v Voice, rate float64) *loudness {
	v.JitterRatio, v.ShimmerDB, v.BreathDB = 0, 0, -200
	return &loudness{voice: v, rate: rate, known: map[loudKey]float64{}}
}

// gain returns the source amplitude for which the shape at hz and rd sounds with the given RMS.
func (l *loudness) gain(s shape, hz, rd, rms float64) float64 {
	key := loudKey{s, int(math.Round(keySteps * 12 * math.Log2(hz/440))), int(math.Round(100 * rd))}
	unit, ok := l.known[key]
	if !ok {
		unit = l.measure(s, hz, rd)
		l.known[key] = unit
	}
	return rms / unit
}

func (l *loudness) measure(s shape, hz, rd float64) float64 {
	t := newThroat(l.voice, l.rate, rand.NewPCG(0, 0))
	t.setShape(&s)
	e := effort{hz: hz, voice: 1, rd: rd}
	open := openPart(rd)
	for range int(warmSeconds * l.rate) {
		t.step(&e, open)
	}
	periods := math.Ceil(measureSeconds * hz)
	count := int(math.Round(periods / hz * l.rate))
	sum := 0.0
	for range count {
		y := t.step(&e, open)
		sum += y * y
	}
	return math.Sqrt(sum / float64(count))
}
