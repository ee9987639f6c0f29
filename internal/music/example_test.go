package music_test

import (
	"fmt"

	"larkhand/internal/music"
)

// A note of a phrase, its number and letter in the key, and its number against the chord that sounds.
func Example() {
	key, err := music.ParseKey("Cm")
	if err != nil {
		fmt.Println(err)
		return
	}
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		fmt.Println(err)
		return
	}
	const aFlat = 68
	fmt.Println(key, key.Scale())
	fmt.Println(key.Letter(aFlat), key.Degree(aFlat, music.ScaleNumbers), key.Degree(aFlat, music.AlteredNumbers))
	chord := chart.Bars[2].At(0)
	fmt.Println(chord, chord.Degree(aFlat))
	// Output:
	// C minor [C D Eb F G Ab Bb]
	// Ab4 6 b6
	// G7b9 b9
}
