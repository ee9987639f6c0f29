package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"larkhand/internal/progress"
	"larkhand/internal/steps"
)

// sentence fails unless an error is of a kind, is one line, and says what would work.
func sentence(t *testing.T, err, kind error, says string) {
	t.Helper()
	if !errors.Is(err, kind) || strings.Contains(err.Error(), "\n") || !strings.Contains(err.Error(), says) {
		t.Errorf("the error is %q, want %q in one line with %q", err, kind, says)
	}
}

// failing is a disk on which one step fails.
type failing struct {
	realDisk
	left  int // steps until the failure
	cause error
}

func (f *failing) fail() error {
	if f.left--; f.left == 0 {
		return f.cause
	}
	return nil
}

func (f *failing) Write(path string, data []byte) error {
	if err := f.fail(); err != nil {
		os.WriteFile(path, data[:len(data)/2], fileMode) // what still fitted
		return err
	}
	return f.realDisk.Write(path, data)
}

func (f *failing) MakeDir(path string) error {
	return errors.Join(f.fail(), f.realDisk.MakeDir(path))
}

func (f *failing) Rename(from, to string) error {
	if err := f.fail(); err != nil {
		return err
	}
	return f.realDisk.Rename(from, to)
}

func (f *failing) Sync(dir string) error { return errors.Join(f.fail(), f.realDisk.Sync(dir)) }

// Whatever step of a save fails, the round is not there, nothing of it lies about, the sentence says why, and the next save works.
func TestSaveFailsAtEveryStep(t *testing.T) {
	for _, c := range []struct {
		cause error
		kind  error
		says  string
	}{
		{fmt.Errorf("write: %w", syscall.ENOSPC), ErrFull, "make room there and try again"},
		{fmt.Errorf("write: %w", syscall.EROFS), ErrReadOnly, "allow it to be written"},
	} {
		dir := t.TempDir()
		d := &failing{cause: c.cause}
		j, err := open(dir, d)
		if err != nil {
			t.Fatal(err)
		}
		mustSave(t, j, withFiles(t, plain(t, began)))
		e := withFiles(t, plain(t, began))
		failures := 0
		for at := 1; ; at++ {
			d.left = at
			e.At = began.AddDate(0, at, 0) // another month, so that its folder is made too
			_, err := j.Save(ctx, e)
			if err == nil {
				break
			}
			failures++
			sentence(t, err, c.kind, c.says)
			if !strings.HasPrefix(err.Error(), "the round was not saved: ") {
				t.Errorf("step %d: %q", at, err)
			}
			d.left = 0
			if h := healthy(t, j); h.Rounds != 1 {
				t.Errorf("step %d: %d rounds", at, h.Rounds)
			}
			if left, _ := os.ReadDir(filepath.Join(dir, partsName)); len(left) > 0 {
				t.Errorf("step %d: parts holds %v", at, left)
			}
		}
		// Sync, folder, four files, sync, the month's folder, sync of the two above it, rename, sync.
		if want := 12; failures != want {
			t.Errorf("%d steps can fail, want %d", failures, want)
		}
		if rows := mustRounds(t, j, Filter{}); len(rows) != 2 {
			t.Errorf("%d rounds after the save that worked", len(rows))
		}
		j.Close()
	}
}

// Whatever step of a purge fails, the deleted round is gone with its files, or there with them and can be brought back.
func TestPurgeFailsAtEveryStep(t *testing.T) {
	d := &failing{cause: fmt.Errorf("write: %w", syscall.ENOSPC)}
	j, err := open(t.TempDir(), d)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	if err := j.Delete(ctx, id); err != nil {
		t.Fatal(err)
	}
	for at := 1; ; at++ {
		d.left = at
		n, err := j.Purge(ctx, id)
		d.left = 0
		if err == nil {
			if n != 1 || at == 1 {
				t.Errorf("%d rounds purged after %d failures", n, at-1)
			}
			break
		}
		sentence(t, err, ErrFull, "make room there and try again")
		if h := healthy(t, j); h.Rounds != 1 || h.Files != 3 {
			t.Fatalf("step %d: %d rounds, %d files", at, h.Rounds, h.Files)
		}
	}
}

// small mounts a file system of some kilobytes. That needs the rights of an administrator; without them the test is skipped.
func small(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if runtime.GOOS != "linux" {
		t.Skip("skipped: mounts a file system of Linux")
	}
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", options, "none", dir).CombinedOutput(); err != nil {
		t.Skipf("skipped: no small file system can be mounted here: %s", bytes.TrimSpace(out))
	}
	t.Cleanup(func() { exec.Command("umount", "-l", dir).Run() })
	return dir
}

