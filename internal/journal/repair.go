package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// Repaired tells what a repair did.
type Repaired struct {
	Damaged   bool     // the database was damaged and has been made anew
	Kept      int      // rounds that were read from the damaged database
	FromFiles int      // rounds that were taken up from their folders
	InPart    int      // of those, how many lack some of their notes or results; judging them again from their files mends that
	Lost      int      // rounds of which the damaged database still knew the number, but which neither it nor a folder gave back
	Digests   int      // rounds of which progress did not know
	Old       string   // where the damaged database lies now; "" where it was not damaged
	Remarks   []string // sentences on what was not kept whole
}

// Repair mends the journal in dir, which no program may have open. A damaged database is made anew from all that can be read of it
// and from the round.json of each round's folder; the damaged one is kept beside it. Folders of rounds that the database does not
// know are taken up again where they are whole. Nothing is thrown away.
func Repair(ctx context.Context, dir string) (Repaired, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return Repaired{}, err
	}
	const what = "the journal could not be repaired"
	path := filepath.Join(dir, databaseName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		if names, _ := readNames(filepath.Join(dir, roundsName)); len(names) == 0 {
			return Repaired{}, &fault{text: "there is no journal in " + dir + "; \"larkhand journal where\" tells where it is looked for", kind: ErrNotFound}
		}
	}
	held, ok, err := lockFile(filepath.Join(dir, lockName), true)
	if err != nil {
		return Repaired{}, explain(dir, what, err)
	}
	if !ok {
		return Repaired{}, &fault{text: "another program has the journal in " + dir + " open; close it and repair again", kind: ErrInUse}
	}
	r := Repaired{}
	err = r.remake(ctx, dir, path)
	held.release() // Open takes its own
	if err == nil {
		err = r.tidy(ctx, dir)
	}
	return r, explain(dir, what, err)
}

// remake makes the database anew where it is damaged.
func (r *Repaired) remake(ctx context.Context, dir, path string) error {
	steps, err := migrations(migrationFiles)
	if err != nil {
		return err
	}
	damaged, err := isDamaged(ctx, dir, path, len(steps))
	if err != nil || !damaged {
		return err
	}
	r.Damaged = true
	r.Old = path + ".damaged-" + time.Now().Format("20060102-150405")
	for _, ending := range []string{"", "-wal"} {
		if err := copyFile(path+ending, r.Old+ending); err != nil && !(ending != "" && errors.Is(err, fs.ErrNotExist)) {
			return err
		}
	}
	fresh := path + ".repaired"
	for _, ending := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(fresh + ending); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if err := r.salvage(ctx, dir, r.Old, fresh, steps); err != nil {
		return err
	}
	// A log of the damaged database must not be taken for one of the new database: it goes first. Its copy is kept.
	for _, ending := range []string{"-wal", "-shm"} {
		if err := os.Remove(path + ending); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if err := os.Rename(fresh, path); err != nil {
		return err
	}
	return realDisk{}.Sync(dir)
}

// isDamaged looks at the database. That it is another program's or a newer one is an error.
func isDamaged(ctx context.Context, dir, path string, newest int) (bool, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return false, nil // Open makes a new one
	}
	db, err := openDatabase(path, "_pragma=query_only(ON)")
	if err != nil {
		return false, err
	}
	defer db.Close()
	switch _, err := version(ctx, db, dir, newest); {
	case isDamage(err):
		return true, nil
	case err != nil:
		return false, err
	}
	damage, err := damageOf(ctx, db)
	return len(damage) > 0, err
}

// copyFile copies a file; the copy is on the disk when it returns.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err == nil {
		err = out.Sync()
	}
	if closed := out.Close(); err == nil {
		err = closed
	}
	return err
}

// salvage reads what can be read of the old database into a new one.
func (r *Repaired) salvage(ctx context.Context, dir, old, fresh string, steps []step) error {
	from, err := openDatabase(old, "_pragma=query_only(ON)")
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := openDatabase(fresh, "_pragma=synchronous(FULL)&_pragma=foreign_keys(ON)&_txlock=immediate")
	if err != nil {
		return err
	}
	defer to.Close()
	if err := migrate(ctx, to, dir, steps, realDisk{}); err != nil {
		return err
	}
	at, err := version(ctx, from, dir, len(steps))
	if err != nil {
		at = newest // its first page is damaged: what it was is not known
	}
	j := &Journal{dir: dir, db: to, disk: realDisk{}}
	err = j.change(ctx, func(w *writer) error {
		for _, id := range candidates(ctx, from) {
			if err := ctx.Err(); err != nil {
				return err
			}
			rec, ok := r.readBest(ctx, from, at, dir, id)
			if !ok {
				r.Lost++
				continue
			}
			if w.insert(&rec); w.failed != nil {
				return w.failed
			}
			r.Kept++
		}
		return nil
	})
	if err != nil {
		return err
	}
	return to.Close()
}

