package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"larkhand/internal/journal"
	"larkhand/internal/progress"
)

// times is how often everything is measured; the first time counts by itself, since the others find the files in memory.
const times = 7

// measure prints the times that a player waits. Saved rounds are removed again.
func measure(dir string) error {
	start := time.Now()
	j, err := journal.Open(dir)
	if err != nil {
		return err
	}
	defer j.Close()
	fmt.Printf("%-44s %8s %8s %8s %8s\n", "ms", "first", "quickest", "median", "slowest")
	show("open", []time.Duration{time.Since(start)})
	ctx := context.Background()
	players, err := j.Players(ctx)
	if err != nil || len(players) == 0 {
		return fmt.Errorf("the journal has no players (%w)", err)
	}
	player := players[0].Name
	last := players[0].Last
	for _, c := range []struct {
		what string
		do   func() error
	}{
		{"history: first page", page(j, journal.Filter{})},
		{"history: first page of a player", page(j, journal.Filter{Player: player})},
		{"history: first page of a key", page(j, journal.Filter{Key: keyNames[0]})},
		{"history: first page of a player never met", page(j, journal.Filter{Player: "Nobody"})},
		{"history: a month ten years ago", page(j, journal.Filter{From: firstDay, To: firstDay.AddDate(0, 1, 0)})},
		{"history: how many rounds", func() error { _, err := j.Count(ctx, journal.Filter{}); return err }},
		{fmt.Sprintf("progress of one of %d, %d rounds", len(players), players[0].Rounds), progressOf(j, player, time.Time{})},
		{"progress of the last three months", progressOf(j, player, last.AddDate(0, -3, 0))},
		{"a round opened", opened(j)},
	} {
		if err := repeat(c.what, c.do); err != nil {
			return err
		}
	}
	return measureSave(j)
}

func page(j *journal.Journal, f journal.Filter) func() error {
	return func() error {
		_, err := j.Rounds(context.Background(), f, journal.Page{})
		return err
	}
}

// progressOf reads the rows and makes everything that is said of them.
func progressOf(j *journal.Journal, player string, from time.Time) func() error {
	return func() error {
		rounds, err := j.Progress(context.Background(), player, from, time.Time{})
		if err == nil && len(progress.Of(rounds).Sentences) == 0 {
			err = fmt.Errorf("nothing is said of %d rounds", len(rounds))
		}
		return err
	}
}

func opened(j *journal.Journal) func() error {
	return func() error {
		rows, err := j.Rounds(context.Background(), journal.Filter{}, journal.Page{Limit: 1})
		if err == nil {
			_, err = j.Round(context.Background(), rows[0].ID)
		}
		return err
	}
}

func repeat(what string, do func() error) error {
	var list []time.Duration
	for range times {
		start := time.Now()
		if err := do(); err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
		list = append(list, time.Since(start))
	}
	show(what, list)
	return nil
}

func show(what string, list []time.Duration) {
	ms := func(d time.Duration) float64 { return d.Seconds() * 1000 }
	sorted := slices.Sorted(slices.Values(list))
	fmt.Printf("%-44s %8.1f %8.1f %8.1f %8.1f\n", what, ms(list[0]), ms(sorted[0]), ms(sorted[len(sorted)/2]), ms(sorted[len(sorted)-1]))
}

// measureSave saves rounds with two takes of eight seconds and an answer, and removes them.
func measureSave(j *journal.Journal) error {
	ctx := context.Background()
	s, err := newSeason(2, 1)
	if err != nil {
		return err
	}
	var takes [][]byte
	encoding := time.Now()
	for take := range 2 {
		flac, err := journal.EncodeTake(tone(take), sampleRate)
		if err != nil {
			return err
		}
		takes = append(takes, flac)
	}
	show(fmt.Sprintf("(encoding two takes of %d s)", takeSeconds), []time.Duration{time.Since(encoding)})
	answer, err := midiFile()
	if err != nil {
		return err
	}
	var ids []journal.ID
	next := s.entries(times)
	var list []time.Duration
	for e := range next {
		e.At, e.Sang, e.Takes, e.Answer = time.Now(), "Somebody new", takes, answer
		start := time.Now()
		id, err := j.Save(ctx, e)
		if err != nil {
			return err
		}
		list = append(list, time.Since(start))
		ids = append(ids, id)
	}
	show("a round saved with its files", list)
	if err := j.Delete(ctx, ids...); err != nil {
		return err
	}
	_, err = j.Purge(ctx, ids...)
	return err
}

// The takes that are saved.
const (
	sampleRate  = 44100
	takeSeconds = 8
)

// tone is a sound with overtones and a little noise, as hard to pack as a voice.
func tone(number int) []float32 {
	samples := make([]float32, takeSeconds*sampleRate)
	noise := uint32(1 + number)
	for i := range samples {
		t := float64(i) / sampleRate
		x := 0.0
		for k := 1.0; k <= 12; k++ {
			x += 0.15 / k * math.Sin(2*math.Pi*k*(180+float64(20*number)+3*math.Sin(2*math.Pi*5.5*t))*t)
		}
		noise = noise*1664525 + 1013904223 // Numerical Recipes' quick generator; only its upper bits are used
		samples[i] = float32(x + 0.002*(float64(noise>>16)/32768-1))
	}
	return samples
}

func midiFile() ([]byte, error) {
	var track smf.Track
	for _, key := range []uint8{60, 63, 67, 65, 63, 62, 60} {
		track.Add(0, midi.NoteOn(0, key, 70))
		track.Add(400, midi.NoteOff(0, key))
	}
	track.Close(0)
	file := smf.New()
	if err := file.Add(track); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	_, err := file.WriteTo(&out)
	return out.Bytes(), err
}
