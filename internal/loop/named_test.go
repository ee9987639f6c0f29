package loop

import (
	"strings"
	"testing"

	"larkhand/internal/music"
)

// Common practice, no source: transposed by hand.
func TestNamed(t *testing.T) {
	tests := []struct{ name, key, want string }{
		{"minor vamp", "C minor", "Cm7 | Cm7 | Fm7 | Fm7"},
		{"Minor  Vamp", "F# minor", "F#m7 | F#m7 | Bm7 | Bm7"},
		{"ii-V-I major", "C", "Dm7 | G7 | Cmaj7 | Cmaj7"},
		{"ii-v-i major", "Eb", "Fm7 | Bb7 | Ebmaj7 | Ebmaj7"},
		{"ii-V-I minor", "C minor", "Dm7b5 | G7b9 | Cm7 | Cm7"},
		{"ii-V-I minor", "G# minor", "A#m7b5 | D#7b9 | G#m7 | G#m7"},
		{"12-bar blues", "Bb blues", "Bb7 | Eb7 | Bb7 | Bb7 | Eb7 | Eb7 | Bb7 | Bb7 | F7 | Eb7 | Bb7 | F7"},
		{"12-bar jazz blues", "F", "F7 | Bb7 | F7 | F7 | Bb7 | Bdim7 | F7 | D7 | Gm7 | C7 | F7 D7 | Gm7 C7"},
		{"12-bar minor blues", "Db", "Dbm7 | Gbm7 | Dbm7 | Dbm7 | Gbm7 | Gbm7 | Dbm7 | Dbm7 | A7 | Ab7 | Dbm7 | Ab7b9"},
		{"12-bar minor blues", "A minor", "Am7 | Dm7 | Am7 | Am7 | Dm7 | Dm7 | Am7 | Am7 | F7 | E7 | Am7 | E7b9"},
	}
	for _, tc := range tests {
		key, err := music.ParseKey(tc.key)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Named(tc.name, key)
		if err != nil || got.String() != tc.want {
			t.Errorf("%s in %v: %v, %v; want %s", tc.name, key, got, err, tc.want)
		}
	}
}

func TestNamedOnEveryTonic(t *testing.T) {
	for _, letter := range "ABCDEFG" {
		for _, accidental := range []string{"", "#", "b"} {
			key, err := music.ParseKey(string(letter) + accidental + " minor")
			if err != nil {
				t.Fatal(err)
			}
			for _, name := range Names() {
				chart, err := Named(name, key)
				if err != nil {
					t.Errorf("%s in %v: %v", name, key, err)
					continue
				}
				if name == "12-bar blues" && chart.Bars[0].Chords[0].Root() != key.Tonic() {
					t.Errorf("%s in %v begins with %v", name, key, chart.Bars[0].Chords[0])
				}
			}
		}
	}
}

func TestNamedRefuses(t *testing.T) {
	if _, err := Named("bossa", music.Key{}); err == nil || !strings.Contains(err.Error(), "minor vamp") {
		t.Errorf("the error is %v", err)
	}
}