// candidates are all numbers of rounds that any table or index still tells. Each is read from both ends as far as it goes: a damaged page
// in the middle hides nothing on either side.
func candidates(ctx context.Context, q querier) []ID {
	seen := map[ID]bool{}
	for _, query := range []string{
		"SELECT id FROM rounds NOT INDEXED ORDER BY id", "SELECT id FROM rounds NOT INDEXED ORDER BY id DESC",
		"SELECT id FROM rounds INDEXED BY rounds_page ORDER BY at", "SELECT id FROM rounds INDEXED BY rounds_page ORDER BY at DESC",
		"SELECT round FROM takes ORDER BY round", "SELECT round FROM takes ORDER BY round DESC",
		"SELECT round FROM digests INDEXED BY digests_round ORDER BY round", "SELECT round FROM digests INDEXED BY digests_round ORDER BY round DESC",
		"SELECT round FROM judgements INDEXED BY judgements_round ORDER BY round", "SELECT round FROM judgements INDEXED BY judgements_round ORDER BY round DESC",
	} {
		// An error ends one list; what it gave before counts.
		_ = eachRow(ctx, q, func(rows *sql.Rows) error {
			var id ID
			err := rows.Scan(&id)
			if err == nil {
				seen[id] = true
			}
			return err
		}, query)
	}
	ids := make([]ID, 0, len(seen))
	for id := range seen {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// readBest reads a round from the damaged database; where that does not give all of it, from the round's folder; where there is none,
// what the database gave. ok is false where it gave not even the round's own row.
func (r *Repaired) readBest(ctx context.Context, q querier, version int, dir string, id ID) (rec record, ok bool) {
	rec, err := readRecordOf(ctx, q, version, id)
	if err == nil && len(rec.Judgements) > 0 {
		return rec, true
	}
	if rec.UID == "" {
		return record{}, false // a folder may still give it, see tidy
	}
	if rec.Folder != "" {
		if whole, err := readFolder(filepath.Join(dir, filepath.FromSlash(rec.Folder))); err == nil && whole.UID == rec.UID {
			whole.DeletedMs, whole.Misheard = rec.DeletedMs, rec.Misheard
			return whole, true
		}
	}
	if len(rec.Takes) == 0 {
		rec.Takes = []take{{}} // its notes are lost, its key, its label and its results need not be
	}
	r.InPart++
	return rec, true
}

// readFolder reads the record in a round's folder.
func readFolder(folder string) (record, error) {
	text, err := os.ReadFile(filepath.Join(folder, recordName))
	if err != nil {
		return record{}, err
	}
	var rec record
	if err := json.Unmarshal(text, &rec); err != nil {
		return record{}, fmt.Errorf("%s in %s is damaged: %w", recordName, folder, err)
	}
	own, err := folderOf(rec.UID)
	if err != nil || own != rec.Folder || filepath.Base(folder) != rec.UID || len(rec.Takes) == 0 {
		return record{}, fmt.Errorf("%s in %s is of another round", recordName, folder)
	}
	return rec, nil
}

// tidy brings database and folders together.
func (r *Repaired) tidy(ctx context.Context, dir string) error {
	j, err := Open(dir)
	if err != nil {
		return err
	}
	defer j.Close()
	if err := r.takeUp(ctx, j); err != nil {
		return err
	}
	ids, err := j.staleDigests(ctx)
	if err != nil || len(ids) == 0 {
		return err
	}
	r.Digests = len(ids)
	return j.change(ctx, func(w *writer) error {
		for _, id := range ids {
			rec, err := readRecord(ctx, w.tx, id)
			if err != nil {
				return err
			}
			w.exec("DELETE FROM digests WHERE round = ?", id)
			w.digests(int64(id), &rec)
		}
		return w.failed
	})
}

// takeUp inserts the rounds of folders that the database does not know.
func (r *Repaired) takeUp(ctx context.Context, j *Journal) error {
	folders, err := j.checkFiles(ctx, &Health{})
	if err != nil {
		return err
	}
	strays, err := j.strays(folders)
	if err != nil || len(strays) == 0 {
		return err
	}
	return j.change(ctx, func(w *writer) error {
		for _, folder := range strays {
			rec, err := readFolder(folder)
			if err != nil || filepath.Base(filepath.Dir(folder)) == partsName {
				r.Remarks = append(r.Remarks, folder+" holds no whole round and was left as it is; look whether a take in it is wanted, and remove it otherwise.")
				continue
			}
			if rec.Recording != "" {
				if _, saved, err := savedIn(ctx, w.tx, rec.Recording); err != nil {
					return err
				} else if saved {
					rec.Recording = ""
				}
			}
			if w.insert(&rec); w.failed != nil {
				return w.failed
			}
			r.FromFiles++
		}
		return nil
	})
}
