package singer

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Style is a manner of singing without or with words.
type Style int

// The styles.
const (
	Solfege    Style = iota // do re mi by pitch class
	La                      // one syllable throughout
	Scat                    // ba da du dn
	Words                   // any consonants and clusters, vowels, last consonants, melismas
	Hum                     // closed mouth; repeats are parted by a mere dip in level
	Legato                  // vowels alone; only the pitch moves, repeats are parted by a dip or a glottal stop
	StyleCount              // how many styles there are
)

// String returns the style's name.
func (s Style) String() string {
	return [...]string{"solfege", "la", "scat", "words", "hum", "legato"}[s]
}

// Habits is how a singer treats notes; chances are 0 to 1 a note.
type Habits struct {
	Tempo           float64 // quarter notes a minute
	IntonationCents float64 // standard deviation of the error of single notes
	DriftCents      float64 // standard deviation of the step of the take's tuning from note to note (random walk)
	Repeat          float64 // chance that a pitch is repeated
	Connected       float64 // chance that a note is held until the next one starts
	Scoop           float64 // chance of a scoop of 50 to 250 cents over 50 to 150 ms
	Fall            float64 // chance of a fall at the end of a phrase
	Vibrato         float64 // chance of vibrato on a note of vibratoLeast or longer
	VibratoHz       float64
	VibratoCents    float64
	Ghost           float64 // chance of a ghost note, 12 to 20 dB down
	Soft            float64 // chance of a soft note, 4 to 10 dB down
	Breath          float64 // chance of an audible breath before a phrase
}

const vibratoLeast = 0.35 // s

// RandomHabits draws the habits of one take. Intonation and drift lie around the 19 and 11 cents of Mauch, Frieler and Dixon, JASA 136
// (2014) 401; vibrato as in Timmers and Desain (2000) widened to 4.5 Hz for amateurs; repeats from 7 % (jazz
// solos) up to children's songs; the rest is own, to be varied.
func RandomHabits(rng *rand.Rand) Habits {
	h := Habits{
		Tempo:           between(rng, 66, 168),
		IntonationCents: between(rng, 8, 32),
		DriftCents:      between(rng, 0, 18),
		Repeat:          between(rng, 0.07, 0.25),
		Connected:       rng.Float64(),
		Scoop:           between(rng, 0, 0.35),
		Fall:            between(rng, 0, 0.4),
		VibratoHz:       between(rng, 4.5, 7.5),
		VibratoCents:    between(rng, 20, 150),
		Ghost:           between(rng, 0, 0.08),
		Soft:            between(rng, 0, 0.2),
		Breath:          between(rng, 0.2, 1),
	}
	if rng.Float64() < 0.6 {
		h.Vibrato = rng.Float64()
	}
	return h
}

// Phrase makes one random phrase: stepwise with leaps and repeats, in a key, in the range of the voice. The first vowel starts at
// start (s). count is the number of notes; 0 draws 3 to 12.
func Phrase(rng *rand.Rand, style Style, v Voice, h Habits, start float64, count int) []Note {
	c := newComposer(rng, style, v, h)
	return c.phrase(start, count)
}

// Take makes phrases with rests and breaths between them until seconds are filled; the tuning drifts from note to note.
func Take(rng *rand.Rand, style Style, v Voice, h Habits, seconds float64) []Note {
	const firstOnset = 0.5 // s, leaves room for a breath and consonants
	c := newComposer(rng, style, v, h)
	var notes []Note
	for start := firstOnset; start < seconds; {
		phrase := c.phrase(start, 0)
		for _, n := range phrase {
			if n.Offset > seconds {
				return notes
			}
			notes = append(notes, n)
		}
		start = phrase[len(phrase)-1].Offset + between(rng, 0.35, 1.4)
	}
	return notes
}

