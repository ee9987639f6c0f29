package main

import (
	"slices"
	"strings"
)

// recipe is how the weights of one network come about.
type recipe struct {
	name   string
	rate   int        // Hz, that clips are brought to before copies are made; 0: as recorded
	kinds  []copyKind // of what is made of each clip
	shares []float64  // of the portions; 0 holds the rendered singers
	fit    fitOptions // without seed
}

// copyKind is how copies of the clips are changed before they are learned from.
type copyKind struct {
	portion int
	copies  int  // of each clip
	varied  bool // else as recorded
	hurried bool
	by      spoil
}

// learnRate is the rate in Hz that many copies are made at: the front listens to 16 kHz, and copies are slowed by up to a sixth.
const learnRate = 24000

// recipes of the networks that package marks holds.
var recipes = []recipe{
	{
		// Singing as it is written in the clips: everything weighs by its length.
		name:   "steady",
		kinds:  []copyKind{{copies: 1}, {copies: 5, varied: true}},
		shares: []float64{1},
		fit:    options(4800, 0.15, 0.1),
	},
	{
		// Fast singing. Real voices are what the network learns most from, so they are varied most: the hurried copies bring runs, the
		// spoilt ones noise and halls.
		name: "runs",
		rate: learnRate,
		kinds: []copyKind{
			{portion: 1, copies: 1},
			{portion: 2, copies: 6, varied: true},
			{portion: 3, copies: 6, varied: true, hurried: true},
			{portion: 4, copies: 4, varied: true, by: loudNoise},
			{portion: 5, copies: 4, varied: true, by: hall},
			{portion: 6, copies: 1, varied: true, hurried: true, by: loudNoise},
			{portion: 7, copies: 1, varied: true, hurried: true, by: hall},
		},
		shares: []float64{0.32, 0.07, 0.20, 0.15, 0.10, 0.10, 0.03, 0.03},
		fit:    options(9600, 0.25, 0.2),
	},
}

func options(steps int, drop, jitter float32) fitOptions {
	return fitOptions{steps: steps, kernel: 5, dilations: []int{1, 2, 4, 8}, rate: 3e-3, batch: 8, stretch: 400, drop: drop, decay: 1e-4, jitter: jitter, report: 400}
}

// recipeNames lists them for messages.
func recipeNames() string {
	var names []string
	for _, r := range recipes {
		names = append(names, r.name)
	}
	return strings.Join(names, " or ")
}

// findRecipe gives the recipe of a name, nil where there is none.
func findRecipe(name string) *recipe {
	if i := slices.IndexFunc(recipes, func(r recipe) bool { return r.name == name }); i >= 0 {
		return &recipes[i]
	}
	return nil
}
