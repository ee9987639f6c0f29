package loop

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/music"

	"pgregory.net/rapid"
)

func mustArrange(t testing.TB, l Loop, o Options) *Backing {
	t.Helper()
	b, err := Arrange(l, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// write gives the events of some parts as text, one moment after the other: "0.00 comping 58 63 67".
func write(events []Event, part Part) string {
	var out []string
	last := math.Inf(-1)
	for _, e := range events {
		if e.Part != part {
			continue
		}
		if e.Time != last {
			out = append(out, fmt.Sprintf("%.2f:", e.Time))
			last = e.Time
		}
		out[len(out)-1] += fmt.Sprintf(" %d", e.Key)
	}
	return strings.Join(out, ", ")
}

// Common practice, no source: written by hand. At 60 quarter notes a minute a beat lasts 1 s; 2:1 puts the off-beat at 0.67 of it. The bass walks
// from root to root: D F A and Ab down into G; G B D and Db (from above) into C. The guide tones fall: F and C of Dm7, F and B of G7, E and B of Cmaj7.
func TestWalkingAndGuideTones(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "Dm7 | G7 | Cmaj7 | %", 60, 0), Options{Feel: Feel{Ratio: 2}})
	bar := func(i int) []Event { return b.Events(b.Loop.BarStart(i), b.Loop.BarStart(i+1)) }
	for _, tc := range []struct {
		bar  int
		part Part
		want string
	}{
		{0, Bass, "0.00: 38, 1.00: 41, 2.00: 45, 3.00: 44"},
		{1, Bass, "4.00: 43, 5.00: 47, 6.00: 50, 7.00: 49"},
		{0, Comping, "0.00: 53 60 69, 1.67: 53 60 69"},
		{1, Comping, "4.00: 53 59 62, 6.67: 53 59 62"},
		{2, Comping, "8.00: 52 59 67, 9.67: 52 59 67"},
		{0, HiHat, "0.00: 42, 1.00: 44, 1.67: 42, 2.00: 42, 3.00: 44, 3.67: 42"},
		{0, Click, "0.00: 76, 1.00: 77, 2.00: 77, 3.00: 77"},
		{4, Bass, "16.00: 38, 17.00: 41, 18.00: 45, 19.00: 44"},
	} {
		if got := write(bar(tc.bar), tc.part); got != tc.want {
			t.Errorf("bar %d, %v:\n got %s\nwant %s", tc.bar, tc.part, got, tc.want)
		}
	}
}

// Common practice, no source: root and fifth in two; the fifth of a half-diminished chord is b5; over a slash the bass note, then the root; no chord, no note.
func TestRootFifth(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "C | Bm7b5 | C/E | N.C. | Dm7 G7", 60, 0), Options{})
	want := "0.00: 36, 2.00: 31, 4.00: 35, 6.00: 41, 8.00: 40, 10.00: 36, 16.00: 38, 18.00: 43"
	if got := write(b.Events(0, 20), Bass); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := write(b.Events(12, 16), Comping); got != "" {
		t.Errorf("over no chord the comping plays %s", got)
	}
}

func TestMeters(t *testing.T) {
	for chart, want := range map[string]string{ // clicks of one bar, eighth notes of 0.5 s
		"3/4: C": "0.00: 76, 1.00: 77, 2.00: 77", "6/8: C": "0.00: 76, 1.50: 77", "7/8: C": "0.00: 76, 1.00: 77, 2.00: 77", "2/2: C": "0.00: 76, 2.00: 77",
	} {
		b := mustArrange(t, mustLoop(t, chart, 60, 0), Options{Feel: Feel{Ratio: 2}})
		if got := write(b.Events(0, b.Loop.BarLength()), Click); got != want {
			t.Errorf("%s: clicks %s, want %s", chart, got, want)
		}
	}
	b := mustArrange(t, mustLoop(t, "6/8: C", 60, 0), Options{Feel: Feel{Ratio: 2}})
	if got, want := write(b.Events(0, 3), HiHat), "0.00: 42, 0.50: 42, 1.00: 42, 1.50: 44, 2.00: 42, 2.50: 42"; got != want {
		t.Errorf("6/8 does not swing: %s, want %s", got, want)
	}
}

