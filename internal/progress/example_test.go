package progress_test

import (
	"fmt"
	"math"
	"time"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/match"
)

func Example() {
	var rounds []progress.Round
	start := time.Date(2026, 5, 4, 19, 0, 0, 0, time.UTC)
	for i := range 60 {
		r := progress.Round{At: start.Add(time.Duration(i) * time.Minute), Played: true, Key: "Eb major", Tempo: math.NaN(), Label: hunt.Known, Response: 1.8}
		for k, degree := range []string{"1", "2", "5", "3"} {
			r.Notes = append(r.Notes, progress.Note{Degree: degree, Step: progress.NoStep, Verdict: match.Same, Pitch: []int{63, 65, 70, 67}[k]})
		}
		if i%3 == 0 {
			r.Label, r.Notes[2].Kinds = hunt.Searched, progress.KindOf(hunt.Creep)
		}
		rounds = append(rounds, r)
	}
	for _, s := range progress.Of(rounds).Sentences {
		fmt.Println(s)
	}
	// Output:
	// Of your last 60 answers that can be told, 40 were known (67 %, likely 54 to 77 %).
	// You begin to answer after 1.8 s (median of the last rounds; likely between 1.8 and 1.8 s).
	// No change over time can be told from chance yet.
	// You creep up to a note key by key in 20 of 60 answers (33 %, likely 23 to 46 %).
	// At degree 5: trouble in 20 of the 60 rounds that have it (33 %, likely 23 to 46 %), mostly creeping; elsewhere in 0 %.
	// At the middle: trouble in 20 of the 60 rounds that have it (33 %, likely 23 to 46 %), mostly creeping; elsewhere in 0 %.
	// The same size again, three notes of the scale, up or down: 33 of 49 answers known since it was proposed, and about 85 in 100 is the aim.
}
