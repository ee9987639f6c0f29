package practice_test

import (
	"context"
	"fmt"
	"os"

	"larkhand/internal/demo"
	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// The demo round in free time, without a loop: files stand in for the microphone and the keyboard, as fast as it goes.
func Example() {
	take1, take2, rate, smf, meta := demo.Round()
	answer, err := midiin.Parse(smf)
	if err != nil {
		panic(err)
	}
	key, err := music.ParseKey(meta.Key)
	if err != nil {
		panic(err)
	}
	folder, err := os.MkdirTemp("", "larkhand-example-*")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(folder)

	const second = 14 // s, when take 2 begins
	sounds := []practice.Placed{{At: 1, Samples: take1}, {At: second, Samples: take2}}
	files := practice.NewFiles(sounds, rate, practice.Messages(answer.Events, second+meta.AnswerStart), 10, true)
	session, err := practice.New(practice.Config{
		Setup:       round.Setup{Timing: round.NoLoop, Key: &key},
		Microphones: []practice.Microphone{files.Microphone()},
		MIDIPorts:   []practice.MIDIPort{files.MIDIPort()},
		Folder:      folder, Start: true, Rounds: 1,
	})
	if err != nil {
		panic(err)
	}
	ended := make(chan error)
	go func() { ended <- session.Run(context.Background()) }()
	var last practice.Snapshot
	for last = range session.Snapshots() {
	}
	if err := <-ended; err != nil {
		panic(err)
	}
	judged := last.Result.Judged
	fmt.Printf("%d notes sung, %d played: %s, after %.1f s\n", len(judged.Phrase), len(judged.Answer.Notes), judged.Finding.Label, last.Result.Response.Seconds)
	// Output:
	// 7 notes sung, 8 played: searched, after 1.4 s
}
