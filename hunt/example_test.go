package hunt_test

import (
	"fmt"

	"larkhand/hunt"
	"larkhand/match"
)

// Four notes were sung. Two wrong keys were pressed before the third was found.
func ExampleFind() {
	sung := []match.Sung{
		{Onset: 1.0, Offset: 1.4, Pitch: 60, Semitone: 60, Confidence: 0.9},
		{Onset: 1.5, Offset: 1.9, Pitch: 63, Semitone: 63, Confidence: 0.9},
		{Onset: 2.0, Offset: 2.4, Pitch: 67, Semitone: 67, Confidence: 0.9},
		{Onset: 2.5, Offset: 2.9, Pitch: 65, Semitone: 65, Confidence: 0.9},
	}
	played := []match.Played{
		{Onset: 0.0, Offset: 0.4, Pitch: 72, Velocity: 70},
		{Onset: 0.5, Offset: 0.9, Pitch: 75, Velocity: 72},
		{Onset: 1.0, Offset: 1.3, Pitch: 81, Velocity: 66},
		{Onset: 1.4, Offset: 1.8, Pitch: 78, Velocity: 68},
		{Onset: 1.9, Offset: 2.3, Pitch: 79, Velocity: 75},
		{Onset: 2.4, Offset: 2.9, Pitch: 77, Velocity: 71},
	}
	finding := hunt.Find(sung, played, match.Align(sung, played), hunt.Options{})
	fmt.Println(finding.Label)
	for _, e := range finding.Evidence {
		fmt.Println(e.Kind, e.Sung, e.Played, e.Text)
	}
	// Output:
	// searched
	// correction [2] [2 3 4] Before the 3rd note you first pressed 2 neighbouring keys and found the right one 0.9 s later.
}
