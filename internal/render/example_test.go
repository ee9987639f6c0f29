package render_test

import (
	"fmt"
	"math/rand/v2"

	"larkhand/internal/render"
)

func ExamplePerform() {
	rng := rand.New(rand.NewPCG(1, 2))
	notes := render.Perform(rng, render.La, 0, []int{60, 62, 64}, []float64{0, 0.2, 0.4}, []float64{0.2, 0.2, 0.4})
	for _, n := range notes {
		fmt.Println(n.Syllable, n.Onset < n.Offset)
	}
	// Output:
	// la true
	// la true
	// la true
}