func TestCountIn(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "C", 120, 10), Options{CountIn: 2})
	if got, want := write(b.Events(-100, 10), Click), "6.00: 76, 6.50: 77, 7.00: 77, 7.50: 77, 8.00: 76, 8.50: 77, 9.00: 77, 9.50: 77"; got != want {
		t.Errorf("the count-in is %s, want %s", got, want)
	}
	for _, e := range b.Events(-100, 10) {
		if e.Part != Click {
			t.Errorf("in the count-in there is %+v", e)
		}
	}
	if got := mustArrange(t, mustLoop(t, "C", 120, 10), Options{}).Events(-100, 10); len(got) != 0 {
		t.Errorf("without a count-in %d events come before the start", len(got))
	}
}

// The tempo changes at a bar line: what the old backing plays up to it and the new one from it on leaves no hole and plays nothing twice.
func TestRetime(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "C | G", 120, 0), Options{})
	at := b.Loop.NextBar(7.3) // bars of 2 s
	faster, err := b.Retime(150, at)
	if err != nil {
		t.Fatal(err)
	}
	clicks := write(b.Events(6, at), Click) + ", " + write(faster.Events(at, 9.6), Click)
	if want := "6.00: 76, 6.50: 77, 7.00: 77, 7.50: 77, 8.00: 76, 8.40: 77, 8.80: 77, 9.20: 77"; clicks != want {
		t.Errorf("got  %s\nwant %s", clicks, want)
	}
	if _, err := b.Retime(1000, 0); err == nil {
		t.Error("a tempo of 1000 is taken")
	}
	if b.Loop.Tempo != 120 {
		t.Error("the old backing has changed")
	}
}

func TestNextChord(t *testing.T) {
	l := mustLoop(t, "C | C F | F G", 120, 10) // bars of 2 s
	for _, tc := range []struct {
		t    float64
		want string
		at   float64
	}{{9, "C", 10}, {10, "F", 13}, {12, "F", 13}, {13, "G", 15}, {14.5, "G", 15}, {15, "C", 16}, {15.9, "C", 16}, {16 + 5, "C", 22}} {
		chord, at, ok := l.NextChord(tc.t)
		if !ok || chord.String() != tc.want || at != tc.at {
			t.Errorf("after %v s: %v at %v, %v; want %s at %v", tc.t, chord, at, ok, tc.want, tc.at)
		}
	}
	if chord, _, ok := mustLoop(t, "C | C", 120, 0).NextChord(1); ok {
		t.Errorf("a chart of one chord goes on to %v", chord)
	}
	if _, _, ok := l.NextChord(math.NaN()); ok {
		t.Error("NaN has a next chord")
	}
}

func TestArrangeRefuses(t *testing.T) {
	l := mustLoop(t, "C", 120, 0)
	for says, o := range map[string]Options{
		"3.5": {Feel: Feel{Ratio: 4}}, "ratio": {Feel: Feel{Ratio: math.NaN()}}, "0 to 8": {CountIn: 9}, "count-in": {CountIn: -1}, "walking": {Bass: 3},
	} {
		if _, err := Arrange(l, o); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%+v: %v", o, err)
		}
	}
	if _, err := Arrange(Loop{Tempo: 100}, Options{}); err == nil {
		t.Error("a loop without a chart is arranged")
	}
}

func TestParts(t *testing.T) {
	for p := range Parts {
		got, err := ParsePart(strings.ToUpper(p.String()))
		if err != nil || got != p {
			t.Errorf("%v is read as %v, %v", p, got, err)
		}
	}
	if _, err := ParsePart("drums"); err == nil || !strings.Contains(err.Error(), "hi-hat") {
		t.Errorf("drums: %v", err)
	}
}

