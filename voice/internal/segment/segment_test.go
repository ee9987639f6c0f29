package segment

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/track"
)

// take builds a path and marks by hand: quiet at first, then note by note.
type take struct {
	path  track.Path
	marks []marks.Marks
}

const frame = 0.01 // s

func (t *take) rest(frames int) {
	for range frames {
		t.path.Pitch = append(t.path.Pitch, math.NaN())
		t.path.Bridged = append(t.path.Bridged, 60)
		t.path.Score = append(t.path.Score, 0)
		t.marks = append(t.marks, marks.Marks{Begins: 0.001, Ends: 0.001, Inside: 0.02})
	}
}

func (t *take) note(frames int, pitch func(i int) float64, begins, ends float64) {
	from := len(t.marks)
	for i := range frames {
		t.path.Pitch = append(t.path.Pitch, pitch(i))
		t.path.Bridged = append(t.path.Bridged, pitch(i))
		t.path.Score = append(t.path.Score, 0.9)
		t.marks = append(t.marks, marks.Marks{Begins: 0.001, Ends: 0.001, Inside: 0.97})
	}
	t.marks[from].Begins = begins
	t.marks[len(t.marks)-1].Ends = ends
}

func steady(p float64) func(int) float64 { return func(int) float64 { return p } }

// slack is how far a note's edge may lie from where it was built, in frames: a
// sharp step gives a plateau as wide as half the span of its medians.
const slack = stepSpan / 2

func (t *take) check(tt *testing.T, want ...[2]int) {
	tt.Helper()
	got := Find(t.path, t.marks)
	if len(got) != len(want) {
		tt.Fatalf("%d notes, want %d: %v", len(got), len(want), got)
	}
	for i, n := range got {
		if abs(n.Begin-want[i][0]) > slack || abs(n.End-want[i][1]) > slack {
			tt.Errorf("note %d is [%d, %d), want [%d, %d)", i, n.Begin, n.End, want[i][0], want[i][1])
		}
	}
}

func TestTwoNotesAndARest(t *testing.T) {
	var x take
	x.rest(20)
	x.note(40, steady(60), 0.9, 0.9)
	x.rest(20)
	x.note(30, steady(64), 0.9, 0.9)
	x.rest(20)
	x.check(t, [2]int{20, 59}, [2]int{80, 109})
}

// The same pitch again without a rest: only the mark parts the notes.
func TestRepeatNeedsAMark(t *testing.T) {
	for _, c := range []struct {
		mark float64
		want [][2]int
	}{
		{0.7, [][2]int{{20, 60}, {60, 99}}},
		{0.001, [][2]int{{20, 99}}},
	} {
		var x take
		x.rest(20)
		x.note(40, steady(60), 0.9, 0.001)
		x.note(40, steady(60), c.mark, 0.9)
		x.rest(20)
		x.check(t, c.want...)
	}
}

// A lasting step of pitch makes a note even where the network says nothing.
func TestStepWithoutAMark(t *testing.T) {
	var x take
	x.rest(20)
	x.note(40, steady(60), 0.9, 0.001)
	x.note(40, steady(62), 0.001, 0.9)
	x.rest(20)
	x.check(t, [2]int{20, 60}, [2]int{60, 99})
}

// A small semitone parts two notes where the pitch is even on both sides, and does not where it wanders.
func TestSmallStep(t *testing.T) {
	wandering := func(centre float64) func(int) float64 {
		return func(i int) float64 { return centre + 0.3*math.Sin(2*math.Pi*float64(i)/25) }
	}
	for _, c := range []struct {
		sung  func(float64) func(int) float64
		notes [][2]int
	}{
		{steady, [][2]int{{10, 40}, {40, 70}}},
		{wandering, [][2]int{{10, 70}}},
	} {
		var tk take
		tk.rest(10)
		tk.note(30, c.sung(60), 0.8, 0.001)
		tk.note(30, c.sung(60.6), 0.001, 0.8)
		tk.rest(10)
		tk.check(t, c.notes...)
	}
}

