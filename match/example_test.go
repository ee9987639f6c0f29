package match_test

import (
	"fmt"

	"larkhand/match"
)

// A phrase C D Eb G is sung and played an octave higher, with E natural in place of Eb.
func ExampleAlign() {
	var sung []match.Sung
	for i, key := range []int{60, 62, 63, 67} {
		at := 0.5 * float64(i)
		sung = append(sung, match.Sung{
			Onset: at, Offset: at + 0.45,
			Pitch: float64(key), Semitone: key,
			Chance: [3]float64{0.01, 0.98, 0.01}, Confidence: 0.95,
		})
	}
	var played []match.Played
	for i, key := range []float64{72, 74, 76, 79} {
		at := 0.6 * float64(i)
		played = append(played, match.Played{Onset: at, Offset: at + 0.5, Pitch: key, Velocity: 70})
	}
	a := match.Align(sung, played)
	fmt.Printf("octaves %d, transposition %d, tempo ratio %.1f\n", a.Octaves, a.Transposition, a.TempoRatio)
	for _, p := range a.Pairs {
		fmt.Println(p.Sung, p.Played, p.Verdict)
	}
	// Output:
	// octaves 1, transposition 0, tempo ratio 1.2
	// 0 0 same
	// 1 1 same
	// 2 2 different
	// 3 3 same
}
