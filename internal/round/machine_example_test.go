package round_test

import (
	"fmt"

	"larkhand/internal/round"
)

// A round without a loop: the voice ends the takes, the first note begins the answer, and resting hands end it.
func ExampleMachine() {
	m := round.NewMachine(round.Setup{Timing: round.NoLoop})
	for _, e := range []round.Event{
		{Kind: round.Pressed, Time: 0, Action: round.GoOn},
		{Kind: round.VoiceStarted, Time: 1, Since: 1},
		{Kind: round.VoiceEnded, Time: 4, Since: 4},
		{Kind: round.VoiceStarted, Time: 7, Since: 7},
		{Kind: round.VoiceEnded, Time: 10, Since: 10},
		{Kind: round.NotePlayed, Time: 13, Key: 60},
		{Kind: round.NoteReleased, Time: 13.5, Key: 60},
		{Kind: round.Tick, Time: 17},
	} {
		for _, c := range m.Handle(e) {
			if c.Kind == round.ShowPart {
				fmt.Printf("%4.1f s: %s\n", c.At, c.Part)
			}
		}
	}
	// Output:
	//  0.0 s: take 1
	//  5.5 s: take 2
	// 11.5 s: thinking room
	// 13.0 s: answer
	// 16.5 s: verdict
}
