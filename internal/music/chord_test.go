package music

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustChord(t testing.TB, s string) Chord {
	t.Helper()
	c, err := ParseChord(s)
	if err != nil {
		t.Fatalf("ParseChord(%q): %v", s, err)
	}
	return c
}

// Symbols with their usual spelling and their notes as textbooks give them (common practice, no source).
func TestParseChord(t *testing.T) {
	tests := []struct{ in, symbol, degrees, letters string }{
		{"C", "C", "1 3 5", "C E G"}, {"CM", "C", "1 3 5", "C E G"}, {"Cmaj", "C", "1 3 5", "C E G"},
		{"Cm", "Cm", "1 b3 5", "C Eb G"}, {"C-", "Cm", "1 b3 5", "C Eb G"}, {"F#min", "F#m", "1 b3 5", "F# A C#"},
		{"Cdim", "Cdim", "1 b3 b5", "C Eb Gb"}, {"C°", "Cdim", "1 b3 b5", "C Eb Gb"}, {"Co", "Cdim", "1 b3 b5", "C Eb Gb"},
		{"Caug", "Caug", "1 3 #5", "C E G#"}, {"C+", "Caug", "1 3 #5", "C E G#"}, {"C(#5)", "Caug", "1 3 #5", "C E G#"}, {"C(b5)", "C(b5)", "1 3 b5", "C E Gb"},
		{"C5", "C5", "1 5", "C G"}, {"Cb5", "Cb5", "1 5", "Cb Gb"},
		{"Csus4", "Csus4", "1 4 5", "C F G"}, {"Csus", "Csus4", "1 4 5", "C F G"}, {"Csus2", "Csus2", "1 2 5", "C D G"},
		{"C6", "C6", "1 3 5 6", "C E G A"}, {"Cm6", "Cm6", "1 b3 5 6", "C Eb G A"}, {"C6/9", "C6/9", "1 3 5 6 9", "C E G A D"}, {"C69", "C6/9", "1 3 5 6 9", "C E G A D"},
		{"Cadd9", "Cadd9", "1 3 5 9", "C E G D"}, {"C(9)", "Cadd9", "1 3 5 9", "C E G D"}, {"Cm(add9)", "Cmadd9", "1 b3 5 9", "C Eb G D"}, {"Cadd2", "Cadd9", "1 3 5 9", "C E G D"},
		{"Cm(b6)", "Cmaddb6", "1 b3 5 b6", "C Eb G Ab"}, {"Cadd13", "C6", "1 3 5 6", "C E G A"},

		{"C7", "C7", "1 3 5 b7", "C E G Bb"},
		{"Cmaj7", "Cmaj7", "1 3 5 7", "C E G B"}, {"CM7", "Cmaj7", "1 3 5 7", "C E G B"}, {"CΔ", "Cmaj7", "1 3 5 7", "C E G B"}, {"CΔ7", "Cmaj7", "1 3 5 7", "C E G B"}, {"Cma7", "Cmaj7", "1 3 5 7", "C E G B"},
		{"Cm7", "Cm7", "1 b3 5 b7", "C Eb G Bb"}, {"C-7", "Cm7", "1 b3 5 b7", "C Eb G Bb"}, {"Cmin7", "Cm7", "1 b3 5 b7", "C Eb G Bb"}, {"Cmi7", "Cm7", "1 b3 5 b7", "C Eb G Bb"},
		{"CmMaj7", "CmMaj7", "1 b3 5 7", "C Eb G B"}, {"Cm(maj7)", "CmMaj7", "1 b3 5 7", "C Eb G B"}, {"C-Δ", "CmMaj7", "1 b3 5 7", "C Eb G B"}, {"CmM7", "CmMaj7", "1 b3 5 7", "C Eb G B"},
		{"Bm7b5", "Bm7b5", "1 b3 b5 b7", "B D F A"}, {"Bø", "Bm7b5", "1 b3 b5 b7", "B D F A"}, {"Bø7", "Bm7b5", "1 b3 b5 b7", "B D F A"}, {"B-7(b5)", "Bm7b5", "1 b3 b5 b7", "B D F A"},
		{"Cdim7", "Cdim7", "1 b3 b5 bb7", "C Eb Gb Bbb"}, {"C°7", "Cdim7", "1 b3 b5 bb7", "C Eb Gb Bbb"}, {"F#o7", "F#dim7", "1 b3 b5 bb7", "F# A C Eb"},
		{"C+7", "C7#5", "1 3 #5 b7", "C E G# Bb"}, {"C7+", "C7#5", "1 3 #5 b7", "C E G# Bb"}, {"Caug7", "C7#5", "1 3 #5 b7", "C E G# Bb"}, {"Cmaj7#5", "Cmaj7#5", "1 3 #5 7", "C E G# B"},
		{"C7sus4", "C7sus4", "1 4 5 b7", "C F G Bb"}, {"C7sus", "C7sus4", "1 4 5 b7", "C F G Bb"}, {"C7b9sus4", "C7sus4b9", "1 4 5 b7 b9", "C F G Bb Db"},

		{"C9", "C9", "1 3 5 b7 9", "C E G Bb D"}, {"C-9", "Cm9", "1 b3 5 b7 9", "C Eb G Bb D"}, {"Cmaj9", "Cmaj9", "1 3 5 7 9", "C E G B D"}, {"C9sus4", "C9sus4", "1 4 5 b7 9", "C F G Bb D"},
		{"C11", "C11", "1 5 b7 9 11", "C G Bb D F"}, {"Cm11", "Cm11", "1 b3 5 b7 9 11", "C Eb G Bb D F"},
		{"C13", "C13", "1 3 5 b7 9 13", "C E G Bb D A"}, {"Cm13", "Cm13", "1 b3 5 b7 9 11 13", "C Eb G Bb D F A"}, {"C7(13)", "C7add13", "1 3 5 b7 13", "C E G Bb A"},
		{"G7b9", "G7b9", "1 3 5 b7 b9", "G B D F Ab"}, {"G7(b9)", "G7b9", "1 3 5 b7 b9", "G B D F Ab"}, {"G7-9", "G7b9", "1 3 5 b7 b9", "G B D F Ab"}, {"G7♭9", "G7b9", "1 3 5 b7 b9", "G B D F Ab"},
		{"G7#9", "G7#9", "1 3 5 b7 #9", "G B D F A#"}, {"G7+9", "G7#9", "1 3 5 b7 #9", "G B D F A#"}, {"G7(b9,#11)", "G7b9#11", "1 3 5 b7 b9 #11", "G B D F Ab C#"},
		{"C7#11", "C7#11", "1 3 5 b7 #11", "C E G Bb F#"}, {"Cmaj7#11", "Cmaj7#11", "1 3 5 7 #11", "C E G B F#"}, {"C13#11", "C13#11", "1 3 5 b7 9 #11 13", "C E G Bb D F# A"},
		{"C7b13", "C7b13", "1 3 5 b7 b13", "C E G Bb Ab"}, {"C13b9", "C13b9", "1 3 5 b7 b9 13", "C E G Bb Db A"}, {"C7#9b13", "C7#9b13", "1 3 5 b7 #9 b13", "C E G Bb D# Ab"},
		{"G7alt", "G7alt", "1 3 b7 b9 #9 #11 b13", "G B F Ab A# C# Eb"}, {"Galt", "G7alt", "1 3 b7 b9 #9 #11 b13", "G B F Ab A# C# Eb"},
		{"N.C.", "N.C.", "", ""}, {"NC", "N.C.", "", ""}, {"n.c.", "N.C.", "", ""},
	}
	for _, tc := range tests {
		c := mustChord(t, tc.in)
		var degrees, letters []string
		for _, n := range c.Notes() {
			degrees, letters = append(degrees, n.Degree), append(letters, n.Letter)
		}
		if got := c.String(); got != tc.symbol {
			t.Errorf("%s is written %s, want %s", tc.in, got, tc.symbol)
		}
		if got := strings.Join(degrees, " "); got != tc.degrees {
			t.Errorf("%s has the degrees %s, want %s", tc.in, got, tc.degrees)
		}
		if got := strings.Join(letters, " "); got != tc.letters {
			t.Errorf("%s has the notes %s, want %s", tc.in, got, tc.letters)
		}
	}
}

