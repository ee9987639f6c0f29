package main

import (
	"context"
	"io"
	"os"
	"reflect"
	"slices"
	"testing"
	"time"

	"larkhand/internal/journal"
	"larkhand/internal/progress"
)

// A small one of these journals is whole, and both commands run.
func TestSmallJournal(t *testing.T) {
	dir := t.TempDir()
	quiet(t)
	if err := fill(dir, 120, 3, 1); err != nil {
		t.Fatal(err)
	}
	if err := measure(dir); err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	h, err := j.Check(context.Background())
	if err != nil || h.Rounds != 120 || len(h.Problems) > 0 {
		t.Errorf("checked %+v, %v", h, err)
	}
	rounds, err := j.Progress(context.Background(), "Player 2", time.Time{}, time.Time{})
	if p := progress.Of(rounds); err != nil || p.Answers != 40 || p.Known.Hits == 0 || p.Known.Hits == p.Known.Trials {
		t.Errorf("progress %+v, %v", p.Known, err)
	}
}

func TestSameSeedSameRounds(t *testing.T) {
	var lists [2][]journal.Entry
	for i := range lists {
		s, err := newSeason(3, 2)
		if err != nil {
			t.Fatal(err)
		}
		lists[i] = slices.Collect(s.entries(50))
	}
	if !reflect.DeepEqual(lists[0], lists[1]) {
		t.Error("two seasons of one seed differ")
	}
}

// quiet keeps what the commands print off the tests' output.
func quiet(t *testing.T) {
	t.Helper()
	out := os.Stdout
	null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	os.Stdout = null
	t.Cleanup(func() {
		os.Stdout = out
		io.Closer(null).Close()
	})
}

// benchmarkRounds is the size of the journal that the benchmarks make: a few months. The command measures large ones.
const benchmarkRounds = 2000

func benchmark(b *testing.B, do func(*journal.Journal) func() error) {
	b.Helper()
	j, err := journal.Open(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	defer j.Close()
	s, err := newSeason(1, 1)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := j.Load(context.Background(), s.entries(benchmarkRounds)); err != nil {
		b.Fatal(err)
	}
	run := do(j)
	for b.Loop() {
		if err := run(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFirstPage(b *testing.B) {
	benchmark(b, func(j *journal.Journal) func() error { return page(j, journal.Filter{}) })
}

func BenchmarkProgress(b *testing.B) {
	benchmark(b, func(j *journal.Journal) func() error { return progressOf(j, "Player 1", time.Time{}) })
}

func BenchmarkRound(b *testing.B) { benchmark(b, opened) }

func BenchmarkSave(b *testing.B) {
	benchmark(b, func(j *journal.Journal) func() error {
		s, err := newSeason(2, 1)
		if err != nil {
			b.Fatal(err)
		}
		next := slices.Collect(s.entries(1))[0]
		if next.Answer, err = midiFile(); err != nil {
			b.Fatal(err)
		}
		for range 2 {
			take, err := journal.EncodeTake(tone(0)[:sampleRate], sampleRate)
			if err != nil {
				b.Fatal(err)
			}
			next.Takes = append(next.Takes, take)
		}
		return func() error {
			_, err := j.Save(context.Background(), next)
			return err
		}
	})
}
