package music

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustChart(t testing.TB, s string) Chart {
	t.Helper()
	c, err := ParseChart(s)
	if err != nil {
		t.Fatalf("ParseChart(%q): %v", s, err)
	}
	return c
}

func TestParseChart(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"four bars", "Cm7 | Fm7 | G7b9 | Cm7", "Cm7 | Fm7 | G7b9 | Cm7"},
		{"bar lines around", "| Cm7 | Fm7 ||", "Cm7 | Fm7"},
		{"final bar line", "|| Cm7 || Fm7 |]", "Cm7 | Fm7"},
		{"no blanks", "Cm7|Fm7|G7|", "Cm7 | Fm7 | G7"},
		{"lines", "Cm7 | Fm7 |\n| G7 | Cm7 |\n\n Ab7\r\nG7", "Cm7 | Fm7 | G7 | Cm7 | Ab7 | G7"},
		{"two chords", "Dm7 G7 | C", "Dm7 G7 | C"},
		{"three chords", "Dm7 G7 C", "Dm7 G7 C"},
		{"beats", "C / / G | C / F / | C / / /", "C / / G | C F | C"},
		{"beats go on from the bar before", "C | / / F / | C", "C | C F | C"},
		{"beats written out", "C C C G", "C / / G"},
		{"the same chord twice", "C C | G", "C | G"},
		{"percent", "C | % | F G | %", "C | C | F G | F G"},
		{"no chord", "N.C. | C NC", "N.C. | C N.C."},
		{"slash chords and fractions", "C/E F6/9/A | Bb", "C/E F6/9/A | Bb"},
		{"waltz", "3/4: C | F / G", "3/4: C | F / G"},
		{"meter without colon", "6/8 C | F G", "6/8: C | F G"},
		{"common time named", "4/4: C", "C"},
		{"repeat", "|: C | F :| G", "C | F | C | F | G"},
		{"repeat three times", "|: C | F :| x3 G", "C | F | C | F | C | F | G"},
		{"repeat three times, times sign", "|: C :| ×3", "C | C | C"},
		{"repeat from the beginning", "C | F :| G", "C | F | C | F | G"},
		{"repeat from the repeat before", "C :| F :|", "C | C | F | F"},
		{"repeats side by side", "|: C :|: F :|", "C | C | F | F"},
		{"repeats side by side, doubled", "||: C :||: F :||", "C | C | F | F"},
		{"endings", "|: C | F [1 G :| [2 C | A", "C | F | G | C | F | C | A"},
		{"endings with bar lines", "|: C | F |[1. G :|[2. C ||", "C | F | G | C | F | C"},
		{"three endings", "|: C [1 D :| [2 E :| [3 F", "C | D | C | E | C | F"},
		{"both endings closed", "|: C [1 D :| [2 E :| F", "C | D | C | E | F"},
		{"repeat after endings", "|: C [1 D :| [2 E |: F :|", "C | D | C | E | F | F"},
		{"endings from the beginning", "C [1 D :| [2 E", "C | D | C | E"},
		{"percent in a second ending", "|: C [1 D :| [2 %", "C | D | C | C"},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			if got := mustChart(t, tc.in).String(); got != tc.want {
				t.Errorf("got  %s\nwant %s", got, tc.want)
			}
		})
	}
}