// composer keeps what lasts over the phrases of a take.
type composer struct {
	rng     *rand.Rand
	style   Style
	voice   Voice
	habits  Habits
	scale   [12]bool // pitch classes of the key
	do      int      // pitch class of do
	tuning  float64  // cents, random walk
	pitch   int      // MIDI number of the last note
	first   int      // MIDI number of the phrase's first note
	la      Syllable // the syllable of La, the murmur of Hum
	current Syllable // the last vowel, for melismas
}

func newComposer(rng *rand.Rand, style Style, v Voice, h Habits) *composer {
	if v.High-v.Low < 12 {
		panic(fmt.Sprintf("singer: a voice from %g to %g is too narrow; Low and High must lie at least an octave apart", v.Low, v.High))
	}
	c := &composer{rng: rng, style: style, voice: v, habits: h, do: rng.IntN(12)}
	steps := [][]int{{0, 2, 4, 5, 7, 9, 11}, {0, 2, 3, 5, 7, 8, 10}, {0, 2, 3, 5, 7, 9, 10}}
	for _, s := range steps[rng.IntN(len(steps))] {
		c.scale[(c.do+s)%12] = true
	}
	c.pitch = c.toScale(int(math.Round(v.Low + (v.High-v.Low)*between(rng, 0.25, 0.75))))
	c.la = pick(rng, []Syllable{"la", "la", "na", "da", "lu", "nu", "ta", "ma", "no"})
	if style == Hum {
		c.la = pick(rng, []Syllable{"m", "m", "n"})
	}
	c.tuning = 30 * rng.NormFloat64()
	return c
}

func pick[T any](rng *rand.Rand, from []T) T { return from[rng.IntN(len(from))] }

// toScale moves a pitch to the nearest one of the key.
func (c *composer) toScale(pitch int) int {
	for d := 0; ; d++ {
		for _, p := range []int{pitch - d, pitch + d} {
			if c.scale[((p%12)+12)%12] {
				return p
			}
		}
	}
}

// reach keeps a phrase within this many semitones of its first note (range of jazz phrases: quartiles 5, 8, 12).
const reach = 9

// nextPitch draws an interval as jazz solos have them (Weimar Jazz Database, phrases of 3 to 12 notes): 1 or 2 semitones 50, 3 or 4
// 28, 5 to 7 12, more 3 of 93 intervals that are not repeats.
func (c *composer) nextPitch() int {
	if c.rng.Float64() < c.habits.Repeat {
		return c.pitch
	}
	low, high := c.voice.Low, c.voice.High
	for {
		var size int
		switch x := c.rng.Float64() * 93; {
		case x < 50:
			size = 1 + c.rng.IntN(2)
		case x < 78:
			size = 3 + c.rng.IntN(2)
		case x < 90:
			size = 5 + c.rng.IntN(3)
		default:
			size = 8 + c.rng.IntN(5)
		}
		if c.rng.IntN(2) == 0 {
			size = -size
		}
		p := c.pitch + size
		if c.rng.Float64() < 0.85 {
			p = c.toScale(p)
		}
		if p != c.pitch && p > c.first-reach && p < c.first+reach && float64(p) >= low && float64(p) <= high {
			return p
		}
	}
}

// shortestStep is the least time in s from vowel to vowel that is drawn.
const shortestStep = 0.15

// nextStep draws the time to the next onset, s: quarters, eighths, dotted, triplets, with human timing.
func (c *composer) nextStep() float64 {
	beat := 60 / c.habits.Tempo
	for {
		step := beat * pick(c.rng, []float64{0.5, 0.5, 0.5, 1, 1, 1, 1.0 / 3, 2.0 / 3, 1.5, 2, 0.25, 0.75})
		step *= 1 + 0.06*c.rng.NormFloat64()
		if step >= shortestStep {
			return step
		}
	}
}

// widest is how far a take may drift, cents: real clips wander 180 cents in the median.
const widest = 180

