package hunt_test

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/match"

	"pgregory.net/rapid"
)

// source draws a seeded random source.
func source(t *rapid.T) *rand.Rand { return rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)) }

// phraseOf draws a phrase of 2 to 12 notes with intervals of 0.25 to 0.8 s.
func phraseOf(t *rapid.T) []match.Sung {
	n := rapid.IntRange(2, 12).Draw(t, "notes")
	var sung []match.Sung
	at, key := 1.0, 60
	for range n {
		long := rapid.Float64Range(0.25, 0.8).Draw(t, "interval")
		sung = append(sung, match.Sung{
			Onset: at, Offset: at + 0.9*long, Pitch: float64(key), Semitone: key,
			Chance: [3]float64{0.02, 0.96, 0.02}, Confidence: 0.95,
		})
		at += long
		key += rapid.IntRange(-7, 7).Draw(t, "leap")
	}
	return sung
}

// caseOf draws a phrase and an answer, fluent or with faults and look-alikes.
func caseOf(t *rapid.T) simulate.Case {
	rng := source(t)
	c := simulate.Answer(rng, phraseOf(t), simulate.Plain{})
	kinds := []hunt.Kind{hunt.Correction, hunt.Creep, hunt.Hesitation, hunt.Restart, hunt.Touch}
	for range rapid.IntRange(0, 2).Draw(t, "faults") {
		c = simulate.Put(rng, c, rapid.SampledFrom(kinds).Draw(t, "kind"), rapid.IntRange(1, 3).Draw(t, "strength"))
	}
	if rapid.Bool().Draw(t, "look-alike") {
		c = simulate.LookAlike(rng, c, rapid.SampledFrom(simulate.Looks).Draw(t, "look"))
	}
	return c
}

func judge(c simulate.Case) hunt.Finding {
	return hunt.Find(c.Sung, c.Played, match.Align(c.Sung, c.Played), hunt.Options{})
}

// TestFaultlessHasNoEvidence: an answer whose onsets lie within 30 ms of the sung rhythm, at any even tempo from 0.7 to
// 2.5 times as slow, is known and shows nothing.
func TestFaultlessHasNoEvidence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung := phraseOf(t)
		tempo := rapid.Float64Range(0.7, 2.5).Draw(t, "tempo")
		start := rapid.Float64Range(-5, 20).Draw(t, "start")
		var played []match.Played
		for _, s := range sung {
			onset := start + tempo*(s.Onset-sung[0].Onset) + rapid.Float64Range(-0.03, 0.03).Draw(t, "off")
			played = append(played, match.Played{
				Onset: onset, Offset: onset + tempo*(s.Offset-s.Onset), Pitch: s.Pitch, Velocity: rapid.IntRange(60, 80).Draw(t, "velocity"),
			})
		}
		f := hunt.Find(sung, played, match.Align(sung, played), hunt.Options{})
		if f.Label != hunt.Known || len(f.Evidence) > 0 {
			t.Fatalf("%+v", f)
		}
	})
}

// TestOctavesChangeNothing: the finding does not depend on the octave of the answer, nor on its transposition.
func TestOctavesChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := caseOf(t)
		a := match.Align(c.Sung, c.Played)
		octaves, semitones := rapid.IntRange(-3, 3).Draw(t, "octaves"), rapid.IntRange(-6, 6).Draw(t, "semitones")
		moved := append([]match.Played(nil), c.Played...)
		for i := range moved {
			moved[i].Pitch += float64(12*octaves + semitones)
		}
		b := a
		b.Octaves += octaves
		b.Transposition += semitones
		same(t, hunt.Find(c.Sung, c.Played, a, hunt.Options{}), hunt.Find(c.Sung, moved, b, hunt.Options{}), 0)
	})
}

// TestShiftsChangeNothing: the finding does not depend on where the clocks of the take and of the answer start.
func TestShiftsChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := caseOf(t)
		a := match.Align(c.Sung, c.Played)
		take, answer := float64(rapid.IntRange(-500, 500).Draw(t, "take")), float64(rapid.IntRange(-500, 500).Draw(t, "answer"))
		sung := append([]match.Sung(nil), c.Sung...)
		for i := range sung {
			sung[i].Onset += take
			sung[i].Offset += take
		}
		played := append([]match.Played(nil), c.Played...)
		for i := range played {
			played[i].Onset += answer
			played[i].Offset += answer
		}
		same(t, hunt.Find(c.Sung, c.Played, a, hunt.Options{}), hunt.Find(sung, played, a, hunt.Options{}), answer)
	})
}

