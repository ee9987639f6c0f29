package music

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// everyKey lists the 21 tonics with each scale.
func everyKey() (keys []Key) {
	for step := range int8(steps) {
		for alter := int8(-1); alter <= 1; alter++ {
			for sc := range scale(len(scales)) {
				keys = append(keys, Key{name{step, alter}, sc})
			}
		}
	}
	return keys
}

func mustKey(t testing.TB, s string) Key {
	t.Helper()
	k, err := ParseKey(s)
	if err != nil {
		t.Fatalf("ParseKey(%q): %v", s, err)
	}
	return k
}

// Scale spellings as theory books print them (common practice, no source); worked out by hand by the rule of one letter for each degree.
func TestScaleSpelling(t *testing.T) {
	tests := map[string]string{
		"C major": "C D E F G A B", "G major": "G A B C D E F#", "D major": "D E F# G A B C#", "A major": "A B C# D E F# G#",
		"E major": "E F# G# A B C# D#", "B major": "B C# D# E F# G# A#", "F# major": "F# G# A# B C# D# E#", "C# major": "C# D# E# F# G# A# B#",
		"F major": "F G A Bb C D E", "Bb major": "Bb C D Eb F G A", "Eb major": "Eb F G Ab Bb C D", "Ab major": "Ab Bb C Db Eb F G",
		"Db major": "Db Eb F Gb Ab Bb C", "Gb major": "Gb Ab Bb Cb Db Eb F", "Cb major": "Cb Db Eb Fb Gb Ab Bb",
		"G# major": "G# A# B# C# D# E# F##", "Fb major": "Fb Gb Ab Bbb Cb Db Eb",

		"A minor": "A B C D E F G", "E minor": "E F# G A B C D", "B minor": "B C# D E F# G A", "F# minor": "F# G# A B C# D E",
		"C# minor": "C# D# E F# G# A B", "G# minor": "G# A# B C# D# E F#", "D# minor": "D# E# F# G# A# B C#", "A# minor": "A# B# C# D# E# F# G#",
		"D minor": "D E F G A Bb C", "G minor": "G A Bb C D Eb F", "C minor": "C D Eb F G Ab Bb", "F minor": "F G Ab Bb C Db Eb",
		"Bb minor": "Bb C Db Eb F Gb Ab", "Eb minor": "Eb F Gb Ab Bb Cb Db", "Ab minor": "Ab Bb Cb Db Eb Fb Gb",

		"A harmonic minor": "A B C D E F G#", "G# harmonic minor": "G# A# B C# D# E F##", "D# harmonic minor": "D# E# F# G# A# B C##",
		"A# harmonic minor": "A# B# C# D# E# F# G##", "Ab harmonic minor": "Ab Bb Cb Db Eb Fb G", "C harmonic minor": "C D Eb F G Ab B",
		"G# melodic minor": "G# A# B C# D# E# F##", "A# melodic minor": "A# B# C# D# E# F## G##", "Eb melodic minor": "Eb F Gb Ab Bb C D",
		"Ab melodic minor": "Ab Bb Cb Db Eb F G", // from G on, the altered scale over G7

		"C dorian": "C D Eb F G A Bb", "C phrygian": "C Db Eb F G Ab Bb", "C lydian": "C D E F# G A B",
		"C mixolydian": "C D E F G A Bb", "C locrian": "C Db Eb F Gb Ab Bb",
		"Eb mixolydian": "Eb F G Ab Bb C Db", "Gb lydian": "Gb Ab Bb C Db Eb F", "D locrian": "D Eb F G Ab Bb C",

		"C blues": "C Eb F Gb G Bb", "A blues": "A C D Eb E G", "Bb blues": "Bb Db Eb Fb F Ab",
		"C major pentatonic": "C D E G A", "A minor pentatonic": "A C D E G", "F# minor pentatonic": "F# A B C# E",
	}
	for key, want := range tests {
		if got := strings.Join(mustKey(t, key).Scale(), " "); got != want {
			t.Errorf("%s: got %s, want %s", key, got, want)
		}
	}
}

func TestPitchClasses(t *testing.T) {
	got := mustKey(t, "Bb blues").PitchClasses()
	want := []int{10, 1, 3, 4, 5, 8}
	for i := range want {
		if i >= len(got) || got[i] != want[i] {
			t.Fatalf("Bb blues: got %v, want %v", got, want)
		}
	}
}

