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

// excess is the part of the lateness (s) that fluent players do not reach: freely held long notes may be later.
func (v interval) excess(ratio float64) float64 {
	return excessLateness(v.Played, ratio*v.Sung)
}

func excessLateness(played, expected float64) float64 {
	return played - expected - lateShare*expected - freeShare*max(0, expected-freeFrom)
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

// patientTempo is the tempo ratio that hesitations are measured with. Where intervals are late again and again, and none
// by more than swung notes are, the unevenness is the player's style: then it is the tempo of the longer ones. Else it
// is ratio, the fitted one.
func patientTempo(intervals []interval, ratio float64) float64 {
	late := 0
	for _, v := range intervals {
		if hesitation(v.excess(ratio)) > 0 {
			late++
		}
	}
	often := late >= unevenLeast && float64(late) >= unevenShare*float64(len(intervals))
	if !often || match.TempoAt(times(intervals), 1) > unevenMost*ratio {
		return ratio
	}
	return max(ratio, match.TempoAt(times(intervals), 1-unevenShare/2))
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
