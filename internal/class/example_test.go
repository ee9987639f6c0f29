package class_test

import (
	"fmt"
	"time"

	"larkhand/hunt"
	"larkhand/internal/class"
	"larkhand/internal/progress"
	"larkhand/match"
)

// A player who searched in 25 of 40 answers, always by creeping to the last note.
func Example() {
	var rounds []class.Round
	for i := range 40 {
		at := time.Date(2026, 3, 2, 18, i, 0, 0, time.UTC)
		notes := []progress.Note{{Degree: "1", Step: progress.NoStep, Verdict: match.Same}, {Degree: "3", Step: 3, Verdict: match.Same}}
		r := class.Round{Bundle: "ann", UID: fmt.Sprint(i), Row: progress.Round{At: at, Played: true, Key: "C minor", Label: hunt.Known, Notes: notes}}
		if i < 25 {
			r.Row.Label = hunt.Searched
			r.Row.Notes[1].Kinds = progress.KindOf(hunt.Creep)
			r.Marks = []class.Mark{{Kind: hunt.Creep, Note: 1, Weight: 2}}
		}
		rounds = append(rounds, r)
	}
	line := class.Of([]class.Player{{Label: "Ann", Rounds: rounds}}).Players[0]
	fmt.Println(line.Sentences()[1])
	fmt.Println(line.Listen[0].Reason)
	// Output:
	// Creeps to the note key by key before degree 3: in 25 of the 40 rounds that have it (62 %, 95 % interval 47 to 76), elsewhere in 0 %.
	// Shows the habit best: creeping to note 2 (3).
}
