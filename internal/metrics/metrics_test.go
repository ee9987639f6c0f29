package metrics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const tiny = 1e-9

func near(a, b float64) bool { return math.Abs(a-b) <= tiny }

// The F values follow from published counts of one system on the 2,154 notes of Molina et al. 2014 (result file of
// the pYIN note tracker, 2014): 967, 1285 and 1378 matches, 1,897 estimated notes.
func TestFromCounts(t *testing.T) {
	for _, c := range []struct {
		matched int
		want    float64
	}{{967, .4774}, {1285, .6344}, {1378, .6803}} {
		if got := FromCounts(c.matched, 2154, 1897).F; math.Abs(got-c.want) > 5e-5 {
			t.Errorf("F of %d matches = %.5f, want %.4f", c.matched, got, c.want)
		}
	}
}

// Raffel et al. 2014, Molina et al. 2014: the larger of 50 ms and 20 % of the reference duration.
func TestOffsetTolerance(t *testing.T) {
	for _, c := range []struct{ duration, want float64 }{{0.20, 0.05}, {0.40, 0.08}, {1.0, 0.2}} {
		if got := COnPOff.OffsetTolerance(Note{Onset: 1, Offset: 1 + c.duration}); !near(got, c.want) {
			t.Errorf("tolerance for %v s = %v, want %v", c.duration, got, c.want)
		}
	}
}

// 452.8930 Hz lies 50 cents above A4 = 440 Hz: inside by <=, outside by < (computed from the definition of the cent).
func TestPitchBoundary(t *testing.T) {
	fifty := 69 + 12*math.Log2(440*math.Pow(2, 50.0/1200)/440)
	ref, est := []Note{{0, 1, 69}}, []Note{{0, 1, fifty}}
	strict := COnP
	strict.Strict = true
	if got := len(MatchNotes(ref, est, COnP)); got != 1 {
		t.Errorf("inclusive: %d pairs, want 1", got)
	}
	if got := len(MatchNotes(ref, est, strict)); got != 0 {
		t.Errorf("strict: %d pairs, want 0", got)
	}
}

func TestOnsetBoundary(t *testing.T) {
	ref := []Note{{0, 0.5, 60}, {0.5, 1, 62}}
	est := []Note{{0.049, 0.5, 60.49}, {0.551, 1, 62}}
	for name, tol := range map[string]Tolerance{"COn": COn, "COnP": COnP} {
		pairs := MatchNotes(ref, est, tol)
		if len(pairs) != 1 || pairs[0] != (Match{0, 0}) {
			t.Errorf("%s: pairs %v, want the first notes only", name, pairs)
		}
	}
	// 0.30 - 0.25 is a little more than 0.05 in floating point; rounding keeps it inside.
	if got := Onsets([]Note{{0.25, 1, 60}}, []Note{{0.30, 1, 60}}, OnsetTolerance).Matched; got != 1 {
		t.Errorf("50 ms late: %d matched, want 1", got)
	}
}

// A greedy matching finds two pairs here, a maximum matching three.
func TestMaximumMatching(t *testing.T) {
	ref := []Note{{1.00, 2, 60}, {1.04, 2, 60}, {1.08, 2, 60}}
	est := []Note{{1.05, 2, 60}, {1.00, 2, 60}, {1.09, 2, 60}}
	want := []Match{{0, 1}, {1, 0}, {2, 2}}
	got := MatchNotes(ref, est, COnP)
	if len(got) != 3 {
		t.Fatalf("pairs %v, want e.g. %v", got, want)
	}
	partner := maximumMatching([][]int{{0, 1}, {0}, {1, 2}, {2}}, 3)
	pairs := 0
	for _, j := range partner {
		if j >= 0 {
			pairs++
		}
	}
	if pairs != 3 {
		t.Errorf("%d pairs, want 3 (partners %v)", pairs, partner)
	}
}