func drawBacking(t *rapid.T) *Backing {
	var l Loop
	if rapid.Bool().Draw(t, "named") {
		tonic := rapid.SampledFrom([]string{"C", "Db", "E", "F#", "A", "Bb"}).Draw(t, "tonic")
		key, err := music.ParseKey(tonic)
		if err != nil {
			t.Fatal(err)
		}
		chart, err := Named(rapid.SampledFrom(Names()).Draw(t, "name"), key)
		if err != nil {
			t.Fatal(err)
		}
		l = Loop{Chart: chart, Tempo: rapid.Float64Range(MinTempo, MaxTempo).Draw(t, "tempo"), Starts: rapid.Float64Range(-1000, 1000).Draw(t, "starts")}
	} else {
		l = drawLoop(t)
		text := rapid.SampledFrom([]string{"C7alt | F13 G7b9 | C6/9 Dsus4 E5 G/B", "3/4: Cdim7 | N.C. | F/A / Gaug", "7/8: Cm11 Dmaj9 | E7#11"}).Draw(t, "chords")
		chart, err := music.ParseChart(text)
		if err != nil {
			t.Fatal(err)
		}
		l.Chart = chart
	}
	b, err := Arrange(l, Options{
		Feel:    Feel{Ratio: rapid.Float64Range(StraightRatio, MaxSwingRatio).Draw(t, "ratio")},
		CountIn: rapid.IntRange(0, 3).Draw(t, "count-in"),
		Bass:    rapid.SampledFrom([]BassLine{BassByFeel, Walking, RootFifth}).Draw(t, "bass"),
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// However a stretch of time is cut into windows, the events are the same.
func TestWindowsJoin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBacking(t)
		from := b.Loop.Starts + rapid.Float64Range(-10, 20000).Draw(t, "from")
		to := from + rapid.Float64Range(0, 20).Draw(t, "long")
		cuts := rapid.SliceOfN(rapid.Float64Range(from, to), 0, 8).Draw(t, "cuts")
		whole := b.Events(from, to)
		for i := range min(len(whole), 4) { // cuts that fall on events
			cuts = append(cuts, whole[i].Time)
		}
		slices.Sort(cuts)
		var joined []Event
		last := from
		for _, cut := range append(cuts, to) {
			joined = b.AppendEvents(joined, last, cut)
			last = max(last, cut)
		}
		if !slices.Equal(joined, whole) {
			t.Fatalf("from %v to %v cut at %v: %d events, want %d", from, to, cuts, len(joined), len(whole))
		}
		if !slices.IsSortedFunc(whole, func(x, y Event) int { return cmpTimes(x.Time, y.Time) }) {
			t.Fatalf("the events from %v to %v are not in order", from, to)
		}
	})
}

func cmpTimes(x, y float64) int {
	switch {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

// Every event can be sent as MIDI, and none lasts longer than Longest.
func TestEventsAreInRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBacking(t)
		for _, e := range b.Events(b.Loop.Starts-b.Loop.Length(), b.Loop.Starts+b.Loop.Length()) {
			if e.Duration <= 0 || e.Duration > b.Longest() || e.Key < 0 || e.Key > 127 || e.Velocity < 1 || e.Velocity > 127 ||
				e.Channel < 0 || e.Channel > 15 || e.Program < 0 || e.Program > 127 || e.Part >= Parts {
				t.Fatalf("%+v", e)
			}
		}
	})
}

// What the comping plays are notes of the chord that sounds; the bass plays its lowest note where the chord begins; a walking bass stays in its range.
func TestBackingFitsTheChart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBacking(t)
		times := rapid.IntRange(0, 100).Draw(t, "times")
		bars := len(b.Loop.Chart.Bars)
		begins := map[float64]bool{}
		for i := range bars {
			begins[b.Loop.BarStart(times*bars+i)] = true
		}
		for _, e := range b.Events(b.Loop.BarStart(times*bars), b.Loop.BarStart((times+1)*bars)) {
			chord, ok := b.Loop.ChordAt(e.Time)
			if !ok {
				t.Fatalf("no chord at %v", e.Time)
			}
			switch e.Part {
			case Comping:
				if !slices.Contains(classes(chord), e.Key%12) {
					t.Fatalf("over %v the comping plays %d", chord, e.Key)
				}
				if e.Key < lowestComping || e.Key > highestComping {
					t.Fatalf("the comping plays %d", e.Key)
				}
			case Bass:
				if e.Key < lowestBass || e.Key > highestBass {
					t.Fatalf("the bass plays %d", e.Key)
				}
				if _, class, _ := chord.Bass(); begins[e.Time] && e.Key%12 != class {
					t.Fatalf("over %v the bass plays %d on the first beat", chord, e.Key)
				}
				delete(begins, e.Time)
			}
		}
		for at := range begins {
			if chord, _ := b.Loop.ChordAt(at); chord.String() != "N.C." {
				t.Fatalf("over %v no bass note at the start of the bar at %v", chord, at)
			}
		}
	})
}