func TestParseChordBass(t *testing.T) {
	tests := []struct {
		in, symbol, root, bass string
		class                  int
	}{
		{"C/E", "C/E", "C", "E", 4}, {"F#m7/C#", "F#m7/C#", "F#", "C#", 1}, {"Bbm7b5/E", "Bbm7b5/E", "Bb", "E", 4},
		{"C6/9/G", "C6/9/G", "C", "G", 7}, {"C6/9", "C6/9", "C", "C", 0}, {"C/C", "C", "C", "C", 0}, {"E♭/B♭", "Eb/Bb", "Eb", "Bb", 10}, {"C7/Cb", "C7/Cb", "C", "Cb", 11},
	}
	for _, tc := range tests {
		c := mustChord(t, tc.in)
		bass, class, ok := c.Bass()
		if c.String() != tc.symbol || c.Root() != tc.root || bass != tc.bass || class != tc.class || !ok {
			t.Errorf("%s is %v, root %s, bass %s = %d, %v", tc.in, c, c.Root(), bass, class, ok)
		}
	}
}

func TestParseChordRefuses(t *testing.T) {
	tests := map[string]string{ // what the sentence must offer
		"": "capital letter", "cm7": "capital letter", "H7": "capital letter", "/G": "capital letter", "7": "capital letter", "♭7": "capital letter",
		"Cq": "m7b5", "C2": "m7b5", "C4": "m7b5", "C8": "m7b5", "C/": "m7b5", "C/9": "m7b5", "C/H": "m7b5", "C7/g": "m7b5", "Cm5": "m7b5",
		"CmMaj": "m7b5", "Cmsus4": "m7b5", "Csus2sus4": "m7b5", "Cadd": "m7b5", "C7b": "m7b5", "C7b7": "m7b5", "C7alt13": "m7b5", "Cmaj7alt": "m7b5",
		"C7 Fm7": "m7b5", "C7#13": "m7b5", "C5sus4": "m7b5",
		"C" + strings.Repeat("b9", 500): "at most 60 characters",
	}
	for in, want := range tests {
		if c, err := ParseChord(in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("ParseChord(%q) = %v, %v; want an error that says %q", in, c, err, want)
		}
	}
}

