package voice_test

import (
	"fmt"

	"larkhand/internal/singer"
	"larkhand/voice"
)

// A take usually comes from a microphone or a file; here a rendered singer stands in.
func ExampleAnalyse() {
	notes := []singer.Note{
		{Onset: 0.4, Offset: 0.8, Pitch: 60, Syllable: "da"},
		{Onset: 0.9, Offset: 1.3, Pitch: 63, Syllable: "du"},
		{Onset: 1.4, Offset: 2.0, Pitch: 62, Syllable: "la"},
	}
	samples := singer.Render(notes, singer.Voice{Kind: singer.Woman, Low: 53, High: 76}, 44100, 1)
	take, err := voice.Analyse(samples, 44100)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range take.Notes {
		fmt.Println(n.Semitone)
	}
	// Output:
	// 60
	// 63
	// 62
}
