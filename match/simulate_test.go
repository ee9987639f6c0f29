package match

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The simulator: random diatonic phrases, a voice tracker with its usual faults, and a player with one fault an answer.
// It is no measure of real singing; it holds the priors of the package to the rates that trackers show.

// meantNote is what the singer meant.
type meantNote struct {
	pitch         int
	onset, offset float64
}

// heardNote is what the tracker made of it.
type heardNote struct {
	Sung
	of int // index of the meant note, None for a spurious one
}

// answerNote is what the player played.
type answerNote struct {
	Played
	of int // index of the meant note it answers, rightly or wrongly; None for an added one
}

// Rates of tracker faults. The pitch error makes about 2 % semitone errors by itself.
const (
	simMerge    = 0.10 // of repeats
	simSplit    = 0.02 // of notes
	simSpurious = 0.02 // of notes
	simPitchSD  = 0.21 // semitones
	simSlip     = 0.005
)

var majorScale = []int{0, 2, 4, 5, 7, 9, 11}

// diatonicPhrase makes 3 to 12 notes; intervals follow jazz solos roughly: 7 % repeats, half steps, few leaps.
func diatonicPhrase(r *rand.Rand) []meantNote {
	n := 3 + r.IntN(10)
	step, tonic := 4+r.IntN(7), 48+r.IntN(12)
	var notes []meantNote
	now := 0.0
	for range n {
		length := []float64{0.3, 0.3, 0.3, 0.45, 0.6, 0.9}[r.IntN(6)]
		notes = append(notes, meantNote{tonic + 12*(step/7) + majorScale[step%7], now, now + length*0.92})
		now += length
		jump := []int{0, 1, 1, 1, 2, 2, 3, 4}[r.IntN(8)]
		if jump == 0 && r.IntN(2) == 0 {
			jump = 1
		}
		if r.IntN(2) == 0 {
			jump = -jump
		}
		step = min(max(step+jump, 0), 20)
	}
	return notes
}

// track makes heard notes with the tracker's faults.
func track(r *rand.Rand, phrase []meantNote) []heardNote {
	var notes []heardNote
	for i, m := range phrase {
		if i > 0 && m.pitch == phrase[i-1].pitch && r.Float64() < simMerge && len(notes) > 0 {
			notes[len(notes)-1].Offset = m.offset
			continue
		}
		if i > 0 && r.Float64() < simSpurious {
			notes = append(notes, spurious(r, m))
		}
		if r.Float64() < simSplit {
			middle := m.onset + (0.3+0.4*r.Float64())*(m.offset-m.onset)
			notes = append(notes, hear(r, i, m.pitch, m.onset, middle, 0.9), hear(r, i, m.pitch, middle, m.offset, 0.6+0.35*r.Float64()))
			continue
		}
		notes = append(notes, hear(r, i, m.pitch, m.onset, m.offset, 0.85+0.15*r.Float64()))
	}
	return notes
}

// spurious is a scoop taken for a note just before m.
func spurious(r *rand.Rand, m meantNote) heardNote {
	length := 0.05 + 0.1*r.Float64()
	return hear(r, None, m.pitch-1-r.IntN(2), m.onset-length, m.onset, 0.4+0.5*r.Float64())
}

// hear makes one heard note with the Chances that a voice stage with the right error model gives it.
func hear(r *rand.Rand, of, pitch int, onset, offset, existence float64) heardNote {
	sounding := float64(pitch) + simPitchSD*r.NormFloat64()
	if r.Float64() < simSlip {
		sounding += float64(1 - 2*r.IntN(2))
	}
	n := Sung{Onset: onset + 0.02*r.NormFloat64(), Offset: offset, Pitch: sounding, Semitone: int(math.Round(sounding))}
	n.Offset = math.Max(n.Offset, n.Onset+0.04)
	sum := 0.0
	for k := range n.Chance {
		d := sounding - float64(n.Semitone+k-1)
		n.Chance[k] = math.Exp(-d*d/(2*simPitchSD*simPitchSD)) + 0.002
		sum += n.Chance[k]
	}
	for k := range n.Chance {
		n.Chance[k] /= sum
	}
	n.Confidence = existence * n.Chance[1]
	n.Unclear = n.Chance[1] < 0.8 || n.Offset-n.Onset < 0.06 || existence < 0.5
	return heardNote{n, of}
}

// playFault is what goes wrong in an answer.
type playFault int

const (
	noFault playFault = iota
	wrongKey
	missedNote
	correctedNote
	replayedPart
	faultKinds
)

// answer plays the phrase in another octave and tempo with one fault at note k.
func answer(r *rand.Rand, phrase []meantNote, fault playFault, k int) []answerNote {
	octave := 12 * (r.IntN(4) - 1)
	tempo := 0.85 + 1.2*r.Float64()
	var notes []answerNote
	delay := 0.0
	put := func(of, pitch int, at float64) {
		on := at*tempo + delay + 0.02*r.NormFloat64()
		notes = append(notes, answerNote{Played{Onset: on, Offset: on + 0.2, Pitch: float64(pitch + octave), Velocity: 70}, of})
	}
	wrong := []int{-4, -3, -2, -2, -1, -1, 1, 1, 2, 2, 3, 4}
	for i, m := range phrase {
		switch {
		case i == k && fault == wrongKey:
			put(i, m.pitch+wrong[r.IntN(len(wrong))], m.onset)
			continue
		case i == k && fault == missedNote:
			continue
		case i == k && fault == correctedNote:
			put(None, m.pitch+wrong[r.IntN(len(wrong))], m.onset)
			delay += 0.15 + 0.4*r.Float64()
		case i == k && fault == replayedPart:
			for back := max(0, i-2); back < i; back++ {
				put(None, phrase[back].pitch, m.onset)
				notes[len(notes)-1].of = back
				delay += tempo * 0.4
			}
		}
		put(i, m.pitch, m.onset)
	}
	return notes
}

