package journal

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A recording that a living program holds is not found by another one; closed, it is.
func TestLivingRecordingIsLeftAlone(t *testing.T) {
	dir := t.TempDir()
	j, other := mustOpen(t, dir), mustOpen(t, dir)
	r, err := j.Record(began, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(r.Dir, "take1.wav"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if list, err := other.Unfinished(ctx); err != nil || len(list) != 0 {
		t.Errorf("another program finds %+v, %v", list, err)
	}
	r.Close()
	if list, err := other.Unfinished(ctx); err != nil || len(list) != 1 || list[0].Name != r.Name {
		t.Errorf("closed, another program finds %+v, %v", list, err)
	}
	if err := other.Discard(r.Name); err != nil {
		t.Fatal(err)
	}
	if list, err := j.Unfinished(ctx); err != nil || len(list) != 0 {
		t.Errorf("discarded: %+v, %v", list, err)
	}
}

// What was saved but not removed any more is removed, what never got a file is not offered and goes when it is old, and a take is found
// also where what was noted about it is damaged.
func TestLeftRecordings(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	record := func(at time.Time, file bool) *Recording {
		t.Helper()
		r, err := j.Record(at, map[string]int{"tempo": 96})
		if err != nil {
			t.Fatal(err)
		}
		if file {
			if err := os.WriteFile(filepath.Join(r.Dir, "take1.wav"), []byte("x"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		r.Close()
		return r
	}
	saved := record(began, true)
	if _, err := j.db.Exec("UPDATE rounds SET recording = ? WHERE id = ?", saved.Name, mustSave(t, j, plain(t, began))); err != nil {
		t.Fatal(err)
	}
	old, young := record(began, false), record(time.Now(), false)
	damaged := record(began, true)
	if err := os.WriteFile(filepath.Join(damaged.Dir, aboutName), []byte(`{"st`), 0o600); err != nil {
		t.Fatal(err)
	}
	list, err := j.Unfinished(ctx)
	if err != nil || len(list) != 1 || list[0].Name != damaged.Name || list[0].Started.IsZero() {
		t.Errorf("found %+v, %v; want the damaged one", list, err)
	}
	for r, there := range map[*Recording]bool{saved: false, old: false, young: true, damaged: true} {
		if _, err := os.Stat(r.Dir); (err == nil) != there {
			t.Errorf("%s: %v, want there: %v", r.Name, err, there)
		}
	}
}

// A recording of several rounds, each in its folder: saving one removes that one, and the others are found again.
func TestRecordingOfSeveralRounds(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	r, err := j.Record(began, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, round := range []string{"round-001", "round-002", "round-003"} {
		if err := os.MkdirAll(filepath.Join(r.Dir, round), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(r.Dir, round, "take1.wav"), []byte(round), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	e := plain(t, began)
	e.Recording = r.Round("round-001")
	id := mustSave(t, j, e)
	if _, err := os.Stat(filepath.Join(r.Dir, "round-001")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the round that was saved is still there (%v)", err)
	}
	// The program was stopped between the commit and the removal.
	if _, err := j.db.Exec("UPDATE rounds SET recording = ? WHERE id = ?", r.Round("round-002"), id); err != nil {
		t.Fatal(err)
	}
	r.Close()
	list, err := j.Unfinished(ctx)
	if err != nil || len(list) != 1 || len(list[0].Files) != 1 || list[0].Files[0] != (FileInfo{"round-003/take1.wav", 9}) {
		t.Errorf("found %+v, %v", list, err)
	}
}

func TestRecordingNames(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	for _, name := range []string{"", ".", "..", "../rounds", "a/../..", "a/b/c", "/a", "a/"} {
		if err := j.Discard(name); err == nil || !strings.Contains(err.Error(), "no name of a recording") {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := j.Record(began, func() {}); err == nil {
		t.Error("what JSON cannot hold was recorded")
	}
	if err := j.Discard("20260101-000000-00000000"); err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Errorf("what is not there: %v", err)
	}
}
