package simulate_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"larkhand/hunt"
	"larkhand/hunt/simulate"
	"larkhand/match"

	"pgregory.net/rapid"
)

// phrase draws a sung phrase of n notes.
func phrase(rng *rand.Rand, n int) []match.Sung {
	var keys []int
	var onsets, durations []float64
	at := 0.0
	for range n {
		keys = append(keys, 55+rng.IntN(20))
		onsets = append(onsets, at)
		durations = append(durations, 0.2)
		at += 0.2 + 0.3*rng.Float64()
	}
	return simulate.Sing(rng, keys, onsets, durations, 0)
}

func fluent(t *rapid.T) (*rand.Rand, simulate.Case) {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 7))
	return rng, simulate.Answer(rng, phrase(rng, rapid.IntRange(2, 12).Draw(t, "notes")), simulate.Plain{})
}

// checkCase checks what holds for every case.
func checkCase(t *rapid.T, c simulate.Case) {
	if len(c.Answers) != len(c.Played) {
		t.Fatalf("%d answers for %d notes", len(c.Answers), len(c.Played))
	}
	last := -1
	for i, p := range c.Played {
		if i > 0 && p.Onset < c.Played[i-1].Onset-1e-9 || p.Offset < p.Onset || p.Velocity < 1 || p.Velocity > 127 {
			t.Fatalf("note %d of %+v", i, c.Played)
		}
		if s := c.Answers[i]; s != match.None {
			if s <= last || s >= len(c.Sung) {
				t.Fatalf("answers %v to %d sung notes", c.Answers, len(c.Sung))
			}
			last = s
		}
	}
	for i := range c.Sung {
		if i > 0 && c.Sung[i].Onset <= c.Sung[i-1].Onset {
			t.Fatalf("sung onsets not in order: %+v", c.Sung)
		}
	}
}

// TestFluentAnswer: every sung note is answered by its own key, and nothing else is played.
func TestFluentAnswer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, c := fluent(t)
		checkCase(t, c)
		for i, p := range c.Played {
			if c.Answers[i] != i || p.Pitch != c.Sung[i].Pitch {
				t.Fatalf("note %d answers %d with %v", i, c.Answers[i], p.Pitch)
			}
		}
		if len(c.Played) != len(c.Sung) || len(c.Faults) > 0 {
			t.Fatalf("%+v", c)
		}
	})
}

// TestFaults: a fault keeps the case sound, leaves the given case alone, and every sung note is still answered by its key.
func TestFaults(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng, c := fluent(t)
		kind := rapid.SampledFrom([]hunt.Kind{hunt.Correction, hunt.Creep, hunt.Hesitation, hunt.Restart, hunt.Touch}).Draw(t, "kind")
		strength := rapid.IntRange(1, 3).Draw(t, "strength")
		notes := slices.Clone(c.Played)
		f := simulate.Put(rng, c, kind, strength)
		checkCase(t, f)
		if !reflect.DeepEqual(notes, c.Played) {
			t.Fatal("the given case was changed")
		}
		answered := 0
		for i, s := range f.Answers {
			if s != match.None {
				answered++
				if f.Played[i].Pitch != f.Sung[s].Pitch {
					t.Fatalf("sung note %d answered by %v", s, f.Played[i].Pitch)
				}
			}
		}
		if answered != len(c.Sung) {
			t.Fatalf("%d of %d sung notes answered", answered, len(c.Sung))
		}
		for _, fault := range f.Faults {
			if fault.Kind != kind || fault.Strength != strength || fault.Sung < 0 || fault.Sung >= len(c.Sung) {
				t.Fatalf("fault %+v", fault)
			}
		}
	})
}