func TestEmptyListsGiveZero(t *testing.T) {
	notes := []Note{{0, 1, 60}}
	for _, c := range [][2][]Note{{nil, nil}, {notes, nil}, {nil, notes}} {
		if s := Transcription(c[0], c[1], COnPOff); s.F != 0 || s.Precision != 0 || s.Recall != 0 || s.Overlap != 0 {
			t.Errorf("scores of %d and %d notes: %+v, want zeros", len(c[0]), len(c[1]), s)
		}
	}
	if got := NoteErrorRate(nil, notes); got != 0 {
		t.Errorf("rate without reference = %v, want 0", got)
	}
	if m, err := Melody(Contour{}, Contour{}, DefaultMelodyCents); err != nil || m != (MelodyScores{}) {
		t.Errorf("empty melody: %+v, %v", m, err)
	}
}

func TestCheckNotes(t *testing.T) {
	for _, bad := range []Note{{1, 1, 60}, {2, 1, 60}, {-1, 1, 60}, {0, 1, math.NaN()}} {
		if CheckNotes([]Note{bad}) == nil {
			t.Errorf("%+v passes", bad)
		}
	}
	if err := CheckNotes([]Note{{0, 1, 60}}); err != nil {
		t.Error(err)
	}
}

func TestNoteErrorRate(t *testing.T) {
	seq := func(pitches ...float64) (out []Note) {
		for i, p := range pitches {
			out = append(out, Note{float64(i), float64(i) + 1, p})
		}
		return out
	}
	ref := seq(60, 62, 64, 64)
	for _, c := range []struct {
		name string
		est  []Note
		want float64
	}{
		{"equal", seq(60, 62, 64, 64), 0},
		{"0.6 semitone off is the same note", seq(60.6, 61.4, 64, 64), 0},
		{"one merged repeat", seq(60, 62, 64), .25},
		{"one changed", seq(60, 63, 64, 64), .25},
		{"one more", seq(60, 62, 67, 64, 64), .25},
		{"nothing", nil, 1},
	} {
		if got := NoteErrorRate(ref, c.est); !near(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestAnatomy(t *testing.T) {
	ref := []Note{{0, 1, 60}, {1, 2, 60}, {2, 3, 64}, {4, 5, 65}}
	for _, c := range []struct {
		name string
		est  []Note
		want Anatomy
	}{
		{"faultless", ref, Anatomy{}},
		{"repeat merged", []Note{{0, 2, 60}, {2, 3, 64}, {4, 5, 65}}, Anatomy{MergedRepeat: 1}},
		{"change merged", []Note{{0, 1, 60}, {1, 3, 60}, {4, 5, 65}}, Anatomy{MergedChange: 1}},
		{"split", []Note{{0, 1, 60}, {1, 2, 60}, {2, 2.5, 64}, {2.5, 3, 64.2}, {4, 5, 65}}, Anatomy{Split: 1}},
		{"spurious in a rest", append([]Note{{3.2, 3.8, 65}}, ref...), Anatomy{Spurious: 1}},
		{"spurious inside", []Note{{0, 1, 60}, {1, 2, 60}, {2, 2.3, 62}, {2.3, 3, 64}, {4, 5, 65}}, Anatomy{Spurious: 1}},
		{"octave", []Note{{0, 1, 72.3}, {1, 2, 60}, {2, 3, 64}, {4, 5, 65}}, Anatomy{Octave: 1}},
		{"pitch off", []Note{{0, 1, 60.51}, {1, 2, 60.5}, {2, 3, 64}, {4, 5, 65}}, Anatomy{PitchOff: 1}},
		{"missed", []Note{{0, 1, 60}, {1, 2, 60}, {2, 3, 64}}, Anatomy{Missed: 1}},
	} {
		c.want.Ref, c.want.Repeats = 4, 1
		if got := Errors(ref, c.est); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// Hand-made: four reference frames, one unvoiced.
func TestMelody(t *testing.T) {
	ref := Contour{Times: []float64{0, .01, .02, .03}, F0: []float64{220, 220, 220, 0}}
	est := Contour{Times: []float64{0, .01, .02, .03}, F0: []float64{220, 440, -220, 100}}
	got, err := Melody(ref, est, DefaultMelodyCents)
	want := MelodyScores{VoicingRecall: 2. / 3, VoicingFalseAlarm: 1, RawPitch: 2. / 3, RawChroma: 1, Overall: .25}
	if err != nil || !near(got.VoicingRecall, want.VoicingRecall) || !near(got.RawPitch, want.RawPitch) ||
		got.RawChroma != want.RawChroma || got.Overall != want.Overall || got.VoicingFalseAlarm != want.VoicingFalseAlarm {
		t.Errorf("%+v, %v, want %+v", got, err, want)
	}
}

func TestMelodyRefusesBrokenContours(t *testing.T) {
	good := Contour{Times: []float64{0, 1}, F0: []float64{1, 1}}
	for name, bad := range map[string]Contour{
		"lengths":   {Times: []float64{0, 1}, F0: []float64{1}},
		"order":     {Times: []float64{1, 0}, F0: []float64{1, 1}},
		"no number": {Times: []float64{0, 1}, F0: []float64{1, math.NaN()}},
	} {
		if _, err := Melody(good, bad, DefaultMelodyCents); err == nil {
			t.Errorf("%s: no error", name)
		}
		if _, err := Melody(bad, good, DefaultMelodyCents); err == nil {
			t.Errorf("%s in the reference: no error", name)
		}
	}
}

func drawNotes(t *rapid.T, name string) []Note {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Note {
		onset := rapid.Float64Range(0, 2).Draw(t, "onset")
		return Note{onset, onset + rapid.Float64Range(.05, 1).Draw(t, "duration"), rapid.Float64Range(58, 62).Draw(t, "pitch")}
	}), 0, 12).Draw(t, name)
}

// largest finds the size of the largest matching by trying everything.
func largest(ref, est []Note, tol Tolerance, i int, used uint) int {
	if i == len(ref) {
		return 0
	}
	best := largest(ref, est, tol, i+1, used)
	for j := range est {
		if used&(1<<j) == 0 && tol.allows(ref[i], est[j]) {
			best = max(best, 1+largest(ref, est, tol, i+1, used|1<<j))
		}
	}
	return best
}

func TestMatchingIsLargestAndProper(t *testing.T) {
	wide := Tolerance{Onset: .2, PitchCents: 100, OffsetRatio: -1}
	rapid.Check(t, func(t *rapid.T) {
		ref, est := drawNotes(t, "ref"), drawNotes(t, "est")
		if len(ref) > 7 {
			ref = ref[:7]
		}
		pairs := MatchNotes(ref, est, wide)
		seen := map[int]bool{}
		for k, p := range pairs {
			if !wide.allows(ref[p.Ref], est[p.Est]) || seen[p.Est] || (k > 0 && pairs[k-1].Ref >= p.Ref) {
				t.Fatalf("improper pairs %v", pairs)
			}
			seen[p.Est] = true
		}
		if want := largest(ref, est, wide, 0, 0); len(pairs) != want {
			t.Fatalf("%d pairs, largest is %d", len(pairs), want)
		}
	})
}

func TestSelfComparisonIsPerfect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		notes := drawNotes(t, "notes")
		s := Transcription(notes, notes, COnPOff)
		if s.Matched != len(notes) || NoteErrorRate(notes, notes) != 0 {
			t.Fatalf("%+v", s)
		}
	})
}

func TestEditDistanceIsSymmetricAndBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawNotes(t, "a"), drawNotes(t, "b")
		d := EditDistance(a, b, SameNoteSemitones)
		if d != EditDistance(b, a, SameNoteSemitones) || d > max(len(a), len(b)) || d < max(len(a), len(b))-min(len(a), len(b)) {
			t.Fatalf("distance %d of %d and %d notes", d, len(a), len(b))
		}
	})
}
