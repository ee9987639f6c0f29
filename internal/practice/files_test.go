package practice

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"larkhand/internal/soundfile"
)

func TestFilesLaySoundsInTime(t *testing.T) {
	const rate = 1000
	ones := func(n int) []float32 { return slices.Repeat([]float32{1}, n) }
	f := NewFiles([]Placed{{0.5, ones(200)}, {0.1, ones(100)}, {0.6, ones(50)}}, rate, []Message{midi(0.9, 0x90, 60, 1)}, 0.1, true)
	mic, ctx := f.Microphone(), t.Context()
	var sound []float32
	for {
		b, err := mic.Read(ctx)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(b.Time-float64(len(sound))/rate) > 1e-9 {
			t.Fatalf("a block at %g after %d samples", b.Time, len(sound))
		}
		sound = append(sound, b.Samples...)
	}
	if len(sound) != 1000 {
		t.Fatalf("%d samples", len(sound))
	}
	for i, x := range sound {
		want := float32(0)
		switch {
		case i >= 600 && i < 650:
			want = 2
		case i >= 500 && i < 700, i >= 100 && i < 200:
			want = 1
		}
		if x != want {
			t.Fatalf("sample %d is %g, want %g", i, x, want)
		}
	}
}

func TestFilesRepeat(t *testing.T) {
	const rate = 1000
	f := NewFiles([]Placed{{0, []float32{1, 2, 3}}}, rate, []Message{midi(0.01, 0x90, 60, 1), midi(0.02, 0x80, 60, 1)}, 0.08, true)
	f.Repeat(3, 0.05)
	mic := f.Microphone()
	var sound []float32
	for b, err := mic.Read(t.Context()); err == nil; b, err = mic.Read(t.Context()) {
		sound = append(sound, b.Samples...)
	}
	for i, x := range sound {
		want := float32(0)
		if k := i % 50; k < 3 && i < 150 {
			want = float32(k + 1)
		}
		if x != want {
			t.Fatalf("sample %d is %g, want %g", i, x, want)
		}
	}
	if len(sound) != 200 {
		t.Errorf("%d samples, want 200", len(sound))
	}
	for i, want := range []float64{0.01, 0.02, 0.06, 0.07, 0.11, 0.12} {
		if m, ok := f.message(i); !ok || math.Abs(m.Time-want) > 1e-9 {
			t.Errorf("message %d at %g, want %g", i, m.Time, want)
		}
	}
	if _, ok := f.message(6); ok {
		t.Error("a seventh message")
	}
}

// Fast, a message comes after the block in which it lies and before the next; the sound waits for who reads the port.
func TestFilesKeepStep(t *testing.T) {
	f := NewFiles(nil, 1000, []Message{midi(0.025, 0x90, 60, 1), midi(0.026, 0x90, 61, 1), midi(0.05, 0x90, 62, 1)}, 0.05, true)
	mic, port := f.Microphone(), f.MIDIPort()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	order := make(chan string)
	go func() {
		defer close(order)
		for {
			b, err := mic.Read(ctx)
			if err != nil {
				return
			}
			order <- "block until " + time.Duration(math.Round((b.Time+0.01)*1000)*1e6).String()
		}
	}()
	messages := make(chan string)
	go func() {
		defer close(messages)
		for {
			m, err := port.Read(ctx)
			if err != nil {
				return
			}
			messages <- "note " + string('0'+m.Bytes[1]%10)
		}
	}()
	var got []string
	for order != nil || messages != nil {
		select {
		case text, ok := <-order:
			if !ok {
				order = nil
				continue
			}
			got = append(got, text)
		case text, ok := <-messages:
			if !ok {
				messages = nil
				continue
			}
			got = append(got, text)
		}
	}
	want := []string{"block until 10ms", "block until 20ms", "block until 30ms", "note 0", "note 1", "block until 40ms", "block until 50ms", "note 2"}
	if len(got) < len(want) || !slices.Equal(got[:len(want)], want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestFilesInRealTime(t *testing.T) {
	f := NewFiles(nil, 16000, nil, 0.2, false)
	mic, began, n := f.Microphone(), time.Now(), 0
	for _, err := mic.Read(t.Context()); err == nil; _, err = mic.Read(t.Context()) {
		n++
		if early := time.Duration(n)*10*time.Millisecond - time.Since(began); early > time.Millisecond {
			t.Fatalf("block %d comes %s early", n, early)
		}
	}
	if n != 20 {
		t.Errorf("%d blocks", n)
	}
	ctx, cancel := context.WithCancel(t.Context())
	slow := NewFiles(nil, 16000, nil, 10, false).Microphone()
	time.AfterFunc(50*time.Millisecond, cancel)
	for err := error(nil); ctx.Err() == nil; {
		if _, err = slow.Read(ctx); err != nil && !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
	}
}

func TestOpenFiles(t *testing.T) {
	d := theDemo()
	dir := t.TempDir()
	sound, song := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.mid")
	if err := soundfile.WriteWAV(sound, d.take1, d.rate); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(song, answerFile(d.answer, 9, 96), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := OpenFiles(sound, song, 1, true)
	if err != nil || len(f.messages) != len(d.answer) || f.rate != d.rate || len(f.sound) != len(d.take1) {
		t.Errorf("%d messages, %v", len(f.messages), err)
	}
	if _, err := OpenFiles(sound, "", 1, true); err != nil {
		t.Error(err)
	}
	if _, err := OpenFiles(filepath.Join(dir, "b.wav"), song, 1, true); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no sound: %v", err)
	}
	if _, err := OpenFiles(sound, filepath.Join(dir, "b.mid"), 1, true); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no MIDI file: %v", err)
	}
}
