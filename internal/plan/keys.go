package plan

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"larkhand/internal/phrase"
)

// The ways through keys that package phrase has no tour for.
const (
	Stay phrase.Order = "stay" // in the key that is set
	Due  phrase.Order = "due"  // the keys that are due, the longest overdue first
)

// KeyOrders are all ways through keys.
var KeyOrders = append([]phrase.Order{Stay}, append(slices.Clone(phrase.Orders), Due)...)

const semitones = 12

// Keys leads a player through the keys of a kept phrase.
type Keys struct {
	order phrase.Order
	rng   *rand.Rand
	bag   []int // keys that the order "random" has not had yet, the next one first
}

// NewKeys begins a way through keys, one of KeyOrders.
func NewKeys(order phrase.Order, rng *rand.Rand) *Keys { return &Keys{order: order, rng: rng} }

// Tried is what the next key depends on.
type Tried struct {
	Start int                    // key that is set
	Last  int                    // key of the player's last try since then; -1 before one
	Cards map[string]phrase.Card // of the player
	Now   time.Time
}

// Next is the key of the next try, and why it comes; "" where that needs no words. Asked again before a try it is the same. The order Stay has none.
func (k *Keys) Next(t Tried) (class int, why string) {
	switch k.order {
	case phrase.Fourths:
		return step(t, 5, "a fourth")
	case phrase.Semitones:
		return step(t, 1, "a semitone")
	case phrase.Random:
		return k.draw(t), "By chance: each of the twelve keys comes once."
	case phrase.Weak:
		class = other(tour(phrase.Weak, t), t.Last)
		return class, fmt.Sprintf("%s is the weakest key now: %s.", phrase.Tonic(class), t.Cards[phrase.Tonic(class)].Reason())
	}
	return due(t)
}

// step goes on from the last key.
func step(t Tried, by int, interval string) (class int, why string) {
	if t.Last < 0 {
		return t.Start, ""
	}
	class = (t.Last + by) % semitones
	return class, fmt.Sprintf("%s is %s above %s.", phrase.Tonic(class), interval, phrase.Tonic(t.Last))
}

// draw takes the next key of a shuffled round of twelve.
func (k *Keys) draw(t Tried) int {
	if len(k.bag) > 0 && k.bag[0] == t.Last {
		k.bag = k.bag[1:]
	}
	if len(k.bag) == 0 {
		k.bag = k.rng.Perm(semitones)
		if k.bag[0] == t.Last { // the same key twice in a row would be no change
			k.bag[0], k.bag[semitones-1] = k.bag[semitones-1], k.bag[0]
		}
	}
	return k.bag[0]
}

// tour is an order of all keys, as pitch classes.
func tour(order phrase.Order, t Tried) []int {
	names, err := phrase.Tour(order, t.Start, t.Cards, nil)
	if err != nil {
		panic("plan: " + err.Error())
	}
	classes := make([]int, 0, semitones)
	for _, name := range names {
		for class := range semitones {
			if phrase.Tonic(class) == name {
				classes = append(classes, class)
			}
		}
	}
	return classes
}

// other is the first key that was not the last one, so that a key that failed has a rest of one round.
func other(classes []int, last int) int {
	if classes[0] == last {
		return classes[1]
	}
	return classes[0]
}

// due is the key that is longest overdue; where none is, the next one by fourths that was never tried, or the one that is due first.
func due(t Tried) (class int, why string) {
	first, fresh := -1, -1
	for _, c := range tour(phrase.Fourths, t) {
		card := t.Cards[phrase.Tonic(c)]
		switch {
		case card.Tries == 0 && fresh < 0:
			fresh = c
		case card.Tries > 0 && (first < 0 || card.Due().Before(t.Cards[phrase.Tonic(first)].Due())):
			first = c
		}
	}
	card := t.Cards[phrase.Tonic(max(first, 0))]
	switch date := card.Due().Local().Format(time.DateOnly); {
	case first >= 0 && !card.Due().After(t.Now):
		return first, fmt.Sprintf("%s is due since %s: %s.", phrase.Tonic(first), date, card.Reason())
	case fresh >= 0:
		return fresh, fmt.Sprintf("No key is due; %s was never tried.", phrase.Tonic(fresh))
	default:
		return first, fmt.Sprintf("No key is due before %s; %s is the first.", date, phrase.Tonic(first))
	}
}
