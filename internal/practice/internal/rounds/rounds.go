// Package rounds practises the demo round over and over, for tests and measurements of the live session.
//
// Non-goals: real time, devices, any other round.
package rounds

import (
	"context"
	"fmt"

	"larkhand/internal/demo"
	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// Seconds is the length of a round: two takes and an answer of four bars, a bar of verdict and a bar of count-in, at 96 quarters a minute.
const Seconds = 14 * 2.5

// Setup is the setup in which the demo round was sung and played.
func Setup(meta demo.Meta) (round.Setup, error) {
	chart, err := music.ParseChart(meta.Chart)
	if err != nil {
		return round.Setup{}, err
	}
	key, err := music.ParseKey(meta.Key)
	if err != nil {
		return round.Setup{}, err
	}
	return round.Setup{Key: &key, Chart: chart, Tempo: meta.Tempo, TakeBars: len(chart.Bars), CountInBars: 1, VerdictBars: 1}, nil
}

// Run practises so many rounds, as fast as it goes, in a folder that is empty. after is called when a round was saved. The
// error is there where a round comes out differently from the first.
func Run(ctx context.Context, folder string, count int, after func(round int)) error {
	take1, take2, rate, smf, meta := demo.Round()
	setup, err := Setup(meta)
	if err != nil {
		return err
	}
	file, err := midiin.Parse(smf)
	if err != nil {
		return err
	}
	at1, at2, _ := practice.FirstRound(setup)
	sounds := []practice.Placed{{At: at1 - meta.LoopStart, Samples: take1}, {At: at2 - meta.LoopStart, Samples: take2}}
	const rest = 30 // s
	files := practice.NewFiles(sounds, rate, practice.Messages(file.Events, at2-meta.LoopStart+meta.AnswerStart), rest, true)
	files.Repeat(count, Seconds)
	k := &keeper{after: after}
	s, err := practice.New(practice.Config{
		Setup: setup, Folder: folder, Saver: k, Start: true, Rounds: count,
		Microphones: []practice.Microphone{files.Microphone()}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
	if err != nil {
		return err
	}
	shown := make(chan int)
	go func() {
		n := 0
		for range s.Snapshots() {
			n++
		}
		shown <- n
	}()
	err = s.Run(ctx)
	<-shown
	switch {
	case err != nil:
		return err
	case k.err != nil:
		return k.err
	case k.count != count:
		return fmt.Errorf("%d rounds were saved, not %d", k.count, count)
	}
	return nil
}

// keeper counts rounds and holds each against the first.
type keeper struct {
	after func(int)
	count int
	first string
	err   error
}

func (k *keeper) Save(_ context.Context, f practice.Finished) (string, error) {
	k.count++
	text := "no verdict: " + f.Reason
	if f.Judged != nil {
		text = fmt.Sprintf("%+v %s of %d sung and %d played notes", f.Judged.Alignment.Pairs, f.Judged.Finding.Label, len(f.Judged.Phrase), len(f.Judged.Answer.Notes))
	}
	if k.first == "" {
		k.first = text
	}
	if k.err == nil && (text != k.first || f.Judged == nil) {
		k.err = fmt.Errorf("round %d: %s; the first: %s", k.count, text, k.first)
	}
	k.after(k.count)
	return "", nil
}