// The twelve notes from the root up, named as lead sheets name them (common practice, no source).
func TestChordDegree(t *testing.T) {
	tests := map[string]string{
		"C7":     "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
		"Cmaj7":  "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
		"Cm7":    "1 b9 9 b3 3 11 #11 5 b13 13 b7 7",
		"Cm7b5":  "1 b9 9 b3 3 11 b5 5 b13 13 b7 7",
		"Cdim7":  "1 b9 9 b3 3 11 b5 5 b13 bb7 b7 7",
		"C":      "1 b9 9 #9 3 11 #11 5 b6 6 b7 7",
		"C6":     "1 b9 9 #9 3 11 #11 5 b6 6 b7 7",
		"Caug":   "1 b9 9 #9 3 11 #11 5 #5 6 b7 7",
		"C7#5":   "1 b9 9 #9 3 11 #11 5 #5 13 b7 7",
		"C7alt":  "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
		"C11":    "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
		"C7sus4": "1 b9 9 b3 3 4 #11 5 b13 13 b7 7",
		"Csus2":  "1 b9 2 b3 3 4 #11 5 b6 6 b7 7",
		"C5":     "1 b9 9 b3 3 4 #11 5 b6 6 b7 7",
	}
	for symbol, want := range tests {
		c := mustChord(t, symbol)
		var got []string
		for midi := 60; midi < 72; midi++ {
			got = append(got, c.Degree(midi))
		}
		if got := strings.Join(got, " "); got != want {
			t.Errorf("over %s:\n got %s\nwant %s", symbol, got, want)
		}
	}
	if got := mustChord(t, "Eb7").Degree(61); got != "b7" {
		t.Errorf("Db over Eb7 is %s, want b7", got)
	}
}