// A doubtful mark parts a note of 160 ms where the take runs, and not where it goes slowly. By the formula of the package two notes of
// 80 ms win from a probability of 0.49 on where 0.2 s are usual, from 0.62 on where 0.4 s are.
func TestPaceOfTheTake(t *testing.T) {
	for _, c := range []struct{ frames, want int }{{10, 10}, {50, 9}} {
		var x take
		x.rest(10)
		for i := range 8 {
			x.note(c.frames, steady(60+float64(i%2)*4), 0.9, 0.001)
		}
		x.note(8, steady(60), 0.9, 0.001)
		x.note(8, steady(60), 0.55, 0.6)
		x.rest(10)
		if got := Find(x.path, x.marks); len(got) != c.want {
			t.Errorf("notes of %d0 ms: %d notes, want %d", c.frames, len(got), c.want)
		}
	}
}

// Without clear marks there is no pace, and the usual length is the median of sight-singing.
func TestUsualLength(t *testing.T) {
	for _, c := range []struct {
		frames, notes int
		want          float64 // s
	}{{50, 8, 0.4}, {20, 8, 0.4}, {15, 8, 0.3}, {10, 8, 0.2}, {6, 8, 0.2}, {10, 3, 0.4}} {
		var x take
		x.rest(5)
		for range c.notes {
			x.note(c.frames, steady(60), 0.8, 0.5)
		}
		x.rest(5)
		s := &search{path: x.path, marks: x.marks, n: len(x.marks)}
		s.candidates()
		if math.Abs(s.usual-c.want) > 1e-9 {
			t.Errorf("%d notes of %d0 ms: usual length %.3f s, want %.3f", c.notes, c.frames, s.usual, c.want)
		}
	}
}

func TestVibratoDoesNotSplit(t *testing.T) {
	var x take
	x.rest(20)
	x.note(100, func(i int) float64 { return 69 + math.Sin(2*math.Pi*6*float64(i)*frame) }, 0.9, 0.9)
	x.rest(20)
	x.check(t, [2]int{20, 119})
}

func TestNothing(t *testing.T) {
	var x take
	x.check(t)
	x.rest(3)
	x.check(t)
	x.rest(200)
	x.check(t)
}

// Whatever the marks say: notes in order, none overlapping, none shorter or longer than the bounds.
func TestPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var x take
		n := rapid.IntRange(0, 900).Draw(t, "frames")
		for len(x.marks) < n {
			if rng.IntN(3) == 0 {
				x.rest(1 + rng.IntN(30))
			} else {
				x.note(1+rng.IntN(80), steady(40+40*rng.Float64()), rng.Float64(), rng.Float64())
			}
		}
		for i := range x.marks {
			if rng.IntN(5) == 0 {
				x.marks[i] = marks.Marks{Begins: rng.Float64(), Ends: rng.Float64(), Inside: rng.Float64()}
			}
		}
		last := 0
		for i, note := range Find(x.path, x.marks) {
			if note.Begin < last || note.End-note.Begin < shortest || note.End-note.Begin > longest || note.End > len(x.marks) {
				t.Fatalf("note %d is [%d, %d) after %d, of %d frames", i, note.Begin, note.End, last, len(x.marks))
			}
			if note.Offset <= note.Onset {
				t.Fatalf("note %d lasts from %.3f to %.3f s", i, note.Onset, note.Offset)
			}
			last = note.End
		}
	})
}

func TestPitch(t *testing.T) {
	for name, c := range map[string]struct {
		curve         func(i int) float64
		frames        int
		pitch, spread float64
	}{
		"steady": {steady(60.3), 40, 60.3, 0},
		// the scoop lies before the middle part
		"scoop": {func(i int) float64 { return 60 + min(0, float64(i-10)/5) }, 50, 60, 0},
		// a sine spends half its time within sin(45 degrees) of its centre: spread 2*0.707
		"vibrato": {func(i int) float64 { return 69 + math.Sin(2*math.Pi*6*float64(i)*frame) }, 100, 69, 1.414},
		// a third of the note falls an octave down into fry
		"fry": {func(i int) float64 {
			if i%3 == 0 {
				return 46
			}
			return 58
		}, 60, 58, 0},
	} {
		var x take
		x.note(c.frames, c.curve, 0.9, 0.9)
		pitch, spread := Pitch(Note{Begin: 0, End: c.frames}, x.path)
		if math.Abs(pitch-c.pitch) > 0.05 || math.Abs(spread-c.spread) > 0.12 { // a frame each 60 degrees of vibrato
			t.Errorf("%s: pitch %.3f spread %.3f, want %.3f and %.3f", name, pitch, spread, c.pitch, c.spread)
		}
	}
}
