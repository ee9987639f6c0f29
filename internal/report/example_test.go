package report_test

import (
	"os"

	"larkhand/internal/music"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// The notes of a phrase from a MIDI file, with their numbers and letters.
func ExampleNotesView() {
	notes := []midiin.Note{
		{Onset: 0, Offset: 0.4, Key: 62, Pitch: 62, Velocity: 80},
		{Onset: 0.5, Offset: 0.9, Key: 65, Pitch: 65, Velocity: 80},
	}
	key, err := music.ParseKey("D minor")
	if err != nil {
		panic(err)
	}
	view := report.NotesView{Take: round.WrittenTake("phrase.mid", notes), Key: key}
	if err := view.CSV(os.Stdout); err != nil {
		panic(err)
	}
	// Output:
	// onset,offset,pitch,semitone,letter,octave,degree,centre_cents,spread_cents,level_dbfs,confidence,unclear
	// 0.000,0.400,62.00,62,D,4,1,0.0,0.0,,1.000,false
	// 0.500,0.900,65.00,65,F,4,3,0.0,0.0,,1.000,false
}