func TestParseKey(t *testing.T) {
	tests := map[string]string{
		"C minor": "C minor", "Cm": "C minor", "c min": "C minor", "C-": "C minor", "C-minor": "C minor", "c natural minor": "C minor", "C aeolian": "C minor",
		"Eb major": "Eb major", "Eb": "Eb major", "eb": "Eb major", "E♭": "Eb major", "E-flat": "Eb major", "e flat minor": "Eb minor", "EbM": "Eb major", "Ebmaj": "Eb major",
		"F# dorian": "F# dorian", "F♯ Dorian": "F# dorian", "f sharp dorian": "F# dorian", "F#dor": "F# dorian",
		"Bb blues": "Bb blues", "bb blues": "Bb blues", "b blues": "B blues", "Bblues": "B blues", "Bbblues": "Bb blues", "bb": "Bb major", "b": "B major", "bm": "B minor", "bbm": "Bb minor",
		"A harmonic minor": "A harmonic minor", "Am harmonic": "A harmonic minor", "g melodic minor": "G melodic minor", "G jazz minor": "G melodic minor",
		"C minor pentatonic": "C minor pentatonic", "Cm pent": "C minor pentatonic", "C pentatonic minor": "C minor pentatonic",
		"D major pentatonic": "D major pentatonic", "D pentatonic": "D major pentatonic",
		"  G  mixolydian  mode ": "G mixolydian", "A phrygian scale": "A phrygian", "F LYDIAN": "F lydian", "B locrian": "B locrian", "C ionian": "C major",
		"Cb": "Cb major", "B# minor": "B# minor", "E#": "E# major", "Fb lydian": "Fb lydian",
	}
	for in, want := range tests {
		if got := mustKey(t, in).String(); got != want {
			t.Errorf("ParseKey(%q) = %s, want %s", in, got, want)
		}
	}
}

func TestParseKeyRefuses(t *testing.T) {
	tests := map[string]string{ // what the sentence must offer
		"":               "letter from A to G",
		"   ":            "letter from A to G",
		"H minor":        "letter from A to G",
		"♭":              "letter from A to G",
		"C minro":        "harmonic minor",
		"C dorian minor": "dorian",
		"C major blues":  "blues",
		"F## minor":      `"G minor"`,
		"Bbb":            `"A major"`,
		"Ebb minor":      `"D minor"`,
		"C𝄪 dorian":      `"D dorian"`,
		"E### minor":     "minor pentatonic",
		"Ebm7":           "minor pentatonic",
		"C\x00":          "minor pentatonic",
	}
	for in, want := range tests {
		k, err := ParseKey(in)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("ParseKey(%q) = %v, %v; want an error that says %s", in, k, err, want)
		}
	}
	if _, err := ParseKey("C" + strings.Repeat(" ", 1000)); err == nil {
		t.Error("a key name of 1001 bytes was taken")
	}
}

func TestKeyStringIsReadBack(t *testing.T) {
	seen := map[Key]bool{}
	for _, k := range everyKey() {
		if got := mustKey(t, k.String()); got != k {
			t.Errorf("%v is read back as %v", k, got)
		}
		seen[k] = true
	}
	if want := 21 * 12; len(seen) != want {
		t.Errorf("%d keys, want %d", len(seen), want)
	}
}

func TestZeroKeyIsCMajor(t *testing.T) {
	if got := (Key{}).String(); got != "C major" {
		t.Errorf("got %s", got)
	}
}

// In D minor the numbers 1 to 7 are D E F G A Bb C (common practice, no source).
func TestNumbersOfDMinor(t *testing.T) {
	k := mustKey(t, "D minor")
	for i, want := range []string{"D", "E", "F", "G", "A", "Bb", "C"} {
		midi, err := k.Pitch(string(rune('1'+i)), ScaleNumbers, 66)
		if err != nil {
			t.Fatal(err)
		}
		if got := k.Letter(midi).Letter; got != want {
			t.Errorf("degree %d of D minor is %s, want %s", i+1, got, want)
		}
	}
}

