package delay

import "math"

// The chirp: a linear sweep under a Hann window. The band is one that laptop speakers and headphones give and cheap microphones take (common practice, no source); its
// width makes the peak of the matched filter about 0.3 ms wide.
const (
	chirpSeconds = 0.04   // s
	chirpFrom    = 1000.0 // Hz
	chirpTo      = 6000.0 // Hz; below half of the lowest rate that the voice analysis takes
)

const (
	// MostDelay is the longest delay that is found, s: far beyond Bluetooth's 0.3 (own choice).
	MostDelay = 0.5
	// chirpDistance is the least time from one chirp to the next, s.
	chirpDistance = MostDelay + 2*chirpSeconds
	// chirpStagger is the unit, in s, of what is added to the distances: a delay that is too long lies at another place after each chirp.
	chirpStagger = 0.03
)

// SeriesChirps is how many chirps make a series (own choice: 4 s long, and a third of it may go wrong).
const SeriesChirps = 6

// Chirp gives the chirp with amplitude 1.
func Chirp(rate int) []float32 {
	out := make([]float32, int(chirpSeconds*float64(rate)))
	for i := range out {
		window, phase := chirpAt(i, len(out), rate)
		out[i] = float32(window * math.Sin(phase))
	}
	return out
}

// chirpAt is the window and the phase, in radians, at one sample of n.
func chirpAt(i, n, rate int) (window, phase float64) {
	x := (float64(i) + 0.5) / float64(n)
	t := float64(i) / float64(rate)
	sweep := (chirpTo - chirpFrom) / chirpSeconds
	return 0.5 * (1 - math.Cos(2*math.Pi*x)), 2 * math.Pi * (chirpFrom*t + sweep*t*t/2)
}

// Schedule gives at which samples the chirps of a series begin, counted from the first, and how many samples must be recorded from there on.
func Schedule(rate int) (begins []int, length int) {
	at := 0.0
	for i := range SeriesChirps {
		begins = append(begins, int(at*float64(rate)))
		at += chirpDistance + chirpStagger*float64(i*i%5) // 0, 1, 4, 4, 1 units
	}
	return begins, int(at * float64(rate))
}
