package loop

import "larkhand/internal/music"

// quartersOfWhole is how many quarter notes a whole note has.
const quartersOfWhole = 4

// pulse is a beat as people count and tap it.
type pulse struct {
	at   float64 // quarter notes from the start of the bar
	long float64 // quarter notes until the next pulse or the end of the bar
}

// pulses gives the beats of a bar as people tap them: the beats of the meter, but where these are eighth notes or shorter, groups of three (6/8, 9/8,
// 12/8), else groups of two with a three at the end (7/8 is 2+2+3). Common practice, no source. 2/8 and 3/8 are not grouped.
func pulses(m music.Meter) []pulse {
	unit := float64(quartersOfWhole) / float64(m.Unit)
	sizes := groups(m)
	out := make([]pulse, len(sizes))
	at := 0
	for i, size := range sizes {
		out[i] = pulse{at: float64(at) * unit, long: float64(size) * unit}
		at += size
	}
	return out
}

const shortUnit = 8 // the longest note value of which beats are grouped

// groups gives how many beats of the meter each pulse has.
func groups(m music.Meter) (sizes []int) {
	const two, three = 2, 3
	size := 1
	switch {
	case m.Unit < shortUnit || m.Beats <= three:
	case m.Beats%three == 0:
		size = three
	default:
		size = two
	}
	for left := m.Beats; left > 0; left -= size {
		if left < 2*size && left != size { // what is left over lengthens the last group
			sizes = append(sizes, left)
			break
		}
		sizes = append(sizes, size)
	}
	return sizes
}

// swings reports whether the eighth notes of a meter come in pairs within a pulse, so that they can swing.
func swings(m music.Meter) bool {
	return m.Unit < shortUnit
}
