package demo

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

func TestRoundIsDeterministic(t *testing.T) {
	a1, a2, _, aSMF, aMeta := Round()
	b1, b2, _, bSMF, bMeta := Round()
	if !slices.Equal(a1, b1) || !slices.Equal(a2, b2) || !bytes.Equal(aSMF, bSMF) || aMeta.AnswerStart != bMeta.AnswerStart {
		t.Error("two calls give different rounds")
	}
	if slices.Equal(a1, a2) {
		t.Error("both takes are the same")
	}
}

// The plan in words: C D Eb F Ab B C, answered an octave higher with E before Eb.
func TestAnswerFileHasThePlannedNotes(t *testing.T) {
	_, _, _, data, meta := Round()
	file, err := midiin.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	if len(file.Remarks) > 0 {
		t.Errorf("the file needs remarks: %v", file.Remarks)
	}
	notes, remarks := midiin.Notes(file, midiin.Options{})
	if len(remarks) > 0 {
		t.Errorf("the notes need remarks: %v", remarks)
	}
	want := []int{72, 74, 76, 75, 77, 80, 71, 72}
	if len(notes) != len(want) || len(meta.Played) != len(want) {
		t.Fatalf("%d notes in the file, %d planned, want %d", len(notes), len(meta.Played), len(want))
	}
	for i, n := range notes {
		p := meta.Played[i]
		// One tick of 960 a quarter note at 96 a minute is 0.65 ms.
		if n.Key != want[i] || p.Key != want[i] || n.Velocity != p.Velocity || math.Abs(n.Onset-p.Onset) > 0.00066 || math.Abs(n.Offset-p.Offset) > 0.00066 {
			t.Errorf("note %d: %+v, planned %+v, want key %d", i, n, p, want[i])
		}
	}
}

func TestAnswerIsPartlySearched(t *testing.T) {
	_, _, _, _, meta := Round()
	p := meta.Played
	if d := p[3].Onset - p[2].Onset; math.Abs(d-0.3) > 0.02 {
		t.Errorf("the right key comes %.3f s after the wrong one, want 0.3", d)
	}
	meant := (phrase[5].beat - phrase[4].beat) * 60 / tempo * answerTempo
	if late := p[6].Onset - p[5].Onset - meant; math.Abs(late-0.7) > 0.03 {
		t.Errorf("the leap comes %.3f s late, want 0.7", late)
	}
	last := meta.Second[len(meta.Second)-1].Offset
	if response := meta.AnswerStart + p[0].Onset - last; math.Abs(response-1.4) > 0.001 {
		t.Errorf("response time %.4f s, want 1.4", response)
	}
}

// The takes are what the scenario says: take 2 is closer to the meant pitches on one tuning, but for the F between two keys.
func TestTakesDifferAsTold(t *testing.T) {
	take1, take2, rate, _, meta := Round()
	if len(meta.First) != len(phrase) || len(meta.Second) != len(phrase) {
		t.Fatalf("%d and %d notes", len(meta.First), len(meta.Second))
	}
	const f = 3
	first, second := 0.0, 0.0
	for i, s := range phrase {
		if i == f {
			continue
		}
		first += math.Abs(100*(meta.First[i].Pitch-s.pitch) - firstTuning)
		second += math.Abs(100*(meta.Second[i].Pitch-s.pitch) - secondTuning)
	}
	if second > first/2 {
		t.Errorf("take 2 is off by %.0f cents in all, take 1 by %.0f", second, first)
	}
	if d := meta.Second[f].Pitch - phrase[f].pitch; math.Abs(d-0.5) > 1e-9 {
		t.Errorf("the F of take 2 lies %.3f semitones up, want half", d)
	}
	for i, take := range [][]float32{take1, take2} {
		peak := float32(0)
		for _, x := range take {
			peak = max(peak, x, -x)
		}
		if peak < 0.1 || peak > 0.95 {
			t.Errorf("take %d has a peak of %.2f", i+1, peak)
		}
		if length := float64(len(take)) / float64(rate); length < 8 || length > 10 {
			t.Errorf("take %d lasts %.1f s", i+1, length)
		}
	}
}

func TestWriteSavesTheRound(t *testing.T) {
	dir := t.TempDir()
	meta, err := Write(dir)
	if err != nil {
		t.Fatal(err)
	}
	take1, _, rate, data, want := Round()
	sound, err := soundfile.Read(filepath.Join(dir, FirstName))
	if err != nil {
		t.Fatal(err)
	}
	if sound.Rate != rate || len(sound.Samples) != len(take1) {
		t.Errorf("%d samples at %d Hz, want %d at %d", len(sound.Samples), sound.Rate, len(take1), rate)
	}
	for i, x := range take1 {
		if math.Abs(float64(x-sound.Samples[i])) > 1.0/32768 { // 16 bits
			t.Fatalf("sample %d: %g, want %g", i, sound.Samples[i], x)
		}
	}
	saved, err := os.ReadFile(filepath.Join(dir, AnswerName))
	if err != nil || !bytes.Equal(saved, data) {
		t.Errorf("the saved answer differs (%v)", err)
	}
	if _, err := os.Stat(filepath.Join(dir, SecondName)); err != nil {
		t.Error(err)
	}
	if meta.AnswerStart != want.AnswerStart {
		t.Errorf("answer starts at %g, want %g", meta.AnswerStart, want.AnswerStart)
	}
	if _, err := Write(filepath.Join(dir, "missing")); err == nil {
		t.Error("a missing folder gives no error")
	}
}