// A walking bass plays notes of the chord but for the last one before a new chord, which lies within a whole step of the next root or a fifth
// above or a fourth below it; it never leaps more than an octave.
func TestWalkingLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBacking(t)
		for _, s := range segmentsOf(b.Loop.Chart) {
			if !s.sounds() {
				continue
			}
			root := nearest(classes(s.chord)[0], rapid.IntRange(lowestBass, highestBass).Draw(t, "near"))
			next := nearest(rapid.IntRange(0, 11).Draw(t, "next class"), root)
			count := rapid.IntRange(1, 9).Draw(t, "count")
			keys := walk(s.chord, root, next, count, rapid.Bool().Draw(t, "rises"))
			if keys[0] != root {
				t.Fatalf("%v does not begin on %d", keys, root)
			}
			for i := 1; i < count; i++ {
				if i < count-1 && !slices.Contains(classes(s.chord), keys[i]%12) {
					t.Fatalf("%v: %d is no note of %v", keys, keys[i], s.chord)
				}
				if step := keys[i] - keys[i-1]; step < -12 || step > 12 || step == 0 {
					t.Fatalf("%v steps by %d", keys, step)
				}
			}
			if step := keys[count-1] - next; count > 1 && !slices.Contains([]int{-5, -2, -1, 1, 2, 7}, step) {
				t.Fatalf("%v does not lead into %d", keys, next)
			}
		}
	})
}

// The comping moves smoothly: between any two chords of the named charts each voice moves by at most a fourth on average, round the end of the chart too.
func TestSmoothVoiceLeading(t *testing.T) {
	for _, name := range Names() {
		for _, tonic := range []string{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"} {
			key, err := music.ParseKey(tonic)
			if err != nil {
				t.Fatal(err)
			}
			chart, err := Named(name, key)
			if err != nil {
				t.Fatal(err)
			}
			voicings := voice(segmentsOf(chart))
			for i, v := range voicings {
				next := voicings[(i+1)%len(voicings)]
				if mean := movement(v, next) / float64(max(len(v), len(next))); mean > 5 {
					t.Errorf("%s in %s: from %v to %v the voices move %.1f semitones", name, tonic, v, next, mean)
				}
			}
		}
	}
}

// Times come from the number of the bar: after ten hours an event lies where its bar says, to the last bit.
func TestNoDrift(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "C | G | F", 97, 3), Options{})
	const bar = 14550 // bars of 60*4/97 s in ten hours
	got := b.Events(b.Loop.BarStart(bar), b.Loop.BarStart(bar+1))
	if len(got) == 0 || got[0].Time != 3+bar*(60.0*4/97) {
		t.Fatalf("got %+v", got)
	}
}

func TestStrangeWindows(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "C", 97, 3), Options{})
	for _, w := range [][2]float64{{5, 5}, {6, 5}, {math.NaN(), 5}, {5, math.NaN()}, {math.Inf(-1), 5}, {5, math.Inf(1)}, {1e300, 2e300}} {
		if got := b.Events(w[0], w[1]); len(got) != 0 {
			t.Errorf("%v: %d events", w, len(got))
		}
	}
}

func TestAppendEventsDoesNotAllocate(t *testing.T) {
	b := mustArrange(t, mustLoop(t, "Cm7 | Fm7", 200, 0), Options{Feel: Feel{Ratio: 2}})
	room := make([]Event, 0, 256)
	at := 0.0
	if n := testing.AllocsPerRun(100, func() { b.AppendEvents(room, at, at+0.5); at += 0.5 }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
