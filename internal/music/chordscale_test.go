package music

import (
	"strings"
	"testing"
)

// The modes of the chords of a key, and what the usual altered chords take (common practice, no source).
func TestChordScale(t *testing.T) {
	for _, c := range []struct{ key, chord, want string }{
		{"C major", "Dm7", "D E F G A B C"},
		{"C major", "G7", "G A B C D E F"},
		{"C major", "Cmaj7", "C D E F G A B"},
		{"C major", "D7", "D E F# G A B C"},
		{"C major", "Bb7", "Bb C D E F G Ab"},
		{"C minor", "Cm7", "C D Eb F G Ab Bb"},
		{"C minor", "Dm7b5", "D Eb F G Ab Bb C"},
		{"C minor", "G7b9", "G Ab B C D Eb F"},
		{"Eb dorian", "Ab7", "Ab Bb C Db Eb F Gb"},
		{"F# minor", "C#7", "C# D E# F# G# A B"},
		{"C blues", "F7", "F G A Bb C D Eb"},
		{"C major", "N.C.", ""},
	} {
		k, err := ParseKey(c.key)
		if err != nil {
			t.Fatal(err)
		}
		chord, err := ParseChord(c.chord)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, n := range k.ChordScale(chord) {
			got = append(got, n.Letter)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s in %s: %v, want %s", c.chord, c.key, got, c.want)
		}
	}
}

// TestChordScaleHasTheChord: in every key, the scale begins on the root, has every sound of the chord once, and no sound twice.
func TestChordScaleHasTheChord(t *testing.T) {
	for _, key := range []string{"C major", "Gb major", "A# minor", "D blues", "B lydian", "F locrian", "Ab minor pentatonic"} {
		k, err := ParseKey(key)
		if err != nil {
			t.Fatal(err)
		}
		for _, symbol := range []string{"C", "Cm7", "F#7b9", "Gb7", "Bdim7", "E7alt", "Abmaj7", "D13#11", "G#m7b5", "Faug", "Asus4", "Eb6/9"} {
			chord, err := ParseChord(symbol)
			if err != nil {
				t.Fatal(err)
			}
			seen := map[int]bool{}
			scale := k.ChordScale(chord)
			for _, n := range scale {
				if seen[n.PitchClass] {
					t.Errorf("%s in %s: %v has a sound twice", symbol, key, scale)
				}
				seen[n.PitchClass] = true
			}
			if scale[0].Letter != chord.Root() {
				t.Errorf("%s in %s begins on %s", symbol, key, scale[0].Letter)
			}
		}
	}
}
