package journal

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// mustMark marks a round or takes the mark away.
func mustMark(t testing.TB, j *Journal, id ID, misheard bool) {
	t.Helper()
	if err := j.Mark(ctx, id, misheard); err != nil {
		t.Fatal(err)
	}
}

// markInFolder is the mark that a round's folder has.
func markInFolder(t testing.TB, j *Journal, id ID) bool {
	t.Helper()
	rec, err := readRecord(ctx, j.db, id)
	if err != nil {
		t.Fatal(err)
	}
	there, err := readFolder(filepath.Join(j.dir, filepath.FromSlash(rec.Folder)))
	if err != nil {
		t.Fatal(err)
	}
	return there.Misheard
}

// A marked round stays in the lists and counts nowhere; without the mark it counts again.
func TestMark(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	mustSave(t, j, plain(t, began.Add(time.Hour)))
	look := func(misheard, counting, progress int) {
		t.Helper()
		for f, want := range map[Filter]int{{}: 2, {Misheard: true}: misheard, {Counting: true}: counting, {Misheard: true, Player: "Tobrin"}: misheard, {Counting: true, Key: "F minor"}: 0} {
			if n, err := j.Count(ctx, f); n != want || err != nil || len(mustRounds(t, j, f)) != want {
				t.Errorf("%+v chooses %d rounds, want %d (%v)", f, n, want, err)
			}
		}
		if n := mustProgress(t, j, "Tobrin"); n != progress {
			t.Errorf("progress knows %d rounds, want %d", n, progress)
		}
		if players, err := j.Players(ctx); err != nil || len(players) != 2 || players[0].Rounds != progress {
			t.Errorf("players %+v, %v", players, err)
		}
		healthy(t, j)
	}
	look(0, 2, 2)
	for range 2 { // a second time changes nothing
		mustMark(t, j, id, true)
		look(1, 1, 1)
	}
	if s := mustRound(t, j, id); !s.Misheard || len(s.Remarks()) > 0 || !markInFolder(t, j, id) {
		t.Errorf("the round is %+v, its folder says %v", s.Row, markInFolder(t, j, id))
	}
	if err := j.Delete(ctx, id); err != nil {
		t.Fatal(err)
	}
	if err := j.Undelete(ctx, id); err != nil {
		t.Fatal(err)
	}
	look(1, 1, 1)
	mustMark(t, j, id, false)
	look(0, 2, 2)
	if markInFolder(t, j, id) {
		t.Error("the folder still says that the round is marked")
	}
	sentence(t, j.Mark(ctx, 99, true), ErrNotFound, "larkhand history")
}

// A journal that is read only says so; a folder that somebody removed is no reason not to mark.
func TestMarkWhereItCannotBe(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	r, err := OpenToRead(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	sentence(t, r.Mark(ctx, id, true), ErrReadOnly, "read only")
	if err := os.RemoveAll(filepath.Dir(mustRound(t, j, id).Answer.Path)); err != nil {
		t.Fatal(err)
	}
	mustMark(t, j, id, true)
	if s := mustRound(t, j, id); !s.Misheard {
		t.Error("the round is not marked")
	}
}

// The mark outlasts a lost database, a damaged one, and a backup.
func TestMarkOutlastsTheDatabase(t *testing.T) {
	dir, ids := journalOf(t, 3)
	j := mustOpen(t, dir)
	mustMark(t, j, ids[1], true)
	mustMark(t, j, ids[2], true)
	copied := filepath.Join(t.TempDir(), "copy")
	if _, err := j.Backup(ctx, copied); err != nil {
		t.Fatal(err)
	}
	mustMark(t, j, ids[2], false)
	if _, err := j.Backup(ctx, copied); err != nil { // the changed file goes again
		t.Fatal(err)
	}
	j.Close()
	for _, dir := range []string{dir, copied} {
		if err := os.Remove(filepath.Join(dir, databaseName)); err != nil {
			t.Fatal(err)
		}
		if r, err := Repair(ctx, dir); err != nil || r.FromFiles != 3 {
			t.Fatalf("repaired %+v, %v", r, err)
		}
		j := mustOpen(t, dir)
		if rows := mustRounds(t, j, Filter{Misheard: true}); len(rows) != 1 || !rows[0].At.Equal(began.Add(time.Hour)) || mustProgress(t, j, "Tobrin") != 2 {
			t.Errorf("after the repair %d rounds are marked, progress knows %d", len(rows), mustProgress(t, j, "Tobrin"))
		}
		healthy(t, j)
		j.Close()
	}
}

// Whatever step of marking fails, nothing is changed, folder and database say the same, and the next try works.
func TestMarkFailsAtEveryStep(t *testing.T) {
	dir := t.TempDir()
	d := &failing{cause: fmt.Errorf("write: %w", syscall.ENOSPC)}
	j, err := open(dir, d)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	failures := 0
	for at := 1; ; at++ {
		d.left = at
		err := j.Mark(ctx, id, true)
		d.left = 0
		if err == nil {
			break
		}
		failures++
		sentence(t, err, ErrFull, "make room there and try again")
		if s := mustRound(t, j, id); s.Misheard || markInFolder(t, j, id) || mustProgress(t, j, "Tobrin") != 1 {
			t.Errorf("step %d: marked %v, in its folder %v", at, s.Misheard, markInFolder(t, j, id))
		}
		healthy(t, j)
		if left, _ := os.ReadDir(filepath.Join(dir, partsName)); len(left) > 0 {
			t.Errorf("step %d: parts holds %v", at, left)
		}
	}
	// The note's sync, the file, its rename, the folder's sync.
	if want := 4; failures != want {
		t.Errorf("%d steps can fail, want %d", failures, want)
	}
	if !mustRound(t, j, id).Misheard || !markInFolder(t, j, id) {
		t.Error("the round is not marked after all")
	}
}
