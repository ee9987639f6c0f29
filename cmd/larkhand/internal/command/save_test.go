package command

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"larkhand/internal/demo"
	"larkhand/internal/journal"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// TestStoppedBatchTellsWhatWasKept: what was saved before a batch is stopped stays, and the program says so.
func TestStoppedBatchTellsWhatWasKept(t *testing.T) {
	const rounds = 40
	dir, store := manyRounds(t, rounds), filepath.Join(t.TempDir(), "journal")
	ctx, cancel := context.WithCancel(context.Background())
	var errs bytes.Buffer
	code := Run(ctx, []string{"check", "--save", "--journal", store, "--batch", dir}, &cancelling{cancel: cancel}, &errs)
	if code != exitCouldNot || !regexp.MustCompile(`^Kept .* in .*journal\.\nlarkhand: stopped before it was done\n$`).MatchString(errs.String()) {
		t.Errorf("exit code %d, %q", code, errs.String())
	}
	j, err := journal.OpenToRead(store)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	n, err := j.Count(t.Context(), journal.Filter{})
	if err != nil || n < 1 || n >= rounds {
		t.Errorf("%d rounds in the journal, error %v", n, err)
	}
	health, err := j.Check(t.Context())
	if err != nil || len(health.Problems) > 0 {
		t.Errorf("%v, error %v", health.Problems, err)
	}
}

// TestBeginOf: without --at a round began its first take's length before the file was last written.
func TestBeginOf(t *testing.T) {
	path := filepath.Join(t.TempDir(), "take1.wav")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	written := time.Date(2026, 11, 3, 18, 30, 10, 0, time.UTC)
	if err := os.Chtimes(path, written, written); err != nil {
		t.Fatal(err)
	}
	take := round.Take{Voice: voice.Take{Duration: 7.5}}
	at, err := beginOf(path, take, saving{})
	if want := written.Add(-7500 * time.Millisecond); err != nil || !at.Equal(want) {
		t.Errorf("began at %v, want %v; error %v", at, want, err)
	}
	at, err = beginOf(path, take, saving{at: "2026-10-01T08:00:00+02:00"})
	if want := time.Date(2026, 10, 1, 6, 0, 0, 0, time.UTC); err != nil || !at.Equal(want) {
		t.Errorf("began at %v, want %v; error %v", at, want, err)
	}
}

// TestTakeFile: sound is kept as FLAC with the same samples, FLAC and MIDI as they are, RMID without its wrapper.
func TestTakeFile(t *testing.T) {
	dir := t.TempDir()
	put := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	samples := make([]float32, testRate)
	for i := range samples {
		const fullScale = 1 << 15 // of 16 bits
		samples[i] = float32(math.Round(0.3*fullScale*math.Sin(2*math.Pi*220*float64(i)/testRate))) / fullScale
	}
	wave := filepath.Join(dir, "take.wav")
	if err := soundfile.WriteWAV(wave, samples, testRate); err != nil {
		t.Fatal(err)
	}
	flac, err := takeFile(wave, false)
	if err != nil {
		t.Fatal(err)
	}
	sound, err := soundfile.Read(put("kept.flac", flac))
	if err != nil || sound.Rate != testRate || len(sound.Samples) != len(samples) {
		t.Fatalf("%d samples at %d Hz, error %v", len(sound.Samples), sound.Rate, err)
	}
	for i := range samples {
		if sound.Samples[i] != samples[i] {
			t.Fatalf("sample %d is %v, want %v", i, sound.Samples[i], samples[i])
		}
	}
	if again, err := takeFile(filepath.Join(dir, "kept.flac"), false); err != nil || !bytes.Equal(again, flac) {
		t.Errorf("a FLAC file is not kept as it is; error %v", err)
	}

	_, _, _, answer, _ := demo.Round()
	wrapped := append([]byte("RIFF\x00\x00\x00\x00RMIDdata"), binary.LittleEndian.AppendUint32(nil, uint32(len(answer)))...)
	binary.LittleEndian.PutUint32(wrapped[4:], uint32(len(wrapped)-8+len(answer)))
	for name, data := range map[string][]byte{"answer.mid": answer, "answer.rmi": append(wrapped, answer...)} {
		if kept, err := takeFile(put(name, data), true); err != nil || !bytes.Equal(kept, answer) {
			t.Errorf("%s: %d bytes kept, want %d; error %v", name, len(kept), len(answer), err)
		}
	}
}