// rates counts verdicts.
type rates struct {
	right, blamed, unclear  int // notes played as meant, or heard where none was meant
	wrong, missed, wrongFog int // notes played wrong, called same, called unclear
	left, found, leftFog    int // notes left out, called left out, called unclear
	shifted                 int // answers given a transposition
	answers                 int
}

func share(part, whole int) float64 { return 100 * float64(part) / math.Max(float64(whole), 1) }

// count adds one answer. A note counts as right where the player played it right.
func (c *rates) count(heard []heardNote, played []answerNote, fault playFault, k int, a Alignment) {
	c.answers++
	if a.Transposition != 0 {
		c.shifted++
	}
	for _, p := range a.Pairs {
		if p.Sung == None {
			continue
		}
		switch of := heard[p.Sung].of; {
		case of == k && fault == wrongKey:
			c.wrong++
			c.missed += one(p.Verdict == Same)
			c.wrongFog += one(p.Verdict == Unclear)
		case of == k && fault == missedNote:
			c.left++
			c.found += one(p.Verdict == LeftOut || p.Verdict == Different)
			c.leftFog += one(p.Verdict == Unclear)
		default:
			c.right++
			c.blamed += one(p.Verdict == Different || p.Verdict == LeftOut)
			c.unclear += one(p.Verdict == Unclear)
		}
	}
}

func one(b bool) int {
	if b {
		return 1
	}
	return 0
}

func lists(heard []heardNote, played []answerNote) ([]Sung, []Played) {
	var s []Sung
	for _, n := range heard {
		s = append(s, n.Sung)
	}
	var p []Played
	for _, n := range played {
		p = append(p, n.Played)
	}
	return s, p
}

// simulate runs n rounds; two takes each where combined is set.
func simulate(seed uint64, n int, combined bool) rates {
	r := rand.New(rand.NewPCG(seed, 1))
	var c rates
	for round := range n {
		phrase := diatonicPhrase(r)
		first, second := track(r, phrase), track(r, phrase)
		fault, k := playFault(round%int(faultKinds)), r.IntN(len(phrase))
		played := answer(r, phrase, fault, k)
		sung, keys := lists(second, played)
		if combined {
			witness, _ := lists(first, nil)
			sung = Combine(witness, sung, Takes(witness, sung))
		}
		c.count(second, played, fault, k, Align(sung, keys))
	}
	return c
}

// The targets for real singing are at most 3 % of right notes blamed, 5 % of wrong notes called same, 10 % unclear; the
// simulated rates must stay well inside.
func TestSimulated(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	alone := simulate(1, 5000, false)
	both := simulate(1, 5000, true)
	for _, c := range []struct {
		name string
		rates
	}{{"one take", alone}, {"two takes", both}} {
		t.Logf("%s: of %d right notes %.2f %% blamed, %.2f %% unclear; of %d wrong ones %.2f %% called same, %.2f %% unclear; "+
			"of %d left out %.1f %% found, %.1f %% unclear; %.2f %% of %d answers transposed",
			c.name, c.right, share(c.blamed, c.right), share(c.unclear, c.right), c.wrong, share(c.missed, c.wrong), share(c.wrongFog, c.wrong),
			c.left, share(c.found, c.left), share(c.leftFog, c.left), share(c.shifted, c.answers), c.answers)
		if v := share(c.blamed, c.right); v > 1.5 {
			t.Errorf("%s: %.2f %% of right notes blamed, at most 1.5", c.name, v)
		}
		if v := share(c.missed, c.wrong); v > 3 {
			t.Errorf("%s: %.2f %% of wrong notes called same, at most 3", c.name, v)
		}
		if v := share(c.unclear, c.right); v > 10 {
			t.Errorf("%s: %.2f %% of right notes unclear, at most 10", c.name, v)
		}
		if v := share(c.shifted, c.answers); v > 0.5 {
			t.Errorf("%s: %.2f %% of answers given a transposition, at most 0.5", c.name, v)
		}
	}
	if both.blamed > alone.blamed || both.unclear > alone.unclear {
		t.Errorf("two takes (%d blamed, %d unclear) must be no worse than one (%d, %d)", both.blamed, both.unclear, alone.blamed, alone.unclear)
	}
}

func TestTakesSimulated(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 1))
	const n = 2000
	missed, confused, long := 0, 0, 0
	for range n {
		phrase, other := diatonicPhrase(r), diatonicPhrase(r)
		first, _ := lists(track(r, phrase), nil)
		second, _ := lists(track(r, phrase), nil)
		third, _ := lists(track(r, other), nil)
		for i := range second {
			second[i].Pitch += 13
			second[i].Semitone += 13
		}
		missed += one(!Takes(first, second).SamePhrase)
		if min(len(phrase), len(other)) >= 5 {
			long++
			confused += one(Takes(first, third).SamePhrase)
		}
	}
	t.Logf("same phrase missed in %.2f %% of %d, found in %.2f %% of %d pairs of different phrases", share(missed, n), n, share(confused, long), long)
	if share(missed, n) > 1 {
		t.Errorf("%d of %d same phrases missed", missed, n)
	}
	if share(confused, long) > 3 {
		t.Errorf("%d of %d different phrases called the same", confused, long)
	}
}
