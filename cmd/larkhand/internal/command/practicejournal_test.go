package command

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"larkhand/internal/demo"
	"larkhand/internal/journal"
	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
)

// finishedRound is the demo's round as a live session hands it over: with steps, in pieces, helped, of a kept phrase, and not yet judged.
func finishedRound(t *testing.T, folder string) practice.Finished {
	t.Helper()
	take1, take2, rate, answer, meta := demo.Round()
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	write := func(name string, data []byte) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	f := practice.Finished{Folder: folder, Answer: write("answer.mid", answer), Began: time.Date(2026, 11, 3, 18, 30, 0, 0, time.UTC), Phrase: "Rain"}
	for i, samples := range [][]float32{take1, take2} {
		var wav bytes.Buffer
		if err := soundfile.EncodeWAV(&wav, samples, rate); err != nil {
			t.Fatal(err)
		}
		f.Takes = append(f.Takes, write([]string{"take1.wav", "take2.wav"}[i], wav.Bytes()))
		f.Facts.Takes = append(f.Facts.Takes, round.Span{From: 20 * float64(i), To: 20*float64(i) + float64(len(samples))/float64(rate)})
	}
	key, err := music.ParseKey(meta.Key)
	if err != nil {
		t.Fatal(err)
	}
	took := 12.5
	f.Options = round.Options{Key: &key, AnswerStarts: &meta.AnswerStart, Pieces: []float64{2}, Helped: round.Helped{Notes2: 1},
		Written: &round.Written{Numbers: "1 2 3 4 6 #7 1", NumbersSeconds: &took}}
	f.Facts.Misheard, f.Facts.Helped, f.Facts.Written = true, f.Options.Helped, f.Options.Written
	return f
}

// checkKept looks whether the journal holds all that was handed over.
func checkKept(t *testing.T, j *journal.Journal, id journal.ID, misheard bool) {
	t.Helper()
	s, err := j.Round(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if s.Misheard != misheard || s.PhraseName != "Rain" || s.Numbers != "1 2 3 4 6 #7 1" || s.Letters != "" || *s.Written.NumbersSeconds != 12.5 ||
		!slices.Equal(s.PieceStarts, []float64{2}) || s.Helped != (round.Helped{Notes2: 1}) || len(s.Remarks()) > 0 {
		t.Errorf("kept %+v, written %+v", s, s.Written)
	}
	rounds, err := j.Progress(t.Context(), "", time.Time{}, time.Time{})
	if err != nil || (len(rounds) == 0) != misheard {
		t.Errorf("progress knows %d rounds of one that is misheard: %v (%v)", len(rounds), misheard, err)
	}
}

// TestJournalSaver: a live round is kept with what was done in it, and its mark can be changed afterwards, also when its folder is gone.
func TestJournalSaver(t *testing.T) {
	j, err := journal.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	recording, err := j.Record(time.Now(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer recording.Close()
	f := finishedRound(t, filepath.Join(recording.Dir, "round-001"))
	if f.Judge(); f.Judged == nil {
		t.Fatal(f.Reason)
	}
	var s practice.Saver = journalSaver{j, recording.Name}
	if told, err := s.Save(t.Context(), f); err != nil || told != "Kept as round 1." {
		t.Fatalf("%q, %v", told, err)
	}
	checkKept(t, j, 1, true)
	marker := s.(practice.Marker)
	for _, c := range []struct {
		misheard bool
		told     string
	}{{false, "Round 1 counts again."}, {true, "Round 1 is marked as misheard and counts nowhere."}} {
		if told, err := marker.Mark(t.Context(), f, c.misheard); err != nil || told != c.told {
			t.Errorf("%q, %v; want %q", told, err, c.told)
		}
		checkKept(t, j, 1, c.misheard)
	}
	f.Folder = filepath.Join(recording.Dir, "round-002")
	if _, err := marker.Mark(t.Context(), f, true); err == nil || !strings.Contains(err.Error(), "not in the journal") {
		t.Errorf("a round that was not kept: %v", err)
	}
}

// TestLeftoverIsKeptWhole: a round that an earlier session did not come to save keeps what was done in it.
func TestLeftoverIsKeptWhole(t *testing.T) {
	j, err := journal.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	recording, err := j.Record(time.Now(), nil)
	if err != nil {
		t.Fatal(err)
	}
	recording.Close()
	l := &leftover{j: j, recordings: []journal.Recording{*recording}, rounds: [][]practice.Finished{{finishedRound(t, filepath.Join(recording.Dir, "round-001"))}}}
	if told, err := l.keep(t.Context()); err != nil || told != "1 round was judged and kept in the journal." {
		t.Fatalf("%q, %v", told, err)
	}
	checkKept(t, j, 1, true)
}