// Every note of the octave from C up; "letters" and the two numberings side by side (common practice for the rule, worked out by hand).
func TestDegreesOfAnOctave(t *testing.T) {
	tests := []struct{ key, letters, scale, altered string }{
		{"C minor", "C Db D Eb E F F# G Ab A Bb B", "1 b2 2 3 #3 4 #4 5 6 #6 7 #7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"C major", "C Db D Eb E F F# G Ab A Bb B", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"C harmonic minor", "C Db D Eb E F F# G Ab A Bb B", "1 b2 2 3 #3 4 #4 5 6 #6 b7 7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"C melodic minor", "C Db D Eb E F F# G Ab A Bb B", "1 b2 2 3 #3 4 #4 5 b6 6 b7 7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"C phrygian", "C Db D Eb E F F# G Ab A Bb B", "1 2 #2 3 #3 4 #4 5 6 #6 7 #7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"C lydian", "C Db D Eb E F F# G Ab A Bb B", "1 b2 2 b3 3 b4 4 5 b6 6 b7 7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"C locrian", "C Db D Eb E F Gb G Ab A Bb B", "1 2 #2 3 #3 4 5 #5 6 #6 7 #7", "1 b2 2 b3 3 4 b5 5 b6 6 b7 7"},
		{"C blues", "C Db D Eb E F Gb G Ab A Bb B", "1 b2 2 3 #3 4 b5 5 6 #6 7 #7", "1 b2 2 b3 3 4 b5 5 b6 6 b7 7"},
		{"C minor pentatonic", "C Db D Eb E F F# G Ab A Bb B", "1 b2 2 3 #3 4 #4 5 6 #6 7 #7", "1 b2 2 b3 3 4 #4 5 b6 6 b7 7"},
		{"G# harmonic minor", "B# C# C## D# E E# F# F## G# A A# B", "#3 4 #4 5 6 #6 b7 7 1 b2 2 3", "3 4 #4 5 b6 6 b7 7 1 b2 2 b3"},
	}
	for _, tc := range tests {
		k := mustKey(t, tc.key)
		var letters, scale, altered []string
		for midi := 60; midi < 72; midi++ {
			letters = append(letters, k.Letter(midi).Letter)
			scale = append(scale, k.Degree(midi, ScaleNumbers))
			altered = append(altered, k.Degree(midi, AlteredNumbers))
		}
		for _, c := range []struct{ what, got, want string }{
			{"letters", strings.Join(letters, " "), tc.letters},
			{"scale numbers", strings.Join(scale, " "), tc.scale},
			{"altered numbers", strings.Join(altered, " "), tc.altered},
		} {
			if c.got != c.want {
				t.Errorf("%s, %s:\n got %s\nwant %s", tc.key, c.what, c.got, c.want)
			}
		}
	}
}

// Single letters that go wrong where sharps and flats are mixed up (worked out by hand).
func TestLetterOfRareDegrees(t *testing.T) {
	tests := []struct{ key, degree, letter string }{
		{"C# minor", "6", "A"}, {"G# minor", "#7", "F##"}, {"D# minor", "#7", "C##"}, {"Ab minor", "6", "Fb"},
		{"Eb mixolydian", "7", "Db"}, {"Gb lydian", "4", "C"},
		{"F# major", "7", "E#"}, {"C# major", "7", "B#"}, {"Gb major", "4", "Cb"}, {"Cb major", "4", "Fb"},
	}
	for _, tc := range tests {
		k := mustKey(t, tc.key)
		midi, err := k.Pitch(tc.degree, ScaleNumbers, 60)
		if err != nil {
			t.Fatal(err)
		}
		if got := k.Letter(midi).Letter; got != tc.letter {
			t.Errorf("%s of %s is %s, want %s", tc.degree, tc.key, got, tc.letter)
		}
	}
}

// The octave number belongs to the letter (scientific pitch notation, common practice: B#3 sounds as C4, Cb4 as B3).
func TestOctaves(t *testing.T) {
	tests := []struct {
		key  string
		midi int
		want string
	}{
		{"C major", 60, "C4"}, {"C major", 69, "A4"}, {"C major", 21, "A0"}, {"C major", 108, "C8"}, {"C major", 0, "C-1"}, {"C major", 127, "G9"}, {"C major", -1, "B-2"},
		{"C# major", 60, "B#3"}, {"C# major", 72, "B#4"}, {"Gb major", 59, "Cb4"}, {"Cb major", 71, "Cb5"}, {"Cb major", 59, "Cb4"},
		{"G# harmonic minor", 67, "F##4"}, {"C# lydian", 67, "F##4"}, {"A# harmonic minor", 69, "G##4"}, {"B# major", 60, "B#3"}, {"B# major", 71, "A##4"},
	}
	for _, tc := range tests {
		if got := mustKey(t, tc.key).Letter(tc.midi).String(); got != tc.want {
			t.Errorf("%d in %s is %s, want %s", tc.midi, tc.key, got, tc.want)
		}
	}
}

// sounds works out the MIDI note number of a written note, by itself.
func sounds(s Spelling) int {
	natural := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}[s.Letter[0]]
	return 12*(s.Octave+1) + natural + strings.Count(s.Letter, "#") - strings.Count(s.Letter[1:], "b")
}