// same compares two findings; the times of the second are later by shift seconds.
func same(t *rapid.T, a, b hunt.Finding, shift float64) {
	if math.Abs(a.Searched-b.Searched) > 1e-6 || a.Label != b.Label || len(a.Evidence) != len(b.Evidence) {
		t.Fatalf("%+v\n%+v", a, b)
	}
	for i, e := range a.Evidence {
		g := b.Evidence[i]
		if e.Kind != g.Kind || e.Text != g.Text || math.Abs(e.Onset+shift-g.Onset) > 1e-6 || math.Abs(e.Offset+shift-g.Offset) > 1e-6 {
			t.Fatalf("%+v\n%+v", e, g)
		}
	}
}

// TestFindingHolds: whatever was played, the finding keeps its promises.
func TestFindingHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := caseOf(t)
		f := judge(c)
		checkFinding(t.Fatalf, f, len(c.Sung), len(c.Played))
		prior := hunt.Find(c.Sung, c.Played, match.Align(c.Sung, c.Played), hunt.Options{PriorLogOdds: 1})
		if prior.Searched < f.Searched {
			t.Fatalf("a prior for searching lowered p from %v to %v", f.Searched, prior.Searched)
		}
	})
}

// checkFinding checks what holds for every finding.
func checkFinding(fail func(string, ...any), f hunt.Finding, sung, played int) {
	if !(f.Searched >= 0 && f.Searched <= 1) {
		fail("p %v", f.Searched)
	}
	if f.Label == hunt.Known && f.Searched >= 0.5 || f.Label == hunt.Searched && (f.Searched <= 0.8 || len(f.Evidence) == 0) {
		fail("label %s at p %v with %d pieces of evidence", f.Label, f.Searched, len(f.Evidence))
	}
	last := math.Inf(-1)
	for _, e := range f.Evidence {
		if e.Onset < last || e.Offset < e.Onset || !(e.Weight > 0) || e.Text == "" || len(e.Played) == 0 {
			fail("evidence %+v", e)
		}
		last = e.Onset
		for _, s := range e.Sung {
			if s < 0 || s >= sung {
				fail("evidence names sung note %d of %d", s, sung)
			}
		}
		for _, p := range e.Played {
			if p < 0 || p >= played {
				fail("evidence names played note %d of %d", p, played)
			}
		}
	}
}

// FuzzFind throws any numbers at Find: times and pitches of any bits, indices that do not exist.
func FuzzFind(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("\x03\x04 sung and played notes out of any bytes, with pairs that may not exist"))
	nan := binary.LittleEndian.AppendUint64([]byte{2, 2, 1}, math.Float64bits(math.NaN()))
	f.Add(append(nan, nan...))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 4096 {
			return
		}
		r := reader(data)
		sung, played := make([]match.Sung, r.byte()%24), make([]match.Played, r.byte()%24)
		for i := range sung {
			sung[i] = match.Sung{Onset: r.number(), Offset: r.number(), Semitone: int(int8(r.byte())), Unclear: r.byte()%8 == 0}
		}
		for i := range played {
			played[i] = match.Played{Onset: r.number(), Offset: r.number(), Pitch: r.number(), Velocity: int(int8(r.byte()))}
		}
		verdicts := []match.Verdict{match.Same, match.Different, match.Unclear, match.LeftOut, match.Added, ""}
		a := match.Alignment{Octaves: int(int8(r.byte())), Transposition: int(int8(r.byte())), TempoRatio: r.number()}
		for len(r) > 0 {
			a.Pairs = append(a.Pairs, match.Pair{
				Sung: int(int8(r.byte())), Played: int(int8(r.byte())), Verdict: verdicts[int(r.byte())%len(verdicts)],
			})
		}
		opt := hunt.Options{Guitar: a.Octaves > 0, PriorLogOdds: a.TempoRatio}
		found := hunt.Find(sung, played, a, opt)
		if !(found.Searched >= 0 && found.Searched <= 1) {
			t.Fatalf("p %v", found.Searched)
		}
		opt.PriorLogOdds = 0
		checkFinding(t.Fatalf, hunt.Find(sung, played, a, opt), len(sung), len(played))
	})
}

// reader takes values off a byte slice; beyond its end they are zero.
type reader []byte

func (r *reader) byte() byte {
	if len(*r) == 0 {
		return 0
	}
	b := (*r)[0]
	*r = (*r)[1:]
	return b
}

// number is one of: a whole number of hundredths, or a float64 of any bits.
func (r *reader) number() float64 {
	switch r.byte() % 8 {
	case 0:
		var bits [8]byte
		for i := range bits {
			bits[i] = r.byte()
		}
		return math.Float64frombits(binary.LittleEndian.Uint64(bits[:]))
	default:
		return float64(int(r.byte())) / 10
	}
}