// A disk that is really full: saves fail with a sentence, what was saved stays, and with room again saving goes on.
func TestFullDisk(t *testing.T) {
	dir := small(t, "size=700k")
	j := mustOpen(t, dir)
	saved := 0
	var err error
	for i := range 500 {
		if _, err = j.Save(ctx, withFiles(t, plain(t, began.Add(time.Duration(i)*time.Minute)))); err != nil {
			break
		}
		saved++
	}
	if err == nil || saved == 0 {
		t.Fatalf("%d rounds of 500 fitted (%v)", saved, err)
	}
	sentence(t, err, ErrFull, "make room there and try again")
	if n, err := j.Count(ctx, Filter{}); err != nil || n != saved {
		t.Errorf("%d rounds are there, %d were saved (%v)", n, saved, err)
	}
	healthy(t, j)
	j.Close()
	if out, err := exec.Command("mount", "-o", "remount,size=4m", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	j = mustOpen(t, dir)
	mustSave(t, j, withFiles(t, plain(t, began)))
	if h := healthy(t, j); h.Rounds != saved+1 {
		t.Errorf("%d rounds, want %d", h.Rounds, saved+1)
	}
	j.Close()
}

// A full disk while the database grows, without files: the error comes from SQLite itself.
func TestFullDatabase(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	mustSave(t, j, plain(t, began))
	var pages int
	if err := j.db.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := j.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+3)); err != nil {
		t.Fatal(err)
	}
	var err error
	saved := 1
	for i := 0; err == nil && i < 200; i++ {
		if _, err = j.Save(ctx, plain(t, began)); err == nil {
			saved++
		}
	}
	sentence(t, err, ErrFull, "make room there and try again")
	if n := len(mustRounds(t, j, Filter{})); n != saved {
		t.Errorf("%d rounds, want %d", n, saved)
	}
	healthy(t, j)
}

