package hunt

import (
	"slices"

	"larkhand/match"
)

// interval lies between two matched notes that stand next to one another in time.
type interval struct {
	from, to int // sung notes
	match.Interval
}

// lateness is how much longer (s) the interval is than the tempo ratio asks for.
func (v interval) lateness(ratio float64) float64 { return v.Played - ratio*v.Sung }

// excess is the part of the lateness (s) that fluent players do not reach.
func (v interval) excess(ratio float64) float64 {
	return excessLateness(v.Played, v.Sung, ratio)
}

// excessLateness is how much longer (s) the played interval is than a fluent one may be. Notes that are long at a usual
// tempo are held freely and may be later; at a slow tempo the errors of the sung onsets are drawn out with the rhythm.
func excessLateness(played, sung, ratio float64) float64 {
	expected := ratio * sung
	held := freeShare * max(0, min(ratio, usualTempo)*sung-freeFrom)
	blurred := onsetSlack * max(0, ratio-usualTempo)
	return played - expected - lateShare*expected - held - blurred
}

// hesitation is the strength, 0 to 2, of a hesitation with this excess lateness (s).
func hesitation(excess float64) float64 {
	return ramp(excess, hesitationStart, hesitationFull) + ramp(excess, hesitationFull, hesitationLong)
}

// times are the intervals without the notes.
func times(intervals []interval) []match.Interval {
	list := make([]match.Interval, len(intervals))
	for i, v := range intervals {
		list[i] = v.Interval
	}
	return list
}

// steadyTempo is the tempo ratio of the intervals that are clearly faster than ratio, where that is slow and they make up
// enough of the phrase: a slow tempo is steady, and who plays parts of the phrase faster waits before the others. It is
// never more than slowest.
func steadyTempo(intervals []interval, ratio float64) float64 {
	var all, played, sung float64
	for _, v := range intervals {
		all += v.Sung
		if v.Sung >= steadySung && v.Played < steadyFast*ratio*v.Sung && v.Played >= steadyLeast*v.Sung {
			played, sung = played+v.Played, sung+v.Sung
		}
	}
	if ratio <= usualTempo || sung < steadyShare*all {
		return min(ratio, slowest)
	}
	return min(played/sung, slowest)
}

// patientTempos gives for each interval the tempo ratio that its hesitation is measured with: the fitted one, or that of
// the long intervals for each of them where the answer is played long-short.
func patientTempos(intervals []interval, ratio float64) []float64 {
	tempos := slices.Repeat([]float64{ratio}, len(intervals))
	first, long := longShort(intervals, ratio)
	for i := first; first != match.None && i < len(tempos); i += 2 {
		tempos[i] = long
	}
	return tempos
}

// longShort says whether every other interval is a long one, as in swung playing: the first of them, and their common
// tempo ratio. It gives match.None where one of them is not long, all are longer than that, or another interval is late.
func longShort(intervals []interval, ratio float64) (first int, tempo float64) {
	for first = range 2 {
		var played, sung float64
		n, fits := 0, true
		for i, v := range intervals {
			if i%2 == first {
				n++
				played, sung = played+v.Played, sung+v.Sung
				fits = fits && v.Played > unevenLong*ratio*v.Sung
			} else {
				fits = fits && hesitation(v.excess(ratio)) <= 0
			}
		}
		if fits && n >= unevenLeast && played <= unevenMost*ratio*sung {
			return first, played / sung
		}
	}
	return match.None, 0
}

// percentile gives the value at share q (0 to 1) of the sorted values, straight between neighbours. It needs a value.
func percentile(values []float64, q float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	at := q * float64(len(sorted)-1)
	low := int(at)
	if low+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	part := at - float64(low)
	return sorted[low] + part*(sorted[low+1]-sorted[low])
}
