package notation_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/music"
	"larkhand/internal/notation"
)

// at120 makes notes of onsets and lengths in quarter notes at 120 a minute, all on one pitch.
func at120(places ...[2]float64) []notation.Note {
	var out []notation.Note
	for _, p := range places {
		out = append(out, notation.Note{Onset: p[0] / 2, Offset: (p[0] + p[1]) / 2, Semitone: 67})
	}
	return out
}

func key(t interface{ Fatal(...any) }, name string) music.Key {
	k, err := music.ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// music part of the ABC of notes in C major.
func abc(t *testing.T, notes []notation.Note, time notation.Time) string {
	t.Helper()
	text := notation.Write(notes, time).ABC(notation.Score{Key: key(t, "C major")})
	_, after, _ := strings.Cut(text, "clef=treble\n")
	return strings.TrimSpace(after)
}

func TestRhythm(t *testing.T) {
	four := notation.Time{Beats: 4, Unit: 4, Tempo: 120}
	cases := []struct {
		name  string
		notes []notation.Note
		time  notation.Time
		want  string
	}{
		{"quarters", at120([2]float64{0, 1}, [2]float64{1, 1}, [2]float64{2, 1}, [2]float64{3, 1}), four, "G24 G24 G24 G24 |]"},
		{"a whole note", at120([2]float64{0, 4}), four, "G96 |]"},
		{"over the bar line", at120([2]float64{3, 2}), four, "z48 z24 G24- | G24 z24 z48 |]"},
		{"the middle of the bar stays visible", at120([2]float64{1, 2}, [2]float64{3, 1}), four, "z24 G24- G24 G24 |]"},
		{"off the beat", at120([2]float64{0, 0.5}, [2]float64{0.5, 1}, [2]float64{1.5, 0.5}, [2]float64{2, 2}), four, "G12G24G12 G48 |]"},
		{"dotted", at120([2]float64{0, 0.75}, [2]float64{0.75, 0.25}, [2]float64{1, 1}, [2]float64{2, 1.5}, [2]float64{3.5, .5}), four, "G18G6 G24 G36G12 |]"},
		{"triplet", at120([2]float64{0, 1. / 3}, [2]float64{1. / 3, 1. / 3}, [2]float64{2. / 3, 1. / 3}, [2]float64{1, 3}), four, "(3:2:3G12G12G12 G24- G48 |]"},
		{"swung pair", at120([2]float64{0, 2. / 3}, [2]float64{2. / 3, 1. / 3}, [2]float64{1, 1}, [2]float64{2, 2}), four, "(3:2:2G24G12 G24 G48 |]"},
		{"short notes leave rests", at120([2]float64{0, 0.3}, [2]float64{2, 0.5}), four, "G6z18 z24 G12z12 z24 |]"},
		{"two keys at once stand one after the other", at120([2]float64{0, 1}, [2]float64{0.01, 1}), four, "G6G18 z24 z48 |]"},
		{"unsteady hands", at120([2]float64{0.04, 0.9}, [2]float64{0.95, 0.9}, [2]float64{2.06, 0.4}, [2]float64{2.47, 0.5}, [2]float64{3.03, 0.9}), four, "G24 G24 G12G12 G24 |]"},
		{"before the first bar", at120([2]float64{-1, 1}, [2]float64{0, 4}), four, "z48 z24 G24 | G96 |]"},
		{"six eight", at120([2]float64{0, 1.5}, [2]float64{1.5, 0.5}, [2]float64{2, 0.5}, [2]float64{2.5, 0.5}), notation.Time{Beats: 6, Unit: 8, Tempo: 120}, "G36 G12G12G12 |]"},
		{"three four", at120([2]float64{1, 2}), notation.Time{Beats: 3, Unit: 4, Tempo: 120}, "z24 G48 |]"},
		{"five eight", at120([2]float64{0, 2.5}), notation.Time{Beats: 5, Unit: 8, Tempo: 120}, "G48- G12 |]"},
		{"one thirty-second", at120([2]float64{0, 0.125}), notation.Time{Beats: 1, Unit: 32, Tempo: 120}, "G3 |]"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := abc(t, c.notes, c.time); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

func TestAccidentals(t *testing.T) {
	k := key(t, "Eb major")
	var notes []notation.Note
	for i, semitone := range []int{63, 64, 65, 65, 62, 66, 75, 51} { // Eb Fb F F, then D Gb and Eb in other octaves
		notes = append(notes, notation.Note{Onset: float64(i) / 2, Offset: float64(i+1) / 2, Semitone: semitone})
	}
	got := notation.Write(notes, notation.Time{Beats: 4, Unit: 4, Tempo: 120}).ABC(notation.Score{Key: k, Above: []string{"a \"b\""}})
	for _, want := range []string{"K:Eb major clef=treble", "\"^a 'b'\"E24 _F24 =F24 F24 | D24 _G24 e24 E,24"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

func TestSignatures(t *testing.T) {
	// Signatures by the circle of fifths (common practice).
	for name, want := range map[string]int{
		"C major": 0, "G major": 1, "F major": -1, "Eb major": -3, "F# major": 6, "Cb major": -7, "C minor": -3, "E minor": 1, "C harmonic minor": -3,
		"D dorian": 0, "C mixolydian": -1, "F lydian": 0, "E phrygian": 0, "B locrian": 0, "A blues": 0, "A minor pentatonic": 0, "A major pentatonic": 3, "G# major": 0,
	} {
		if got, _ := notation.Fifths(key(t, name)); got != want {
			t.Errorf("%s: %d, want %d", name, got, want)
		}
	}
	text := notation.Write(at120([2]float64{0, 4}), notation.Time{Beats: 4, Unit: 4, Tempo: 120}).ABC(notation.Score{Key: key(t, "G# major")})
	if !strings.Contains(text, "K:none") || !strings.Contains(text, "^^F96") {
		t.Errorf("a key with too many sharps:\n%s", text)
	}
}

func TestChordSymbols(t *testing.T) {
	chart, err := music.ParseChart("Cm7 | Fm7 G7 | Cm7")
	if err != nil {
		t.Fatal(err)
	}
	notes := at120([2]float64{4, 1}, [2]float64{5, 1}, [2]float64{6, 1}, [2]float64{7, 1}, [2]float64{8, 4})
	got := notation.Write(notes, notation.Time{Beats: 4, Unit: 4, Tempo: 120}).ABC(notation.Score{Key: key(t, "C minor"), Chart: &chart})
	if want := `"Fm7"G24 G24 "G7"G24 G24 | "Cm7"G96 |]`; !strings.Contains(got, want) {
		t.Errorf("no %s in\n%s", want, got)
	}
}

func TestGuessedTempo(t *testing.T) {
	for _, tempo := range []float64{84, 100, 126} {
		beat := 60 / tempo
		var notes []notation.Note
		for _, p := range []float64{0, 1, 1.5, 2, 3, 4, 4.5, 5, 6} {
			notes = append(notes, notation.Note{Onset: 3 + p*beat, Offset: 3 + (p+0.5)*beat, Semitone: 60})
		}
		got := notation.GuessTime(notes)
		if ratio := got.Tempo / tempo; ratio < 0.98 || ratio > 1.02 || got.Bar != 3 {
			t.Errorf("at %g: guessed %.1f, bar at %g", tempo, got.Tempo, got.Bar)
		}
	}
}

// TestBarsAreFull holds whatever is played to what a written bar must be.
func TestBarsAreFull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		time := notation.Time{
			Beats: rapid.IntRange(1, 13).Draw(t, "beats"), Unit: 1 << rapid.IntRange(0, 5).Draw(t, "unit"),
			Tempo: rapid.Float64Range(30, 300).Draw(t, "tempo"), Bar: rapid.Float64Range(-3, 3).Draw(t, "bar"),
		}
		var notes []notation.Note
		at := 0.0
		for range rapid.IntRange(1, 20).Draw(t, "notes") {
			at += rapid.Float64Range(0, 2).Draw(t, "gap")
			notes = append(notes, notation.Note{Onset: at, Offset: at + rapid.Float64Range(0.01, 3).Draw(t, "length"), Semitone: rapid.IntRange(20, 100).Draw(t, "pitch")})
		}
		tune := notation.Write(notes, time)
		seen := make([]bool, len(notes))
		tied := false
		for i, bar := range tune.Bars {
			at := 0
			for _, s := range bar.Symbols {
				if s.Start != at || s.Length <= 0 {
					t.Fatalf("bar %d: a symbol at %d of length %d, want it at %d", i, s.Start, s.Length, at)
				}
				if s.TiedFrom != tied {
					t.Fatalf("bar %d, tick %d: tied from %v, want %v", i, at, s.TiedFrom, tied)
				}
				length := 4 * notation.TicksPerQuarter / s.Value
				length += length / 2 * s.Dots
				if s.Triplet {
					length = length * 2 / 3
				}
				if length != s.Length {
					t.Fatalf("bar %d: 1/%d with %d dots is written for %d ticks", i, s.Value, s.Dots, s.Length)
				}
				tied = s.TiedTo
				at += s.Length
				if !s.Rest {
					if s.Semitone != notes[s.Source].Semitone {
						t.Fatal("another pitch than was sung")
					}
					seen[s.Source] = true
				}
			}
			if want := time.Beats * 4 * notation.TicksPerQuarter / time.Unit; at != want {
				t.Fatalf("bar %d has %d ticks, want %d", i, at, want)
			}
		}
		for i, s := range seen {
			if !s {
				t.Fatalf("note %d is not written", i)
			}
		}
		if text := tune.ABC(notation.Score{Key: key(t, "C minor")}); !strings.HasSuffix(text, "|]\n") {
			t.Fatalf("no end:\n%s", text)
		}
	})
}

func TestNothing(t *testing.T) {
	if tune := notation.Write(nil, notation.GuessTime(nil)); len(tune.Bars) != 0 {
		t.Errorf("bars of no notes: %v", tune.Bars)
	}
}
