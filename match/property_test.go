package match

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawPhrase draws clear notes inside eleven semitones, so that no octave fits by chance.
func drawPhrase(t *rapid.T, least int) []Sung {
	n := rapid.IntRange(least, 12).Draw(t, "notes")
	low := rapid.IntRange(40, 70).Draw(t, "low")
	now := 0.0
	var notes []Sung
	for range n {
		p := low + rapid.IntRange(0, 10).Draw(t, "pitch")
		length := rapid.Float64Range(0.25, 1.5).Draw(t, "length")
		notes = append(notes, Sung{Onset: now, Offset: now + 0.8*length, Pitch: float64(p), Semitone: p,
			Chance: [3]float64{0.01, 0.98, 0.01}, Confidence: rapid.Float64Range(0.93, 0.98).Draw(t, "confidence")})
		now += length
	}
	return notes
}

// playBack plays the notes shift semitones higher at a drawn tempo.
func playBack(t *rapid.T, sung []Sung, shift int) []Played {
	tempo := rapid.Float64Range(0.5, 3).Draw(t, "tempo")
	start := rapid.Float64Range(-5, 20).Draw(t, "start")
	var notes []Played
	for _, s := range sung {
		notes = append(notes, Played{Onset: start + tempo*s.Onset, Offset: start + tempo*s.Offset, Pitch: float64(s.Semitone + shift), Velocity: 64})
	}
	return notes
}

func drawOctaves(t *rapid.T) int { return rapid.IntRange(-3, 3).Draw(t, "octaves") }

// verdictCount counts the verdicts of pairs.
func verdictCount(pairs []Pair) map[Verdict]int {
	count := map[Verdict]int{}
	for _, p := range pairs {
		count[p.Verdict]++
	}
	return count
}

// expect checks the octaves, that the transposition is 0, and the number of verdicts; other verdicts must not occur.
func expect(t *rapid.T, a Alignment, octaves int, want map[Verdict]int) {
	t.Helper()
	if a.Octaves != octaves || a.Transposition != 0 {
		t.Fatalf("octaves %d, transposition %d; want %d, 0", a.Octaves, a.Transposition, octaves)
	}
	got := verdictCount(a.Pairs)
	for _, v := range []Verdict{Same, Different, Unclear, LeftOut, Added} {
		if got[v] != want[v] {
			t.Fatalf("%d notes %s, want %d: %s", got[v], v, want[v], show(a.Pairs))
		}
	}
}

func TestIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung, octaves := drawPhrase(t, 1), drawOctaves(t)
		played := playBack(t, sung, 12*octaves)
		a := Align(sung, played)
		expect(t, a, octaves, map[Verdict]int{Same: len(sung)})
		if len(sung) > 1 {
			want := (played[1].Onset - played[0].Onset) / (sung[1].Onset - sung[0].Onset)
			if math.Abs(a.TempoRatio/want-1) > 1e-9 {
				t.Fatalf("tempo ratio %g, want %g", a.TempoRatio, want)
			}
		}
	})
}

func TestOneLeftOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung, octaves := drawPhrase(t, 4), drawOctaves(t)
		k := rapid.IntRange(0, len(sung)-1).Draw(t, "left out")
		played := playBack(t, sung, 12*octaves)
		played = append(played[:k], played[k+1:]...)
		a := Align(sung, played)
		expect(t, a, octaves, map[Verdict]int{Same: len(sung) - 1, LeftOut: 1})
		for _, p := range a.Pairs {
			if p.Verdict == LeftOut && sung[p.Sung].Semitone != sung[k].Semitone {
				t.Fatalf("note %d left out, want %d or an equal neighbour", p.Sung, k)
			}
		}
	})
}

func TestOneChanged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung, octaves := drawPhrase(t, 4), drawOctaves(t)
		k := rapid.IntRange(0, len(sung)-1).Draw(t, "changed")
		played := playBack(t, sung, 12*octaves)
		by := rapid.IntRange(1, 11).Draw(t, "by")
		if rapid.Bool().Draw(t, "down") {
			by = -by
		}
		played[k].Pitch += float64(by)
		a := Align(sung, played)
		expect(t, a, octaves, map[Verdict]int{Same: len(sung) - 1, Different: 1})
		for _, p := range a.Pairs {
			if p.Verdict == Different && (p.Sung != k || p.Played != k) {
				t.Fatalf("note %d/%d different, want %d", p.Sung, p.Played, k)
			}
		}
	})
}

func TestOneAdded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung, octaves := drawPhrase(t, 4), drawOctaves(t)
		played := playBack(t, sung, 12*octaves)
		k := rapid.IntRange(1, len(sung)-1).Draw(t, "before")
		extra := played[k]
		extra.Onset = (played[k-1].Onset + played[k].Onset) / 2
		extra.Pitch = float64(rapid.IntRange(30, 100).Draw(t, "pitch"))
		played = append(played[:k], append([]Played{extra}, played[k:]...)...)
		a := Align(sung, played)
		expect(t, a, octaves, map[Verdict]int{Same: len(sung), Added: 1})
		for _, p := range a.Pairs {
			if p.Verdict == Added && played[p.Played].Pitch != extra.Pitch {
				t.Fatalf("note %d added, want %d or an equal neighbour", p.Played, k)
			}
		}
	})
}

