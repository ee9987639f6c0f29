package plan_test

import (
	"fmt"

	"larkhand/internal/ladder"
	"larkhand/internal/plan"
)

func Example() {
	known := ladder.Try{Size: ladder.Size{Notes: 1}, Known: true}
	sung := []int{57, 59, 60, 62, 64, 62, 60, 59, 57, 60, 64, 62}
	p := plan.Size([]ladder.Try{known}, nil)
	fmt.Println(p.Text(plan.Turn{}, sung, nil))
	fmt.Println(p.Reason)
	// Output:
	// Next: two neighbours of the scale, between about Bb3 and D4.
	// That size holds, 1 of 1 answer known, so one step up: two neighbours of the scale.
}
