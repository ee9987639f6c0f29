package notation

import "math"

// The guess of a tempo. All own: the bounds are those in which a quarter note is felt as the beat, the preferred one is in the middle of the
// 0.5 to 0.7 s at which people tap most readily (from memory).
const (
	fastestBeat   = 0.375 // s, 160 a minute
	slowestBeat   = 1.2   // s, 50 a minute
	beatStep      = 1.01  // ratio of neighbouring tries
	preferredBeat = 0.6   // s
	beatSpread    = 0.4   // standard deviation of its logarithm
	onsetSpread   = 0.04  // s, of onsets around their place
	mostMisses    = 9.0   // squared spreads that one onset counts at most
)

// levels are the parts of a beat on which an onset may lie, and what it costs, in squared spreads, not to lie on a simpler one.
var levels = []struct{ parts, cost float64 }{{1, 0}, {2, 0.5}, {3, 1.5}, {4, 1.5}}

// GuessTime chooses a tempo for notes of which no loop is known: 4/4, the first note at the start of a bar.
func GuessTime(notes []Note) Time {
	t := Time{Beats: 4, Unit: 4, Tempo: secondsPerMinute / preferredBeat}
	if len(notes) == 0 {
		return t
	}
	t.Bar = notes[0].Onset
	best := math.Inf(1)
	for beat := fastestBeat; beat <= slowestBeat; beat *= beatStep {
		if c := beatCost(notes, beat); c < best {
			best, t.Tempo = c, secondsPerMinute/beat
		}
	}
	return t
}

// beatCost is how badly a length of the beat fits.
func beatCost(notes []Note, beat float64) float64 {
	off := math.Log(beat/preferredBeat) / beatSpread
	sum := off * off
	for _, n := range notes[1:] {
		place := (n.Onset - notes[0].Onset) / beat
		least := mostMisses
		for _, l := range levels {
			miss := (place*l.parts - math.Round(place*l.parts)) / l.parts * beat / onsetSpread
			least = math.Min(least, miss*miss+l.cost)
		}
		sum += least
	}
	return sum
}
