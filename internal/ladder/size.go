package ladder

import "math"

// Size is how large a phrase is.
type Size struct {
	Notes     int     // at least 1
	Leap      int     // largest interval between neighbours, semitones
	Turns     int     // changes of direction; repeated notes are none
	Chromatic int     // notes outside the key
	Rate      float64 // notes per second
}

// SizeOf measures a phrase: its pitches in semitones, whether each lies in the key, and how many seconds there are from the first
// onset to the last. inKey may be nil: then all do.
func SizeOf(pitches []int, inKey func(pitch int) bool, seconds float64) Size {
	s := Size{Notes: len(pitches)}
	direction := 0
	for i, p := range pitches {
		if inKey != nil && !inKey(p) {
			s.Chromatic++
		}
		if i == 0 {
			continue
		}
		step := p - pitches[i-1]
		s.Leap = max(s.Leap, step, -step)
		if step*direction < 0 {
			s.Turns++
		}
		if step != 0 {
			direction = step
		}
	}
	if seconds > 0 {
		s.Rate = float64(len(pitches)-1) / seconds
	}
	return s
}

// features is how many parts a difficulty has.
const features = 5

// Weights say how much one step of each part of a size adds to its difficulty.
type Weights [features]float64

// Standard are the weights to begin with: notes, leap, turns, chromatic notes, notes per second. The divisors are the
// standard deviations in the phrases of 3 to 12 notes of the Weimar Jazz Database (456 solos), rests over 350 ms parting phrases.
var Standard = Weights{1 / 2.8, 1 / 3.0, 0.5 / 1.8, 0.5 / 0.87, 1 / 2.75}

// fewestNotes is where the number of notes begins to count.
const fewestNotes = 3

// parts are the five parts of a size.
func (s Size) parts() [features]float64 {
	return [features]float64{float64(s.Notes - fewestNotes), float64(s.Leap), float64(s.Turns), float64(s.Chromatic), s.Rate}
}

// Difficulty is where a size lies on the scale; phrases of solos, slowed for singing, lie between 3.8 and 7.0 (quartiles).
func (w Weights) Difficulty(s Size) float64 {
	sum := 0.0
	for i, part := range s.parts() {
		if !math.IsNaN(part) {
			sum += w[i] * part
		}
	}
	return sum
}