func (c *composer) phrase(start float64, count int) []Note {
	if count <= 0 {
		count = 3 + c.rng.IntN(10)
	}
	c.first = c.pitch
	notes := make([]Note, count)
	steps := make([]float64, count)
	t := start
	for i := range notes {
		before := c.pitch
		c.pitch = c.nextPitch()
		steps[i] = c.nextStep()
		if i == count-1 {
			steps[i] *= between(c.rng, 1, 2)
		}
		c.tuning = clamp(c.tuning+c.habits.DriftCents*c.rng.NormFloat64(), -widest, widest)
		n := Note{Onset: t, Pitch: float64(c.pitch)}
		n.DetuneCents = clamp(c.tuning+c.habits.IntonationCents*c.rng.NormFloat64(), -widest, widest)
		n.Syllable = c.syllable(i, c.pitch == before)
		notes[i] = n
		t += steps[i]
	}
	for i := range notes {
		c.articulate(notes, steps, i)
	}
	c.settleAttacks(notes)
	if c.rng.Float64() < c.habits.Breath {
		notes[0].BreathSeconds = between(c.rng, 0.15, 0.5)
	}
	return notes
}

// articulate gives the note its length, level and ornaments.
func (c *composer) articulate(notes []Note, steps []float64, i int) {
	rng, h, n := c.rng, c.habits, &notes[i]
	last := i == len(notes)-1
	if said, err := n.Syllable.parse(); err == nil && len(said.lead) > 0 {
		room := 0.45 * steps[max(i-1, 0)]
		n.ConsonantSeconds = math.Min(room, said.leadSeconds()*between(rng, 0.4, 1.3))
		n.DropDB = dropOf(rng, said.lead[0])
	}
	held := steps[i]
	if last || rng.Float64() >= h.Connected {
		held *= between(rng, 0.6, 0.97)
	}
	n.Offset = n.Onset + math.Max(held, 0.09)
	n.LevelDB = 2*rng.NormFloat64() + 3*math.Sin(math.Pi*float64(i+1)/float64(len(notes)+1)) - 2
	switch x := rng.Float64(); {
	case x < h.Ghost && !last:
		n.LevelDB -= between(rng, 12, 20)
	case x < h.Ghost+h.Soft:
		n.LevelDB -= between(rng, 4, 10)
	}
	n.DecayDB = between(rng, -5, 2.5)
	n.AttackSeconds = between(rng, 0.02, 0.08)
	n.ReleaseSeconds = between(rng, 0.03, 0.12)
	n.GlideSeconds = between(rng, 0.04, 0.12)
	if rng.Float64() < 0.4 {
		n.OvershootCents = between(rng, 0, 60)
	}
	c.unsteady(n, held)
	if rng.Float64() < h.Scoop {
		n.ScoopCents, n.ScoopSeconds = between(rng, 50, 250), math.Min(between(rng, 0.05, 0.15), 0.5*held)
	}
	if last && rng.Float64() < h.Fall {
		n.FallCents, n.FallSeconds = between(rng, 50, 400), math.Min(between(rng, 0.08, 0.3), 0.4*held)
	}
	if held >= vibratoLeast && rng.Float64() < h.Vibrato {
		n.VibratoHz = h.VibratoHz * (1 + 0.05*rng.NormFloat64())
		n.VibratoCents = h.VibratoCents * between(rng, 0.6, 1.2)
		n.VibratoDelay = between(rng, 0.05, 0.35)
	}
}

// unsteady draws what no singer can help. Measured on the notes over 0.25 s of 33 sight-singing clips: interquartile range of the pitch 20
// cents in the median note, 8 to 44 in eight of ten; rise over the middle of the note within -39 to 58; pitch 30 ms after
// the onset and 30 ms before the end -55 to 60 and -56 to 52 cents from the median.
func (c *composer) unsteady(n *Note, held float64) {
	const full = 0.4 // s, shorter notes have less time to slope
	rng := c.rng
	n.WobbleCents = between(rng, 4, 24)
	n.SlopeCents = 45 * rng.NormFloat64() * math.Min(1, held/full)
	n.ScoopCents, n.ScoopSeconds = 8+45*rng.NormFloat64(), math.Min(between(rng, 0.06, 0.22), 0.5*held)
	n.FallCents, n.FallSeconds = 40*rng.NormFloat64(), math.Min(between(rng, 0.05, 0.12), 0.3*held)
}

