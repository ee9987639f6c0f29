package notation_test

import (
	"fmt"

	"larkhand/internal/music"
	"larkhand/internal/notation"
)

func Example() {
	key, _ := music.ParseKey("C minor")
	quarter := 0.5 // s at 120 quarter notes a minute
	notes := []notation.Note{
		{Onset: 2 * quarter, Offset: 2.5 * quarter, Semitone: 60},
		{Onset: 2.5 * quarter, Offset: 3 * quarter, Semitone: 62},
		{Onset: 3 * quarter, Offset: 4.9 * quarter, Semitone: 63},
		{Onset: 5 * quarter, Offset: 6 * quarter, Semitone: 59},
	}
	tune := notation.Write(notes, notation.Time{Beats: 4, Unit: 4, Tempo: 120})
	fmt.Print(tune.ABC(notation.Score{Key: key, Under: [][]string{{"1", "2", "3", "#7"}}}))
	// Output:
	// X:1
	// M:4/4
	// L:1/96
	// K:C minor clef=treble
	// z48 C12D12 E24- | E24 =B,24 z48 |]
	// w: 1 2 3 * #7
}
