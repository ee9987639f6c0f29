package plan

import (
	"math"
	"slices"

	"larkhand/internal/ladder"
)

// Where a phrase lies.
const (
	fewestSung = 12  // notes from which on a voice's range is claimed. Own: three or four phrases
	latestSung = 300 // notes that it is taken from, the latest. Own
	outside    = 20  // one note in so many at either end of the range is left out: a slip, or an octave that was heard wrong. Own
	roomAround = 2   // semitones that a phrase has beside its largest leap. Own
	leastRoom  = 2   // semitones that the largest leap counts for at least: a step
)

// Range is where a phrase of a size lies well for a voice, by the pitches that were sung in it, oldest first: as wide as the size wants it, around the middle
// of what was sung, and within it as far as that goes. ok is false where too little was sung.
func Range(sung []int, size ladder.Size) (low, high int, ok bool) {
	if len(sung) < fewestSung {
		return 0, 0, false
	}
	sung = slices.Clone(sung[max(0, len(sung)-latestSung):])
	slices.Sort(sung)
	cut := len(sung) / outside
	lowest, highest, middle := sung[cut], sung[len(sung)-1-cut], sung[len(sung)/2]
	wide := max(size.Leap, leastRoom) + roomAround
	if wide > highest-lowest {
		low = int(math.Round(float64(lowest+highest-wide) / 2))
		return low, low + wide, true
	}
	low = min(max(middle-wide/2, lowest), highest-wide)
	return low, low + wide, true
}