func TestChordLetter(t *testing.T) {
	tests := []struct {
		chord string
		midi  int
		want  string
	}{
		{"G7", 68, "Ab4"}, {"G7", 70, "A#4"}, {"Gm7", 70, "Bb4"}, {"G7", 61, "C#4"}, {"Gm7b5", 61, "Db4"}, {"Cdim7", 69, "Bbb4"}, {"Abm7", 59, "Cb4"}, {"C#7", 65, "E#4"},
	}
	for _, tc := range tests {
		if got, ok := mustChord(t, tc.chord).Letter(tc.midi); !ok || got.String() != tc.want {
			t.Errorf("%d over %s is %v, want %s", tc.midi, tc.chord, got, tc.want)
		}
	}
}

func TestNoChord(t *testing.T) {
	var c Chord
	if c != mustChord(t, "N.C.") {
		t.Error("the zero value is not N.C.")
	}
	_, _, bassOK := c.Bass()
	_, letterOK := c.Letter(60)
	if len(c.Notes()) != 0 || c.Root() != "" || c.Degree(60) != "" || bassOK || letterOK {
		t.Errorf("N.C. has notes %v, root %q, degree %q, bass %v, letter %v", c.Notes(), c.Root(), c.Degree(60), bassOK, letterOK)
	}
}

// drawChord puts a symbol together from the pieces of lead sheets and keeps those that make sense.
func drawChord(t *rapid.T) Chord {
	piece := func(label string, from ...string) string { return rapid.SampledFrom(from).Draw(t, label) }
	return rapid.Custom(func(t *rapid.T) Chord {
		text := piece("root", "C", "D", "E", "F", "G", "A", "B") + piece("accidental", "", "b", "#") +
			piece("quality", "", "", "m", "dim", "aug", "ø", "-") + piece("major", "", "", "maj", "M", "Δ") +
			piece("number", "", "5", "6", "6/9", "7", "9", "11", "13") + piece("sus", "", "", "", "sus2", "sus4")
		for range rapid.IntRange(0, 4).Draw(t, "alterations") {
			text += "," + piece("alteration", "b5", "#5", "b9", "9", "#9", "11", "#11", "b13", "13", "6", "b6", "alt", "add9", "addb9", "add#11", "add13")
		}
		text += piece("bass", "", "", "/E", "/Bb")
		c, err := ParseChord(text)
		if err != nil {
			t.Skip("not a chord: " + text)
		}
		return c
	}).Draw(t, "chord")
}

func TestChordStringIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawChord(t)
		got, err := ParseChord(c.String())
		if err != nil || got != c {
			t.Fatalf("%v with %v is read back as %v with %v, %v", c, c.Notes(), got, got.Notes(), err)
		}
	})
}

// What a chord calls its own notes is what it calls them when they are played, and no two of its notes are the same key of the instrument.
func TestChordNotesAndDegreesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawChord(t)
		seen := map[int]bool{}
		for _, n := range c.Notes() {
			midi := 60 + n.PitchClass
			letter, _ := c.Letter(midi)
			if seen[n.PitchClass] || c.Degree(midi) != n.Degree || letter.Letter != n.Letter || sounds(letter) != midi {
				t.Fatalf("%v: %+v is called %s and written %v", c, n, c.Degree(midi), letter)
			}
			seen[n.PitchClass] = true
		}
	})
}