// dropOf draws how far the level falls in a consonant: 1.5 to 11 dB in sonorants, 3 to 15 in mere dips. The shallow end is real: between
// repeated notes of solo singing a quarter of the dips is under 3.4 dB, a tenth under 1.4 (measured on sight-singing clips).
func dropOf(rng *rand.Rand, c *consonant) float64 {
	switch c.manner {
	case nasal, approximant:
		return between(rng, 1.5, 11)
	case dip:
		return between(rng, 3, 15)
	default:
		return 0
	}
}

// settleAttacks makes pure pitch changes real: a note that starts without any mark must differ in pitch from the one before, or be
// parted from it; where it repeats, it gets a dip or a glottal stop.
func (c *composer) settleAttacks(notes []Note) {
	for i := 1; i < len(notes); i++ {
		n := &notes[i]
		said, err := n.Syllable.parse()
		if err != nil || len(said.lead) > 0 || n.Pitch != notes[i-1].Pitch {
			continue
		}
		mark := Syllable("-")
		if c.style != Hum && c.rng.Float64() < 0.4 {
			mark = "'"
		}
		n.Syllable = mark + n.Syllable
		n.ConsonantSeconds = between(c.rng, 0.04, 0.09)
		if mark == "-" {
			n.DropDB = between(c.rng, 3, 15)
		}
	}
}

// solfege names the twelve pitch classes above do.
var solfege = [12]Syllable{"do", "di", "re", "me", "mi", "fa", "fi", "sol", "le", "la", "te", "ti"}

var (
	scatHeavy   = []Syllable{"ba", "da", "du", "bi", "bop", "dwi", "ya", "sha", "ka", "di", "bu", "wa", "dap", "za"}
	scatLight   = []Syllable{"dn", "du", "u", "uh", "bi", "ba", "li", "da", "di", "la", "n"}
	wordLeads   = []Syllable{"", "", "b", "d", "g", "p", "t", "k", "m", "m", "n", "n", "l", "l", "r", "w", "y", "s", "sh", "f", "h", "v", "z", "st", "tr", "pl", "br", "kr", "fl", "sl"}
	wordVowels  = []Syllable{"i", "I", "e", "E", "ae", "a", "uh", "O", "o", "U", "u", "er", "ai", "ei", "au", "ou"}
	wordLast    = []Syllable{"", "", "", "", "", "n", "m", "l", "s", "t", "d", "z", "nd", "st", "k", "v"}
	legatoLeads = []Syllable{"", "h", "l", "n", "y", "'"}
)

// syllable draws the syllable of note i of a phrase; repeated says that the pitch is that of the note before.
func (c *composer) syllable(i int, repeated bool) Syllable {
	rng := c.rng
	switch c.style {
	case Solfege:
		return solfege[((c.pitch-c.do)%12+12)%12]
	case La:
		return c.la
	case Scat:
		if i%2 == 0 || rng.Float64() < 0.3 {
			return pick(rng, scatHeavy)
		}
		return pick(rng, scatLight)
	case Words:
		const melisma = 0.12 // chance that a vowel goes on over the next note
		if i > 0 && !repeated && rng.Float64() < melisma {
			return c.current
		}
		c.current = pick(rng, wordVowels)
		return pick(rng, wordLeads) + c.current + pick(rng, wordLast)
	case Hum:
		if i > 0 && (repeated || rng.Float64() < 0.4) {
			return pick(rng, []Syllable{"-", "-", "-", "h"}) + c.la
		}
		return c.la
	default:
		const change = 0.25 // chance that the vowel changes with the note
		if i == 0 || rng.Float64() < change {
			c.current = pick(rng, wordVowels[:12])
		}
		if i == 0 {
			return pick(rng, legatoLeads) + c.current
		}
		return c.current
	}
}