// What holds for every key, note and numbering.
func TestLettersAndDegreesAgree(t *testing.T) {
	const alphabet = "CDEFGAB"
	for _, k := range everyKey() {
		tonic := strings.IndexByte(alphabet, k.Tonic()[0])
		for _, n := range []Numbering{ScaleNumbers, AlteredNumbers} {
			degrees := map[string]bool{}
			for midi := 48; midi < 60; midi++ {
				letter, degree := k.Letter(midi), k.Degree(midi, n)
				degrees[degree] = true
				if got := sounds(letter); got != midi {
					t.Errorf("%v: %d is written %v, which sounds as %d", k, midi, letter, got)
				}
				if len(letter.Letter) > 3 {
					t.Errorf("%v: %d has the letter %s", k, midi, letter.Letter)
				}
				number := int(degree[len(degree)-1] - '1')
				if want := alphabet[(tonic+number)%7]; letter.Letter[0] != want {
					t.Errorf("%v, %v: degree %s has the letter %v", k, n, degree, letter)
				}
				if len(degree) > 2 {
					t.Errorf("%v, %v: %d has the degree %s", k, n, midi, degree)
				}
			}
			if len(degrees) != 12 {
				t.Errorf("%v, %v: %d degrees for 12 notes: %v", k, n, len(degrees), degrees)
			}
		}
	}
}

func TestNotesOfSevenNoteScalesHavePlainNumbers(t *testing.T) {
	for _, k := range everyKey() {
		classes := k.PitchClasses()
		if len(classes) != 7 {
			continue
		}
		for i, class := range classes {
			if got, want := k.Degree(class, ScaleNumbers), string(rune('1'+i)); got != want {
				t.Errorf("%v: note %d of the scale has the degree %s", k, i+1, got)
			}
		}
	}
}

func TestPitchUndoesDegree(t *testing.T) {
	keys := everyKey()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(keys).Draw(t, "key")
		n := rapid.SampledFrom([]Numbering{ScaleNumbers, AlteredNumbers}).Draw(t, "numbering")
		midi := rapid.IntRange(0, 127).Draw(t, "midi")
		off := rapid.IntRange(-5, 6).Draw(t, "off")
		degree := k.Degree(midi, n)
		got, err := k.Pitch(degree, n, midi+off)
		if err != nil || got != midi {
			t.Fatalf("%v, %v: %d is %s, which near %d is %d, %v", k, n, midi, degree, midi+off, got, err)
		}
	})
}

func TestPitch(t *testing.T) {
	tests := []struct {
		key, degree string
		n           Numbering
		near, want  int
	}{
		{"C minor", "3", ScaleNumbers, 60, 63},
		{"C minor", "b3", AlteredNumbers, 60, 63},
		{"C minor", "3", AlteredNumbers, 60, 64},
		{"C minor", "♭3", AlteredNumbers, 72, 75},
		{"C minor", "#4", ScaleNumbers, 60, 54}, // two lie six semitones away: the lower one
		{"C minor", "5", ScaleNumbers, 60, 55},
		{"C minor", "bb7", AlteredNumbers, 72, 69},
		{"C minor", "##1", ScaleNumbers, 0, 2},
	}
	for _, tc := range tests {
		got, err := mustKey(t, tc.key).Pitch(tc.degree, tc.n, tc.near)
		if err != nil || got != tc.want {
			t.Errorf("%s of %s near %d = %d, %v; want %d", tc.degree, tc.key, tc.near, got, err, tc.want)
		}
	}
	for _, degree := range []string{"", "0", "8", "b", "3b", "bbb3", "#b3", "x", "13", "b 3"} {
		if got, err := (Key{}).Pitch(degree, ScaleNumbers, 60); err == nil {
			t.Errorf("degree %q was taken as %d", degree, got)
		}
	}
}

func TestNumbering(t *testing.T) {
	for _, n := range []Numbering{ScaleNumbers, AlteredNumbers} {
		if got, err := ParseNumbering(n.String()); err != nil || got != n {
			t.Errorf("%v is read back as %v, %v", n, got, err)
		}
	}
	if _, err := ParseNumbering("roman"); err == nil || !strings.Contains(err.Error(), `"altered"`) {
		t.Errorf("the error is %v", err)
	}
	if got := Numbering(7).String(); got != "Numbering(7)" {
		t.Errorf("got %s", got)
	}
}

// The two scales over G7 in a minor key, as modes of other scales (common practice, no source): the altered scale is Ab melodic minor
// from G on, the phrygian dominant is C harmonic minor from G on.
func TestScalesOverADominant(t *testing.T) {
	tests := map[string]string{
		"Ab melodic minor": "G Ab Bb Cb Db Eb F",
		"C harmonic minor": "G Ab B C D Eb F",
	}
	for key, want := range tests {
		letters := mustKey(t, key).Scale()
		i := slices.Index(letters, "G")
		if i < 0 {
			t.Fatalf("%s has no G: %v", key, letters)
		}
		if got := strings.Join(slices.Concat(letters[i:], letters[:i]), " "); got != want {
			t.Errorf("%s from G on is %s, want %s", key, got, want)
		}
	}
}