// TestFaultShapes holds each fault to what it is said to be.
func TestFaultShapes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng, c := fluent(t)
		strength := rapid.IntRange(1, 3).Draw(t, "strength")
		extra := func(f simulate.Case) (list []match.Played) {
			for i, s := range f.Answers {
				if s == match.None {
					list = append(list, f.Played[i])
				}
			}
			return list
		}
		end := func(f simulate.Case) float64 { return f.Played[len(f.Played)-1].Onset }

		if f := simulate.Correct(rng, c, strength); len(extra(f)) != strength || end(f) < end(c)+0.13*float64(strength)-1e-9 {
			t.Fatalf("correction of strength %d: %+v", strength, extra(f))
		}
		creep := simulate.Creep(rng, c, strength)
		keys := extra(creep)
		if len(keys) != strength+1 {
			t.Fatalf("creep of strength %d: %+v", strength, keys)
		}
		target := creep.Sung[creep.Faults[0].Sung].Pitch
		for i, k := range keys {
			next := target
			if i+1 < len(keys) {
				next = keys[i+1].Pitch
			}
			if step := math.Abs(next - k.Pitch); step < 1 || step > 2 || (next-k.Pitch)*(target-k.Pitch) <= 0 {
				t.Fatalf("creep %+v to %v", keys, target)
			}
		}
		if f := simulate.Hesitate(rng, c, strength); len(extra(f)) > 0 || end(f) < end(c)+0.3 || len(f.Faults) != min(strength, len(c.Sung)-1) {
			t.Fatalf("hesitation of strength %d: later by %v", strength, end(f)-end(c))
		}
		restart := simulate.Restart(rng, c, strength)
		first := restart.Faults[0].Sung
		for i, k := range extra(restart) {
			if k.Pitch != c.Sung[first+i].Pitch {
				t.Fatalf("restart at %d repeats %+v", first, extra(restart))
			}
		}
		for _, k := range extra(simulate.Touch(rng, c, strength)) {
			if k.Offset-k.Onset > 0.09+1e-9 {
				t.Fatalf("touch %+v", k)
			}
		}
	})
}

// TestLookAlikes: a look-alike keeps the case sound and adds no fault.
func TestLookAlikes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng, c := fluent(t)
		look := rapid.SampledFrom(simulate.Looks).Draw(t, "look")
		l := simulate.LookAlike(rng, c, look)
		checkCase(t, l)
		if len(l.Faults) > 0 {
			t.Fatalf("faults %+v", l.Faults)
		}
		if reflect.DeepEqual(l, c) {
			t.Fatalf("%s changed nothing", look)
		}
	})
}

// TestSameSeedSameCase: all chance comes from the given source.
func TestSameSeedSameCase(t *testing.T) {
	build := func() simulate.Case {
		rng := rand.New(rand.NewPCG(5, 6))
		c := simulate.Answer(rng, phrase(rng, 7), simulate.Plain{})
		for _, look := range simulate.Looks {
			c = simulate.LookAlike(rng, c, look)
		}
		return simulate.Restart(rng, simulate.Creep(rng, c, 2), 3)
	}
	if a, b := build(), build(); !reflect.DeepEqual(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
}

// TestRecorded: the median performance has a stretch of 1 throughout, one that lingers shows where.
func TestRecorded(t *testing.T) {
	even := []match.Played{
		{Onset: 0, Offset: 0.4, Pitch: 60, Velocity: 50}, {Onset: 0.5, Offset: 1, Pitch: 62, Velocity: 60},
		{Onset: 1, Offset: 1.5, Pitch: 64, Velocity: 70}, {Onset: 1.5, Offset: 2, Pitch: 65, Velocity: 80},
	}
	lingering := slices.Clone(even)
	lingering[1].Onset = 0.8
	set := [][]match.Played{even, even, lingering}
	if rhythm := simulate.MedianRhythm(set); !reflect.DeepEqual(rhythm, []float64{1, 1, 1}) {
		t.Errorf("median rhythm %v", rhythm)
	}
	seen := map[float64]bool{}
	rng := rand.New(rand.NewPCG(1, 1))
	for range 50 {
		for _, s := range simulate.NewRecorded(set).Strokes(rng, 3) {
			seen[math.Round(s.Stretch*100)/100] = true
		}
	}
	if want := map[float64]bool{1: true, 1.6: true, 0.4: true}; !reflect.DeepEqual(seen, want) {
		t.Errorf("stretches %v, want %v", seen, want)
	}
	if long := simulate.NewRecorded(set).Strokes(rng, 20); len(long) != 20 {
		t.Errorf("%d strokes, want 20", len(long))
	}
}

func TestPanics(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	c := simulate.Answer(rng, phrase(rng, 4), simulate.Plain{})
	for name, call := range map[string]func(){
		"strength 0":          func() { simulate.Correct(rng, c, 0) },
		"strength 4":          func() { simulate.Hesitate(rng, c, 4) },
		"unknown kind":        func() { simulate.Put(rng, c, "dream", 1) },
		"unknown look":        func() { simulate.LookAlike(rng, c, "dream") },
		"no performance":      func() { simulate.NewRecorded(nil) },
		"lengths that differ": func() { simulate.MedianRhythm([][]match.Played{c.Played, c.Played[:3]}) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			call()
		})
	}
}
