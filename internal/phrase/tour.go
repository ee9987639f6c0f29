package phrase

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
)

// Order is a way through the twelve keys.
type Order string

// The orders.
const (
	Fourths   Order = "fourths"
	Semitones Order = "semitones"
	Random    Order = "random"
	Weak      Order = "weak"
)

// Orders are all of them.
var Orders = []Order{Fourths, Semitones, Random, Weak}

// tonics by pitch class, as keys are usually written (common practice, no source).
var tonics = [...]string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}

// Tonic is the usual name of a pitch class as a key.
func Tonic(class int) string { return tonics[((class%semitones)+semitones)%semitones] }

// Tour is the order in which the twelve keys come, beginning with the pitch class from: up by fourths, up by semitones, at random
// with rng, or those first whose cards are weakest (keys never tried lie between those that failed and those that held; alike ones by fourths).
func Tour(order Order, from int, cards map[string]Card, rng *rand.Rand) ([]string, error) {
	classes := make([]int, semitones)
	for i := range classes {
		classes[i] = i
	}
	switch order {
	case Fourths, Weak:
		for i := range classes {
			classes[i] = (from + 5*i) % semitones
		}
	case Semitones:
		for i := range classes {
			classes[i] = (from + i) % semitones
		}
	case Random:
		rng.Shuffle(len(classes), func(i, k int) { classes[i], classes[k] = classes[k], classes[i] })
	default:
		return nil, fmt.Errorf("%q is no order of keys: write fourths, semitones, random or weak", order)
	}
	if order == Weak {
		slices.SortStableFunc(classes, func(a, b int) int { return cmp.Compare(cards[Tonic(a)].strength(), cards[Tonic(b)].strength()) })
	}
	out := make([]string, len(classes))
	for i, c := range classes {
		out[i] = Tonic(c)
	}
	return out, nil
}

// strength of a card for the order "weak": -1 after a failure, 0 when never tried, then the days of the interval.
func (c Card) strength() float64 {
	switch {
	case c.Tries == 0:
		return 0
	case c.Repetitions == 0:
		return -1
	}
	return float64(c.Days)
}