func TestReadOnlyFolder(t *testing.T) {
	dir := small(t, "size=4m")
	j := mustOpen(t, dir)
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	j.Close()
	if out, err := exec.Command("mount", "-o", "remount,ro", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	_, err := Open(dir)
	sentence(t, err, ErrReadOnly, "allow")
	_, err = Repair(ctx, dir)
	sentence(t, err, ErrReadOnly, "allow")
	r, err := OpenToRead(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if s := mustRound(t, r, id); s.Label != "known" || s.Answer.State != Good {
		t.Errorf("read as %+v", s)
	}
	if n := mustProgress(t, r, "Tobrin"); n != 1 {
		t.Errorf("progress knows %d rounds", n)
	}
	healthy(t, r)
	_, err = r.Save(ctx, plain(t, began))
	sentence(t, err, ErrReadOnly, "read only")
	_, err = r.Record(began, nil)
	sentence(t, err, ErrReadOnly, "read only")
	sentence(t, r.Delete(ctx, id), ErrReadOnly, "read only")
	sentence(t, r.Discard("x"), ErrReadOnly, "read only")
	_, err = r.Purge(ctx, id)
	sentence(t, err, ErrReadOnly, "read only")
	b, err := r.Backup(ctx, t.TempDir())
	if err != nil || b.Rounds != 1 || b.Files != 4 {
		t.Errorf("backed up %+v, %v", b, err)
	}
}

// A folder that may not be written and was not closed properly: its last rounds may lie in the log only, so nothing is shown wrong.
func TestReadOnlyFolderWithALog(t *testing.T) {
	dir := small(t, "size=4m")
	j := mustOpen(t, dir)
	mustSave(t, j, plain(t, began))
	copied := small(t, "size=4m")
	if err := os.CopyFS(copied, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	j.Close()
	if out, err := exec.Command("mount", "-o", "remount,ro", copied).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	_, err := OpenToRead(copied)
	sentence(t, err, ErrReadOnly, "copy the folder")
}

func TestOpenToRead(t *testing.T) {
	dir := t.TempDir()
	_, err := OpenToRead(dir)
	sentence(t, err, ErrNotFound, "no journal in")
	if names, _ := os.ReadDir(dir); len(names) > 0 {
		t.Errorf("looking made %v", names)
	}
	j := mustOpen(t, dir)
	mustSave(t, j, plain(t, began))
	r, err := OpenToRead(dir) // while the other one is open
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if len(mustRounds(t, r, Filter{})) != 1 {
		t.Error("the round is not seen")
	}
	mustSave(t, j, plain(t, began))
	if len(mustRounds(t, r, Filter{})) != 2 {
		t.Error("a round that is saved meanwhile is not seen")
	}
}

func TestNotAFolder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path); err == nil || !strings.Contains(err.Error(), "is a file; name a folder") {
		t.Errorf("a file gives %v", err)
	}
}

// A program that holds a transaction for too long gives a sentence, and nothing of the round that could not be saved lies about.
func TestAnotherProgramHoldsTheJournal(t *testing.T) {
	dir := t.TempDir()
	j, other := mustOpen(t, dir), mustOpen(t, dir)
	if _, err := j.db.Exec("PRAGMA busy_timeout = 100"); err != nil { // ms; the rest of the wait teaches nothing
		t.Fatal(err)
	}
	tx, err := other.db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	_, err = j.Save(ctx, withFiles(t, plain(t, began)))
	sentence(t, err, ErrBusy, "close it, and try again")
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if h := healthy(t, j); h.Rounds != 0 {
		t.Errorf("%d rounds", h.Rounds)
	}
	mustSave(t, j, withFiles(t, plain(t, began)))
}

func TestFilesThatChanged(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	s := mustRound(t, j, id)
	if err := os.Remove(s.Takes[0].Path); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(s.Answer.Path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 1
	if err := os.WriteFile(s.Answer.Path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	s = mustRound(t, j, id)
	if s.Takes[0].State != Missing || s.Takes[1].State != Good || s.Answer.State != Changed {
		t.Errorf("states %v, %v, %v", s.Takes[0].State, s.Takes[1].State, s.Answer.State)
	}
	remarks := s.Remarks()
	if len(remarks) != 2 || !strings.Contains(remarks[0], "is missing: put it back from a backup") || !strings.Contains(remarks[1], "is not as it was saved") {
		t.Errorf("remarks %q", remarks)
	}
	if s.Label != "known" || mustProgress(t, j, "Tobrin") != 1 {
		t.Error("the round itself is lost")
	}
	h, err := j.Check(ctx)
	if err != nil || len(h.Problems) != 2 || h.Problems[0].Round != id {
		t.Errorf("the check finds %+v, %v", h.Problems, err)
	}
}

func TestNewerAndForeign(t *testing.T) {
	dir := t.TempDir()
	mustOpen(t, dir).Close()
	db, err := openDatabase(filepath.Join(dir, databaseName), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("PRAGMA user_version = 99"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	_, err = Open(dir)
	sentence(t, err, ErrNewer, "its version is 99, this program knows up to")
	_, err = OpenToRead(dir)
	sentence(t, err, ErrNewer, "its version is 99")
	_, err = Repair(ctx, dir)
	sentence(t, err, ErrNewer, "its version is 99")

	dir = t.TempDir()
	db, err = openDatabase(filepath.Join(dir, databaseName), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE recipes (id INTEGER)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	_, err = Open(dir)
	sentence(t, err, ErrForeign, "name another folder")
	_, err = Repair(ctx, dir)
	sentence(t, err, ErrForeign, "name another folder")
}

// journalOf makes a journal with rounds with files and closes it.
func journalOf(t *testing.T, rounds int) (dir string, ids []ID) {
	t.Helper()
	dir = t.TempDir()
	j := mustOpen(t, dir)
	for i := range rounds {
		ids = append(ids, mustSave(t, j, withFiles(t, entry(t, began.Add(time.Duration(i)*time.Hour), "C minor", "Miravel", "Tobrin", groped))))
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return dir, ids
}

// damage overwrites a part of the database with noise.
func damage(t *testing.T, dir string, from, bytes int) {
	t.Helper()
	f, err := os.OpenFile(filepath.Join(dir, databaseName), os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteAt(slices.Repeat([]byte{0xa5, 0x5a, 0x01}, bytes/3+1)[:bytes], int64(from)); err != nil {
		t.Fatal(err)
	}
}

// Any page of the database may be damaged: the check or the opening says so, and a repair brings every round back, since each
// folder holds its rows once more. The damaged file is kept.
func TestDamagedPages(t *testing.T) {
	const rounds, page = 25, 4096
	original, _ := journalOf(t, rounds)
	info, err := os.Stat(filepath.Join(original, databaseName))
	if err != nil {
		t.Fatal(err)
	}
	pages := int(info.Size()) / page
	fromDatabase := 0
	for at := 0; at < pages; at += max(1, pages/12) {
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(original)); err != nil {
			t.Fatal(err)
		}
		damage(t, dir, at*page, page)
		j, err := Open(dir)
		if err == nil {
			h, err := j.Check(ctx)
			if err != nil || len(h.Problems) == 0 || !strings.Contains(h.Problems[0].Text, "larkhand journal repair") {
				t.Errorf("page %d: the check finds %+v, %v", at, h.Problems, err)
			}
			j.Close()
		} else if !errors.Is(err, ErrForeign) { // the page that says what file it is
			sentence(t, err, ErrDamaged, "larkhand journal repair")
		}
		r, err := Repair(ctx, dir)
		if err != nil || !r.Damaged || r.Old == "" {
			t.Fatalf("page %d: repaired %+v, %v", at, r, err)
		}
		fromDatabase += r.Kept
		if _, err := os.Stat(r.Old); err != nil {
			t.Error(err)
		}
		j = mustOpen(t, dir)
		if h := healthy(t, j); h.Rounds != rounds || h.Files != 3*rounds {
			t.Errorf("page %d: %d rounds with %d files after the repair %+v", at, h.Rounds, h.Files, r)
		}
		if n := mustProgress(t, j, "Tobrin"); n != rounds {
			t.Errorf("page %d: progress knows %d rounds", at, n)
		}
		j.Close()
	}
	if fromDatabase < rounds*6 {
		t.Errorf("of 12 damaged databases only %d rounds were read", fromDatabase)
	}
}

// Without files there is the database alone: what its undamaged pages hold is kept.
func TestDamagedDatabaseWithoutFiles(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	const rounds = 400
	_, err := j.Load(ctx, func(yield func(Entry) bool) {
		for i := range rounds {
			if !yield(entry(t, began.Add(time.Duration(i)*time.Minute), "C minor", "Miravel", "Tobrin", groped)) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	j.Close()
	info, err := os.Stat(filepath.Join(dir, databaseName))
	if err != nil {
		t.Fatal(err)
	}
	damage(t, dir, int(info.Size())/2/4096*4096, 3*4096)
	r, err := Repair(ctx, dir)
	if err != nil || !r.Damaged || r.Kept < rounds*9/10 {
		t.Fatalf("repaired %+v, %v", r, err)
	}
	j = mustOpen(t, dir)
	// The densest page, of evidence_notes, holds rows of some 80 rounds, one of another table those of 25 or fewer.
	if h := healthy(t, j); h.Rounds != r.Kept || h.Rounds+r.Lost < rounds || r.InPart > 80+2*25 {
		t.Errorf("%d rounds are there after %+v", h.Rounds, r)
	}
	if n := mustProgress(t, j, "Tobrin"); n != r.Kept {
		t.Errorf("progress knows %d rounds of %d", n, r.Kept)
	}
}

// The database is gone, or is no database any more: the folders give every round back.
func TestLostDatabase(t *testing.T) {
	for _, how := range []string{"removed", "overwritten", "emptied"} {
		dir, _ := journalOf(t, 3)
		path := filepath.Join(dir, databaseName)
		switch how {
		case "removed":
			os.Remove(path)
		case "overwritten":
			os.WriteFile(path, bytes.Repeat([]byte("no database "), 1000), 0o600)
			_, err := Open(dir)
			sentence(t, err, ErrDamaged, "larkhand journal repair")
		case "emptied":
			os.Truncate(path, 0)
		}
		r, err := Repair(ctx, dir)
		if err != nil || r.FromFiles != 3 {
			t.Errorf("%s: repaired %+v, %v", how, r, err)
		}
		j := mustOpen(t, dir)
		if h := healthy(t, j); h.Rounds != 3 {
			t.Errorf("%s: %d rounds", how, h.Rounds)
		}
		j.Close()
	}
}

// A repair of a sound journal changes nothing but what is amiss; folders that hold no whole round are left and told.
func TestRepairTidies(t *testing.T) {
	dir, ids := journalOf(t, 2)
	j := mustOpen(t, dir)
	if _, err := j.db.Exec("DELETE FROM digests WHERE round = ?", ids[0]); err != nil {
		t.Fatal(err)
	}
	stray := filepath.Join(dir, roundsName, "2026-03", "20260302-000000-00000000")
	if err := os.MkdirAll(stray, 0o700); err != nil {
		t.Fatal(err)
	}
	_, err := Repair(ctx, dir)
	sentence(t, err, ErrInUse, "close it and repair again")
	j.Close()
	r, err := Repair(ctx, dir)
	if err != nil || r.Damaged || r.Digests != 1 || len(r.Remarks) != 1 || !strings.Contains(r.Remarks[0], stray) {
		t.Errorf("repaired %+v, %v", r, err)
	}
	if _, err := os.Stat(stray); err != nil {
		t.Error(err)
	}
	os.Remove(stray)
	j = mustOpen(t, dir)
	if n := mustProgress(t, j, "Tobrin"); n != 2 {
		t.Errorf("progress knows %d rounds", n)
	}
	healthy(t, j)
	_, err = Repair(ctx, t.TempDir())
	sentence(t, err, ErrNotFound, "no journal in")
}

// A folder's record may be damaged or made up: it is never believed against the folder's own name.
func TestFolderRecords(t *testing.T) {
	dir, _ := journalOf(t, 1)
	folders, _ := filepath.Glob(filepath.Join(dir, roundsName, "*", "*"))
	good, err := readFolder(folders[0])
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*record){
		"another round":  func(r *record) { r.UID = "20260302-000000-00000000" },
		"another folder": func(r *record) { r.Folder = "../../etc" },
		"no take":        func(r *record) { r.Takes = nil },
		"no name":        func(r *record) { r.UID = ".." },
	} {
		rec := good
		change(&rec)
		text, err := json.Marshal(rec)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folders[0], recordName), text, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := readFolder(folders[0]); err == nil {
			t.Errorf("%s: the record was believed", name)
		}
	}
}

func TestBackup(t *testing.T) {
	dir, ids := journalOf(t, 2)
	j := mustOpen(t, dir)
	to := filepath.Join(t.TempDir(), "copy")
	b, err := j.Backup(ctx, to)
	if err != nil || b.Rounds != 2 || b.Files != 8 {
		t.Fatalf("backed up %+v, %v", b, err)
	}
	mustSave(t, j, withFiles(t, plain(t, began.AddDate(0, 1, 0))))
	if b, err = j.Backup(ctx, to); err != nil || b.Rounds != 3 || b.Files != 4 {
		t.Errorf("a second backup: %+v, %v; want 3 rounds and 4 new files", b, err)
	}
	c := mustOpen(t, to)
	if h := healthy(t, c); h.Rounds != 3 || h.Files != 9 {
		t.Errorf("the copy has %d rounds with %d files", h.Rounds, h.Files)
	}
	if s := mustRound(t, c, ids[0]); s.Label != "searched" || !strings.HasPrefix(s.Answer.Path, to) {
		t.Errorf("the copy's round is %+v", s)
	}
	_, err = j.Backup(ctx, to) // the copy is open
	sentence(t, err, ErrInUse, "close it")
	_, err = j.Backup(ctx, filepath.Join(dir, "copy"))
	sentence(t, err, ErrForeign, "name a folder elsewhere")
	_, err = j.Backup(ctx, dir)
	sentence(t, err, ErrForeign, "name a folder elsewhere")
	foreign := t.TempDir()
	db, err := openDatabase(filepath.Join(foreign, databaseName), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE recipes (id INTEGER)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	_, err = j.Backup(ctx, foreign)
	sentence(t, err, ErrForeign, "name another folder")
	os.RemoveAll(filepath.Dir(mustRound(t, j, ids[1]).Answer.Path))
	if b, err := j.Backup(ctx, filepath.Join(t.TempDir(), "third")); err != nil || len(b.Remarks) != 1 || !strings.Contains(b.Remarks[0], "missing or empty") {
		t.Errorf("without a folder: %+v, %v", b, err)
	}
}

// Digests of any bytes are read or refused, never more.
func FuzzDigest(f *testing.F) {
	f.Add(appendDigest(nil, progress.Round{Label: "known", Key: "C minor", Notes: []progress.Note{{Degree: "b3", Step: -3, Verdict: "same"}}}, 60))
	f.Add(appendDigest(nil, progress.Round{Label: "unsure", Key: "F minor", Pieces: true, Heard: true, Seconds: 2.7, Links: []progress.LinkResult{
		{Name: steps.Ear, Joined: true, Compared: 300, Failed: true, Notes: []int{0, 299}}, {Name: steps.Fingers}},
		Notes: []progress.Note{{Degree: "1", Step: 4, Verdict: "left out", Pitch: 65, Outside: true}}}, -600))
	f.Add([]byte{digestVersion})
	f.Fuzz(func(t *testing.T, data []byte) {
		d := newDigestReader()
		r, err := d.read(data)
		if err != nil {
			return
		}
		_, zone := r.At.Zone()
		again, err := d.read(appendDigest(nil, r, zone/secondsPerMinute))
		if err != nil || len(again.Notes) != len(r.Notes) || again.Key != r.Key || again.Label != r.Label || again.Pieces != r.Pieces || again.Heard != r.Heard ||
			!reflect.DeepEqual(again.Links, r.Links) || !slices.Equal(again.Notes, r.Notes) {
			t.Errorf("%+v is packed and read as %+v (%v)", r, again, err)
		}
	})
}
