package metrics_test

import (
	"fmt"

	"larkhand/internal/metrics"
)

func ExampleTranscription() {
	sung := []metrics.Note{{Onset: 0.50, Offset: 0.90, Pitch: 60}, {Onset: 1.00, Offset: 1.40, Pitch: 62}, {Onset: 1.50, Offset: 2.10, Pitch: 64}}
	heard := []metrics.Note{{Onset: 0.52, Offset: 0.93, Pitch: 60.1}, {Onset: 1.01, Offset: 1.41, Pitch: 62.7}, {Onset: 1.52, Offset: 2.00, Pitch: 64}}
	for _, class := range []struct {
		name string
		tol  metrics.Tolerance
	}{{"COn", metrics.COn}, {"COnP", metrics.COnP}, {"COnPOff", metrics.COnPOff}} {
		fmt.Printf("%s %.3f\n", class.name, metrics.Transcription(sung, heard, class.tol).F)
	}
	fmt.Printf("NSERtol %.3f\n", metrics.NoteErrorRate(sung, heard))
	// Output:
	// COn 1.000
	// COnP 0.667
	// COnPOff 0.667
	// NSERtol 0.333
}
