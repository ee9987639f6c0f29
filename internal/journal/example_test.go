package journal_test

import (
	"context"
	"fmt"
	"os"
	"time"

	"larkhand/internal/journal"
	"larkhand/internal/round"
	"larkhand/midiin"
)

func Example() {
	dir, err := os.MkdirTemp("", "journal")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	j, err := journal.Open(dir)
	if err != nil {
		panic(err)
	}
	defer j.Close()

	notes := []midiin.Note{{Onset: 0, Offset: 0.4, Key: 60, Pitch: 60, Velocity: 70}, {Onset: 0.5, Offset: 0.9, Key: 64, Pitch: 64, Velocity: 70}}
	judged, err := round.Judge([]round.Take{round.WrittenTake("phrase.mid", notes)}, round.Answer{Notes: notes}, round.Options{})
	if err != nil {
		panic(err)
	}
	ctx := context.Background()
	_, err = j.Save(ctx, journal.Entry{
		At: time.Date(2026, 5, 4, 19, 0, 0, 0, time.UTC), Sang: "Miravel", Round: judged, Program: "v1", Document: []byte(`{}`),
	})
	if err != nil {
		panic(err)
	}
	rows, err := j.Rounds(ctx, journal.Filter{Player: "Miravel"}, journal.Page{})
	if err != nil {
		panic(err)
	}
	for _, r := range rows {
		fmt.Println(r.At.Format(time.DateTime), r.Key, r.Phrase, r.Label)
	}
	// Output:
	// 2026-05-04 19:00:00 C major [1 3] known
}
