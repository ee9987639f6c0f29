package simulate_test

import (
	"fmt"
	"math/rand/v2"

	"larkhand/hunt/simulate"
)

// A phrase of three notes is played back with one wrong key that is put right.
func ExampleCorrect() {
	rng := rand.New(rand.NewPCG(1, 1))
	sung := simulate.Sing(rng, []int{60, 64, 62}, []float64{0, 0.4, 0.8}, []float64{0.3, 0.3, 0.3}, 0)
	c := simulate.Correct(rng, simulate.Answer(rng, sung, simulate.Plain{}), 1)
	fmt.Println(len(c.Sung), "sung,", len(c.Played), "played")
	fmt.Println(c.Faults[0].Kind, "before sung note", c.Faults[0].Sung)
	fmt.Println("played notes answer", c.Answers)
	// Output:
	// 3 sung, 4 played
	// correction before sung note 0
	// played notes answer [-1 0 1 2]
}
