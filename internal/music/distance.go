package music

import "fmt"

// distances names 1 to 6 semitones as players do.
var distances = [...]string{"no step", "a half step", "a whole step", "a minor third", "a major third", "a fourth", "a tritone"}

// Distance names a number of semitones from -6 to 6, whatever its direction: "a whole step". Others are counted.
func Distance(semitones int) string {
	if semitones < 0 {
		semitones = -semitones
	}
	if semitones < len(distances) {
		return distances[semitones]
	}
	return fmt.Sprintf("%d semitones", semitones)
}
