package resample

import "math"

// between is the kernel that reads a signal between its samples: flat to 0.9 of the Nyquist frequency.
var between = Kernel{Lobes: 20, Beta: 7}

// Reach is how many samples on either side At looks at.
const Reach = 20

// phases is the number of rows of the table between two samples; between rows the filter is interpolated linearly (error below -110 dB).
const phases = 1024

// rows holds the filters that read a signal between its samples: phases+1 rows of 2*Reach taps.
var rows = func() []float64 {
	const taps = 2 * Reach
	table := make([]float64, (phases+1)*taps)
	for p := range phases + 1 {
		between.fill(table[p*taps:][:taps], float64(p)/phases, 1)
	}
	return table
}()

// At is x at a place between its samples, counted in samples; outside x it is 0.
func At(x []float64, place float64) float64 {
	const taps = 2 * Reach
	whole := math.Floor(place)
	start := int(whole) - (Reach - 1)
	if start < -taps || start > len(x) {
		return 0
	}
	phase := (place - whole) * phases
	row := int(phase)
	part := phase - float64(row)
	lower, upper := rows[row*taps:][:taps], rows[min(row+1, phases)*taps:][:taps]
	if start >= 0 && start+taps <= len(x) {
		in := x[start:][:taps]
		return (1-part)*dot(lower, in) + part*dot(upper, in)
	}
	sum := 0.0
	for j := range taps {
		if i := start + j; i >= 0 && i < len(x) {
			sum += ((1-part)*lower[j] + part*upper[j]) * x[i]
		}
	}
	return sum
}