func TestTransposed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung, octaves := drawPhrase(t, 4), drawOctaves(t)
		by := rapid.IntRange(1, 6).Draw(t, "by")
		if rapid.Bool().Draw(t, "down") {
			by = -by
		}
		a := Align(sung, playBack(t, sung, 12*octaves+by))
		if a.Semitones() != 12*octaves+by || a.Transposition != by && (by != 6 && by != -6) {
			t.Fatalf("octaves %d, transposition %d; want %d, %d", a.Octaves, a.Transposition, octaves, by)
		}
		if n := verdictCount(a.Pairs)[Same]; n != len(sung) {
			t.Fatalf("%d of %d the same: %s", n, len(sung), show(a.Pairs))
		}
	})
}

// drawAnySung draws notes of any kind, in any order.
func drawAnySung(t *rapid.T) []Sung {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Sung {
		on := rapid.Float64Range(0, 5).Draw(t, "onset")
		p := rapid.IntRange(55, 65).Draw(t, "semitone")
		return Sung{Onset: on, Offset: on + rapid.Float64Range(0, 1).Draw(t, "length"), Pitch: float64(p), Semitone: p,
			Chance:     [3]float64{rapid.Float64Range(0, 1).Draw(t, "below"), 1, rapid.Float64Range(0, 1).Draw(t, "above")},
			Confidence: rapid.Float64Range(0, 1).Draw(t, "confidence"), Unclear: rapid.Bool().Draw(t, "unclear")}
	}), 0, 12).Draw(t, "sung")
}

func drawAnyPlayed(t *rapid.T) []Played {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Played {
		on := rapid.Float64Range(0, 5).Draw(t, "onset")
		p := rapid.OneOf(rapid.Map(rapid.IntRange(50, 90), func(k int) float64 { return float64(k) }), rapid.Float64Range(50, 90))
		return Played{Onset: on, Offset: on + 0.2, Pitch: p.Draw(t, "pitch"), Velocity: 64}
	}), 0, 15).Draw(t, "played")
}

// checkShape holds the promises on Pairs that do not depend on the notes.
func checkShape(t interface{ Fatalf(string, ...any) }, sung []Sung, played []Played, a Alignment) {
	seenSung, seenPlayed := make([]int, len(sung)), make([]int, len(played))
	lastSung, lastPlayed := math.Inf(-1), math.Inf(-1)
	for _, p := range a.Pairs {
		if p.Sung == None && p.Played == None || (p.Sung == None) != (p.Verdict == Added) || p.Verdict == LeftOut && p.Played != None {
			t.Fatalf("impossible pair %+v", p)
		}
		if p.Sung != None {
			seenSung[p.Sung]++
			if on := cleanTime(sung[p.Sung].Onset); on < lastSung {
				t.Fatalf("sung notes out of order: %+v", a.Pairs)
			} else {
				lastSung = on
			}
			if sung[p.Sung].Unclear && (p.Verdict == Different || p.Verdict == LeftOut) {
				t.Fatalf("unclear note called %s", p.Verdict)
			}
		}
		if p.Played != None {
			seenPlayed[p.Played]++
			if on := cleanTime(played[p.Played].Onset); on < lastPlayed {
				t.Fatalf("played notes out of order: %+v", a.Pairs)
			} else {
				lastPlayed = on
			}
		}
	}
	for _, seen := range [][]int{seenSung, seenPlayed} {
		for i, n := range seen {
			if n != 1 {
				t.Fatalf("note %d stands in %d pairs", i, n)
			}
		}
	}
	if !(a.TempoRatio > 0) || math.IsInf(a.TempoRatio, 0) || a.Transposition < -6 || a.Transposition > 6 {
		t.Fatalf("tempo ratio %g, transposition %d", a.TempoRatio, a.Transposition)
	}
}

func TestAnyLists(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sung, played := drawAnySung(t), drawAnyPlayed(t)
		tuning := rapid.Float64Range(-50, 50).Draw(t, "tuning")
		checkShape(t, sung, played, AlignWith(sung, played, Options{TuningCents: tuning}))
	})
}

func TestTakesAny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first, second := drawAnySung(t), drawAnySung(t)
		a := Takes(first, second)
		seenFirst, seenSecond := map[int]bool{}, map[int]bool{}
		for _, p := range a.Pairs {
			if seenFirst[p[0]] || seenSecond[p[1]] {
				t.Fatalf("a note is paired twice: %v", a.Pairs)
			}
			seenFirst[p[0]], seenSecond[p[1]] = true, true
		}
		out := Combine(first, second, a)
		if len(out) != len(second) {
			t.Fatalf("%d notes, want %d", len(out), len(second))
		}
		for i, n := range out {
			sum := n.Chance[0] + n.Chance[1] + n.Chance[2]
			if n.Onset != second[i].Onset || n.Offset != second[i].Offset || n.Pitch != second[i].Pitch {
				t.Fatalf("note %d moved", i)
			}
			if a.SamePhrase && (n.Confidence < 0 || n.Confidence > 1 || seenSecond[i] && math.Abs(sum-1) > 1e-9) {
				t.Fatalf("note %d: confidence %g, chances %v", i, n.Confidence, n.Chance)
			}
		}
	})
}

func TestTakesIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		first := drawPhrase(t, 1)
		second := append([]Sung{}, first...)
		by := rapid.IntRange(-15, 15).Draw(t, "by")
		for i := range second {
			second[i].Semitone += by
			second[i].Pitch += float64(by)
			second[i].Onset *= 1.3
			second[i].Offset *= 1.3
		}
		a := Takes(first, second)
		if !a.SamePhrase || a.Semitones() != by || len(a.Pairs) != len(first) || len(a.Moved) != 0 {
			t.Fatalf("got %+v, want the same phrase %d semitones away", a, by)
		}
	})
}
