package music

import (
	"reflect"
	"testing"
	"unicode/utf8"
)

func FuzzParseKey(f *testing.F) {
	for _, s := range []string{"C minor", "bb blues", "F♯ dorian", "A-flat major", "Ebm pent", "C-", "F## minor", "𝄫", "b\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		k, err := ParseKey(s)
		if err != nil {
			checkSentence(t, s, err)
			return
		}
		if again, err := ParseKey(k.String()); err != nil || again != k {
			t.Fatalf("%q is %v and then %v, %v", s, k, again, err)
		}
	})
}

func FuzzParseChord(f *testing.F) {
	for _, s := range []string{"G7b9", "CmMaj7", "C6/9/G", "B-7(b5)", "C7(b9,#11)", "CΔ", "C°7", "Cadd#11", "N.C.", "C7alt", "C+9+", "Cmsus4", "C,,,", "Cb9add"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseChord(s)
		if err != nil {
			checkSentence(t, s, err)
			return
		}
		if again, err := ParseChord(c.String()); err != nil || again != c {
			t.Fatalf("%q is %v and then %v, %v", s, c, again, err)
		}
	})
}

func FuzzParseChart(f *testing.F) {
	for _, s := range []string{"Cm7 | Fm7 | G7b9 | Cm7", "3/4: C / G | %", "|: C [1 D :| [2 E :| [3 F", "C :|: F :| x31", "C |\n| F |]", "[", ":|", "|:|", "x3", "/ / / /"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseChart(s)
		if err != nil {
			checkSentence(t, s, err)
			return
		}
		if len(c.Bars) == 0 || len(c.Bars) > maxBars {
			t.Fatalf("%q has %d bars", s, len(c.Bars))
		}
		text := c.String()
		if len(text) > maxChartText {
			return // a long chart may be longer still with its repeats written out
		}
		if again, err := ParseChart(text); err != nil || !reflect.DeepEqual(again, c) {
			t.Fatalf("%q is %v and then %v, %v", s, c, again, err)
		}
	})
}

// checkSentence holds errors to one line of readable text.
func checkSentence(t *testing.T, in string, err error) {
	t.Helper()
	text := err.Error()
	for _, r := range text {
		if r == '\n' || r < ' ' {
			t.Fatalf("%q: the error has a control character: %q", in, text)
		}
	}
	if text == "" || utf8.ValidString(in) && !utf8.ValidString(text) {
		t.Fatalf("%q: the error is %q", in, text)
	}
}
