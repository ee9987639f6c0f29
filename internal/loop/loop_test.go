package loop

import (
	"math"
	"strings"
	"testing"

	"larkhand/internal/music"

	"pgregory.net/rapid"
)

func mustLoop(t testing.TB, chart string, tempo, starts float64) Loop {
	t.Helper()
	c, err := music.ParseChart(chart)
	if err != nil {
		t.Fatal(err)
	}
	l, err := New(c, tempo, starts)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Lengths by hand: at 120 quarter notes a minute a quarter note lasts 0.5 s.
func TestLengths(t *testing.T) {
	tests := []struct {
		chart       string
		tempo       float64
		bar, length float64
	}{
		{"Cm7 | Fm7 | G7b9 | Cm7", 120, 2, 8},
		{"Cm7 | Fm7 | G7b9 | Cm7", 96, 2.5, 10},
		{"3/4: C | G", 120, 1.5, 3},
		{"6/8: C", 120, 1.5, 1.5},
		{"2/2: C | F | G", 120, 2, 6},
		{"|: C | F :| x3", 60, 4, 24},
	}
	for _, tc := range tests {
		l := mustLoop(t, tc.chart, tc.tempo, 0)
		if l.BarLength() != tc.bar || l.Length() != tc.length {
			t.Errorf("%s at %v: bar %v s, loop %v s; want %v and %v", tc.chart, tc.tempo, l.BarLength(), l.Length(), tc.bar, tc.length)
		}
	}
}

func TestChordAt(t *testing.T) {
	l := mustLoop(t, "Cm7 | Fm7 Bb7 | C / / G7", 120, 10) // bars of 2 s from 10, 12 and 14 s on; again from 16 s on
	tests := []struct {
		t    float64
		want string // "" for none
	}{
		{9.9, ""}, {-100, ""}, {math.NaN(), ""}, {math.Inf(1), ""}, {math.Inf(-1), ""}, {1e300, ""},
		{10, "Cm7"}, {11.999, "Cm7"}, {12, "Fm7"}, {12.999, "Fm7"}, {13, "Bb7"}, {13.999, "Bb7"},
		{14, "C"}, {15.499, "C"}, {15.5, "G7"}, {15.999, "G7"},
		{16, "Cm7"}, {18, "Fm7"}, {19, "Bb7"}, {10 + 6*1000 + 3, "Bb7"},
	}
	for _, tc := range tests {
		got, ok := l.ChordAt(tc.t)
		if ok != (tc.want != "") || ok && got.String() != tc.want {
			t.Errorf("at %v s: got %v, %v; want %q", tc.t, got, ok, tc.want)
		}
	}
}

func TestNoChordIsNotNoLoop(t *testing.T) {
	l := mustLoop(t, "N.C. | C", 120, 0)
	if got, ok := l.ChordAt(1); !ok || got.String() != "N.C." {
		t.Errorf("got %v, %v", got, ok)
	}
}

func TestBarBeat(t *testing.T) {
	l := mustLoop(t, "3/4: C | G", 60, 5) // beats of 1 s
	tests := []struct {
		t    float64
		want Position
		ok   bool
	}{
		{4.9, Position{}, false},
		{5, Position{1, 1, 1}, true},
		{6.5, Position{1, 1, 2.5}, true},
		{8, Position{1, 2, 1}, true},
		{10.75, Position{1, 2, 3.75}, true},
		{11, Position{2, 1, 1}, true},
		{5 + 600 + 4, Position{101, 2, 2}, true},
	}
	for _, tc := range tests {
		got, ok := l.BarBeat(tc.t)
		if ok != tc.ok || got.Chorus != tc.want.Chorus || got.Bar != tc.want.Bar || math.Abs(got.Beat-tc.want.Beat) > 1e-9 { // rounding only
			t.Errorf("at %v s: got %+v, %v; want %+v, %v", tc.t, got, ok, tc.want, tc.ok)
		}
	}
}

func TestNextBar(t *testing.T) {
	l := mustLoop(t, "C | G | F", 120, 10) // bars of 2 s
	for in, want := range map[float64]float64{-3: 10, 9.99: 10, 10: 10, 10.01: 12, 11.99: 12, 12: 12, 15.3: 16, 16: 16, 1000.5: 1002} {
		if got := l.NextBar(in); got != want {
			t.Errorf("after %v s the next bar starts at %v, want %v", in, got, want)
		}
	}
	if got := l.NextBar(math.NaN()); !math.IsNaN(got) {
		t.Errorf("after NaN: %v", got)
	}
}

func TestNewRefuses(t *testing.T) {
	chart, err := music.ParseChart("C | G")
	if err != nil {
		t.Fatal(err)
	}
	noMeter := music.Chart{Bars: chart.Bars}
	emptyBar := music.Chart{Meter: music.CommonTime, Bars: []music.Bar{chart.Bars[0], {}}}
	tests := []struct {
		name          string
		chart         music.Chart
		tempo, starts float64
		says          string
	}{
		{"no bars", music.Chart{Meter: music.CommonTime}, 100, 0, "at least one bar"},
		{"empty bar", emptyBar, 100, 0, "N.C."},
		{"no meter", noMeter, 100, 0, "4/4"},
		{"slow", chart, 19.9, 0, "20 to 400"},
		{"fast", chart, 400.1, 0, "20 to 400"},
		{"no tempo", chart, math.NaN(), 0, "20 to 400"},
		{"negative tempo", chart, -100, 0, "20 to 400"},
		{"endless tempo", chart, math.Inf(1), 0, "20 to 400"},
		{"no start", chart, 100, math.NaN(), "seconds"},
		{"endless start", chart, 100, math.Inf(-1), "seconds"},
	}
	for _, tc := range tests {
		if _, err := New(tc.chart, tc.tempo, tc.starts); err == nil || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: the error is %v, want %q in it", tc.name, err, tc.says)
		}
	}
	for _, tempo := range []float64{MinTempo, MaxTempo} {
		if _, err := New(chart, tempo, -5); err != nil {
			t.Errorf("tempo %v: %v", tempo, err)
		}
	}
}

