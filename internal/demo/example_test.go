package demo_test

import (
	"fmt"

	"larkhand/internal/demo"
)

func Example() {
	_, take2, rate, _, meta := demo.Round()
	fmt.Printf("%s, %s at %g\n", meta.Key, meta.Chart, meta.Tempo)
	fmt.Printf("take 2: %d notes in %.1f s\n", len(meta.Second), float64(len(take2))/float64(rate))
	fmt.Printf("the answer: %d notes, the first %.1f s after the take\n", len(meta.Played),
		meta.AnswerStart+meta.Played[0].Onset-meta.Second[len(meta.Second)-1].Offset)
	// Output:
	// C minor, Cm7 | Fm7 | G7b9 | Cm7 at 96
	// take 2: 7 notes in 9.2 s
	// the answer: 8 notes, the first 1.4 s after the take
}
