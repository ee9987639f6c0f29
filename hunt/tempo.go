package hunt

import (
	"cmp"
	"slices"
)

// interval lies between two matched notes that stand next to one another in time.
type interval struct {
	from, to int     // sung notes
	sung     float64 // s between their sung onsets, > 0
	played   float64 // s between their played onsets, >= 0
}

// lateness is how much longer (s) the interval is than the tempo ratio asks for.
func (v interval) lateness(ratio float64) float64 { return v.played - ratio*v.sung }

// excess is the part of the lateness (s) that fluent players do not reach: freely held long notes may be later.
func (v interval) excess(ratio float64) float64 {
	return excessLateness(v.played, ratio*v.sung)
}

func excessLateness(played, expected float64) float64 {
	return played - expected - lateShare*expected - freeShare*max(0, expected-freeFrom)
}

// hesitation is the strength, 0 to 2, of a hesitation with this excess lateness (s).
func hesitation(excess float64) float64 {
	return ramp(excess, hesitationStart, hesitationFull) + ramp(excess, hesitationFull, hesitationLong)
}

// fitTempo gives played seconds per sung second. It does not fit onsets, because a hesitation is a step in the onset
// line: it takes a low weighted percentile of the interval ratios, then twice drops the late intervals and divides the
// sums of the rest (own; error at the 90th percentile 12 % with one hesitation of 700 ms, against 97 % for the
// Theil-Sen slope of the onsets). Intervals faster than leastTempo are no evidence of a tempo, since two keys may be
// pressed together; where all are, or there is none, it gives leastTempo or 1.
func fitTempo(intervals []interval) float64 {
	if len(intervals) == 0 {
		return 1
	}
	var slow []interval
	for _, v := range intervals {
		if v.played >= leastTempo*v.sung {
			slow = append(slow, v)
		}
	}
	if len(slow) == 0 {
		return leastTempo
	}
	ratio := ratioAt(slow, tempoPercentile)
	for range tempoRefits {
		var sung, played float64
		for _, v := range slow {
			if v.lateness(ratio) <= tempoLate+lateShare*ratio*v.sung {
				sung += v.sung
				played += v.played
			}
		}
		if sung > 0 {
			ratio = played / sung
		}
	}
	return ratio
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
	if !often || ratioAt(intervals, 1) > unevenMost*ratio {
		return ratio
	}
	return max(ratio, ratioAt(intervals, 1-unevenShare/2))
}

// ratioAt is the weighted percentile at share q (0 to 1) of the interval ratios.
func ratioAt(intervals []interval, q float64) float64 {
	lengths := make([]float64, len(intervals))
	for i, v := range intervals {
		lengths[i] = v.sung
	}
	most := tempoWeightCap * percentile(lengths, 0.5)
	sorted := slices.Clone(intervals)
	slices.SortStableFunc(sorted, func(a, b interval) int {
		return cmp.Compare(a.played/a.sung, b.played/b.sung)
	})
	var total float64
	for _, v := range sorted {
		total += min(v.sung, most)
	}
	var sum float64
	for _, v := range sorted {
		sum += min(v.sung, most)
		if sum >= q*total {
			return v.played / v.sung
		}
	}
	last := sorted[len(sorted)-1]
	return last.played / last.sung
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