// drawLoop makes a loop of any tempo and start, in one of a few meters.
func drawLoop(t *rapid.T) Loop {
	text := rapid.SampledFrom([]string{"C | F G | C D E G", "3/4: C | F / G", "7/8: C D | E", "12/8: C F", "C"}).Draw(t, "chart")
	chart, err := music.ParseChart(text)
	if err != nil {
		t.Fatal(err)
	}
	l, err := New(chart, rapid.Float64Range(MinTempo, MaxTempo).Draw(t, "tempo"), rapid.Float64Range(-1000, 100000).Draw(t, "starts"))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The next bar is at most one bar away, and at its time a bar does begin.
func TestNextBarBeginsABar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t)
		at := l.Starts + rapid.Float64Range(-100, 100000).Draw(t, "after")
		next := l.NextBar(at)
		slack := 2 * boundary * l.BarLength() // a start may be missed by the tolerance
		if next < at-slack || at >= l.Starts && next > at+l.BarLength()+slack {
			t.Fatalf("after %v s the next bar starts at %v, a bar lasts %v s", at, next, l.BarLength())
		}
		p, ok := l.BarBeat(next)
		if !ok || math.Abs(p.Beat-1) > 1e-4 {
			t.Fatalf("at %v s the position is %+v, %v", next, p, ok)
		}
		chord, ok := l.ChordAt(next)
		if want := l.Chart.Bars[p.Bar-1].Chords[0]; !ok || chord != want {
			t.Fatalf("at %v s, %+v, the chord is %v, want %v", next, p, chord, want)
		}
	})
}

// One time through later everything is the same, but for the count of times.
func TestLoopGoesRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoop(t)
		// The middle of an eighth of a bar, well away from every change of chord in the charts above.
		eighth := rapid.IntRange(0, 8*500).Draw(t, "eighth")
		at := l.Starts + (float64(eighth)+.37)*l.BarLength()/8
		times := rapid.IntRange(1, 50).Draw(t, "times")
		later := at + float64(times)*l.Length()
		p, _ := l.BarBeat(at)
		q, _ := l.BarBeat(later)
		if q.Chorus != p.Chorus+times || q.Bar != p.Bar || math.Abs(q.Beat-p.Beat) > 1e-4 {
			t.Fatalf("at %v: %+v, at %v: %+v", at, p, later, q)
		}
		a, _ := l.ChordAt(at)
		b, _ := l.ChordAt(later)
		if a != b {
			t.Fatalf("at %v: %v, at %v: %v", at, a, later, b)
		}
	})
}
