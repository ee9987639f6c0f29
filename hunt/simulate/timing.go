package simulate

import (
	"math"
	"math/rand/v2"
	"slices"

	"larkhand/match"
)

// Stroke is how one note of a fluent answer is played.
type Stroke struct {
	Stretch  float64 // the interval to the next onset over the one that the rhythm asks for; about 1
	Hold     float64 // how long the key is down over the interval to the next onset; above 1 is legato overlap
	Velocity int     // 1 to 127
}

// Timing gives the timing and touch of fluent playing.
type Timing interface {
	// Strokes gives n notes that follow one another.
	Strokes(rng *rand.Rand, n int) []Stroke
}

// Plain is made-up fluent timing. Its zero value is ready.
type Plain struct{}

// Spread of made-up timing, from the piano performances of Tominaga et al. 2022: in a run the standard deviation of the
// intervals is 5 to 10 % of their mean, velocities lie within 0.8 to 1.2 of their neighbours (p1 to p99), legato
// overlap is 14 ms at the median.
const (
	plainStretchSD  = 0.07
	plainStretchMax = 0.25
	plainHoldLow    = 0.6
	plainHoldHigh   = 1.05
	plainLoudness   = 70
	plainLoudnessSD = 5.0
)

// Strokes draws each note by itself.
func (Plain) Strokes(rng *rand.Rand, n int) []Stroke {
	strokes := make([]Stroke, n)
	for i := range strokes {
		stretch := min(max(rng.NormFloat64()*plainStretchSD, -plainStretchMax), plainStretchMax)
		strokes[i] = Stroke{
			Stretch:  1 + stretch,
			Hold:     between(rng, plainHoldLow, plainHoldHigh),
			Velocity: velocity(plainLoudness + plainLoudnessSD*rng.NormFloat64()),
		}
	}
	return strokes
}

// Recorded is the timing and touch of real performances of one piece.
type Recorded struct {
	performances [][]Stroke
}

// NewRecorded takes faultless performances of one piece: lists of equal length, in time order. The rhythm that each is
// compared with is the median performance. It panics where lengths differ or a list has fewer than two notes.
func NewRecorded(performances [][]match.Played) Recorded {
	rhythm := MedianRhythm(performances)
	var r Recorded
	for _, notes := range performances {
		pace := paceOf(notes)
		strokes := make([]Stroke, len(rhythm))
		for i := range strokes {
			interval := notes[i+1].Onset - notes[i].Onset
			strokes[i] = Stroke{
				Stretch:  interval / pace / rhythm[i],
				Hold:     (notes[i].Offset - notes[i].Onset) / interval,
				Velocity: notes[i].Velocity,
			}
		}
		r.performances = append(r.performances, strokes)
	}
	return r
}

// MedianRhythm is the median, over performances of one piece, of each interval between onsets in units of the
// performance's mean interval: one less than there are notes.
func MedianRhythm(performances [][]match.Played) []float64 {
	if len(performances) == 0 || len(performances[0]) < 2 {
		panic("simulate: no performance of at least two notes")
	}
	n := len(performances[0])
	rhythm := make([]float64, n-1)
	column := make([]float64, len(performances))
	for i := range rhythm {
		for k, notes := range performances {
			if len(notes) != n {
				panic("simulate: performances of different lengths")
			}
			column[k] = (notes[i+1].Onset - notes[i].Onset) / paceOf(notes)
		}
		rhythm[i] = median(column)
	}
	return rhythm
}

// paceOf is the mean interval between onsets, s.
func paceOf(notes []match.Played) float64 {
	return (notes[len(notes)-1].Onset - notes[0].Onset) / float64(len(notes)-1)
}

// Strokes gives a random stretch of a random performance; for more notes than one has, several after one another.
func (r Recorded) Strokes(rng *rand.Rand, n int) []Stroke {
	var strokes []Stroke
	for len(strokes) < n {
		performance := r.performances[rng.IntN(len(r.performances))]
		length := min(n-len(strokes), len(performance))
		start := rng.IntN(len(performance) - length + 1)
		strokes = append(strokes, performance[start:start+length]...)
	}
	return strokes
}

func median(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

func velocity(v float64) int { return int(math.Round(min(max(v, 1), 127))) }

// logNormal draws around a median with the given spread of the logarithm, held within low and high.
func logNormal(rng *rand.Rand, median, spread, low, high float64) float64 {
	return min(max(median*math.Exp(spread*rng.NormFloat64()), low), high)
}
