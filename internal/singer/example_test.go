package singer_test

import (
	"fmt"

	"larkhand/internal/singer"
)

func Example() {
	notes := []singer.Note{
		{Onset: 0.50, Offset: 0.95, Pitch: 60, Syllable: "do"},
		{Onset: 1.00, Offset: 1.40, Pitch: 63, Syllable: "me", ConsonantSeconds: 0.08, ScoopCents: 120},
		{Onset: 1.50, Offset: 2.20, Pitch: 62, Syllable: "re", DetuneCents: -25, VibratoCents: 40, VibratoDelay: 0.2},
	}
	take := singer.Render(notes, singer.Alto, 16000, 1)
	fmt.Printf("%.1f s\n", float64(len(take))/16000)
	for _, truth := range singer.Truths(notes) {
		fmt.Printf("%.2f to %.2f s: %.2f\n", truth.Onset, truth.Offset, truth.Pitch)
	}
	// Output:
	// 2.6 s
	// 0.50 to 0.92 s: 60.00
	// 1.00 to 1.40 s: 63.00
	// 1.50 to 2.20 s: 61.75
}
