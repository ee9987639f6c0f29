package round_test

import (
	"fmt"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// A phrase that is already known, answered with one wrong note.
func ExampleJudge() {
	note := func(i, key int) midiin.Note {
		onset := 0.5 * float64(i)
		return midiin.Note{Onset: onset, Offset: onset + 0.4, Key: key, Pitch: float64(key), Velocity: 70}
	}
	phrase := []midiin.Note{note(0, 60), note(1, 63), note(2, 67), note(3, 65)}
	answer := []midiin.Note{note(0, 72), note(1, 75), note(2, 79), note(3, 74)}
	key, err := music.ParseKey("C minor")
	if err != nil {
		panic(err)
	}
	r, err := round.Judge([]round.Take{round.WrittenTake("phrase.mid", phrase)}, round.Answer{Notes: answer}, round.Options{Key: &key})
	if err != nil {
		panic(err)
	}
	for _, pair := range r.Alignment.Pairs {
		fmt.Println(key.Letter(r.Phrase[pair.Sung].Semitone), pair.Verdict)
	}
	fmt.Println(r.Finding.Label)
	// Output:
	// C4 same
	// Eb4 same
	// G4 same
	// F4 different
	// known
}