func TestParseChartValues(t *testing.T) {
	got := mustChart(t, "3/4: Dm7 / G7 | C")
	d, g, c := mustChord(t, "Dm7"), mustChord(t, "G7"), mustChord(t, "C")
	want := Chart{Meter: Meter{3, 4}, Bars: []Bar{{[]Chord{d, d, g}}, {[]Chord{c}}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestParseChartRefuses(t *testing.T) {
	tests := []struct {
		name, in string
		says     []string
	}{
		{"empty", "", []string{"no bars"}},
		{"only bar lines", "| \n |", []string{"no bars"}},
		{"wrong chord", "Cm7 | Fm7 | X7 G", []string{"bar 3", `"X7"`, "A to G"}},
		{"wrong quality", "Cm7 | Fq7", []string{"bar 2", `"Fq7"`}},
		{"empty bar", "Cm7 | | Fm7", []string{"bar 2 is empty", "%"}},
		{"percent first", "% | C", []string{"bar 1", "there is none"}},
		{"percent in a bar", "C | C %", []string{"bar 2", "stands alone"}},
		{"slash first", "/ C / / | F", []string{"bar 1", "chord first"}},
		{"too few beats", "C | C / G", []string{"bar 2", "4 chords and slashes in 4/4", "not 3"}},
		{"too many beats", "3/4: C / G /", []string{"bar 1", "3 chords and slashes in 3/4"}},
		{"meter", "4/5: C", []string{"4/5", "such as 3/4"}},
		{"meter of no beats", "0/4: C", []string{"0/4"}},
		{"long meter", "999/4: C", []string{"999/4"}},
		{"open repeat", "C |: F | G", []string{"opens at bar 2", ":|"}},
		{"repeat in a repeat", "|: C |: F :|", []string{"bar 2", "opens at bar 1"}},
		{"nothing to repeat", "C :| :|", []string{"bar 2", "nothing to repeat"}},
		{"once", "|: C :| x1", []string{"bar 1", "2 to 32 times"}},
		{"often", "|: C :| x33", []string{"2 to 32 times", "33"}},
		{"second ending missing", "|: C [1 D :| E", []string{"bar 3", "[2"}},
		{"second ending missing at the end", "|: C [1 D :|", []string{"[2"}},
		{"second ending missing before a repeat", "|: C [1 D :| |: E :|", []string{"[2"}},
		{"first ending open", "|: C [1 D", []string{"first ending is never closed"}},
		{"first ending open before a repeat", "|: C [1 D |: E :|", []string{"first ending is never closed"}},
		{"second ending first", "|: C [2 D", []string{"bar 2", "[2"}},
		{"ending left out", "|: C [1 D :| [3 E", []string{"bar 3", "[3"}},
		{"ending of nothing", "|: [1 D :| [2 E", []string{"bar 1", "nothing to repeat"}},
		{"endings with times", "|: C [1 D :| x2 [2 E", []string{"x2"}},
		{"bracket alone", "C [ F", []string{"bar 1", `"["`}},
		{"colon alone", "C : F", []string{"bar 1", `":"`}},
		{"crowded bar", strings.Repeat("C ", 33), []string{"bar 1", "at most 32"}},
		{"too long", strings.Repeat("C | ", 1025), []string{"more than 1024 bars"}},
		{"too long by repeats", "|: " + strings.Repeat("C | ", 100) + ":| x32", []string{"more than 1024 bars"}},
		{"huge", strings.Repeat(" ", 1<<20), []string{"at most 65536 characters"}},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			c, err := ParseChart(tc.in)
			if err == nil {
				t.Fatalf("taken as %v", c)
			}
			for _, want := range tc.says {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("the error is %q, want %q in it", err, want)
				}
			}
		})
	}
}

// drawChart makes any chart that can exist, its bars in their shortest form.
func drawChart(t *rapid.T) Chart {
	palette := rapid.SliceOfN(rapid.Custom(drawChord), 1, 3).Draw(t, "palette")
	bar := rapid.Custom(func(t *rapid.T) Bar {
		return Bar{rapid.SliceOfN(rapid.SampledFrom(palette), 1, 6).Draw(t, "chords")}.reduce()
	})
	return Chart{
		Meter: Meter{rapid.IntRange(1, 12).Draw(t, "beats"), 1 << rapid.IntRange(0, 5).Draw(t, "unit")},
		Bars:  rapid.SliceOfN(bar, 1, 16).Draw(t, "bars"),
	}
}

func TestChartStringIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawChart(t)
		got, err := ParseChart(c.String())
		if err != nil || !reflect.DeepEqual(got, c) {
			t.Fatalf("%v is read back as %v, %v", c, got, err)
		}
	})
}

func TestBarAt(t *testing.T) {
	bar := mustChart(t, "C / / G").Bars[0]
	for part, want := range map[float64]string{0: "C", .5: "C", .7499: "C", .75: "G", .999: "G", 1: "G", -.1: "C"} {
		if got := bar.At(part).String(); got != want {
			t.Errorf("at %v: got %s, want %s", part, got, want)
		}
	}
	if got := (Bar{}).At(.5).String(); got != "N.C." {
		t.Errorf("an empty bar has %s", got)
	}
}

func TestMeter(t *testing.T) {
	for meter, want := range map[Meter]float64{{4, 4}: 4, {3, 4}: 3, {6, 8}: 3, {2, 2}: 4, {7, 8}: 3.5} {
		if got := meter.Quarters(); got != want || !meter.Valid() {
			t.Errorf("%v has %v quarter notes, valid %v", meter, got, meter.Valid())
		}
	}
	for _, meter := range []Meter{{}, {4, 0}, {4, 3}, {-1, 4}, {33, 4}, {4, 64}, {4, -4}} {
		if meter.Valid() {
			t.Errorf("%v is valid", meter)
		}
	}
}
