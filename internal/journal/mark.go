package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Mark marks a round as misheard, which says that the program heard other notes than were sung, or takes the mark away. A marked round
// stays in the lists and counts nowhere. The mark is in the round's folder too, so that it outlasts a lost database.
func (j *Journal) Mark(ctx context.Context, id ID, misheard bool) error {
	return j.explain("the mark of the round was not changed", j.mark(ctx, id, misheard))
}

func (j *Journal) mark(ctx context.Context, id ID, misheard bool) error {
	if err := j.writable(); err != nil {
		return err
	}
	var uid string
	err := j.db.QueryRowContext(ctx, "SELECT uid FROM rounds WHERE id = ?", id).Scan(&uid)
	if errors.Is(err, sql.ErrNoRows) {
		return notFound(id)
	} else if err != nil {
		return err
	}
	part, err := j.begin(uid)
	if err != nil {
		return err
	}
	defer part.lock.release()
	err = j.change(ctx, func(w *writer) error {
		rec, err := readRecord(ctx, w.tx, id)
		if errors.Is(err, sql.ErrNoRows) {
			return notFound(id)
		} else if err != nil {
			return err
		}
		rec.Misheard = misheard
		w.exec("UPDATE rounds SET misheard = ? WHERE id = ?", misheard, id)
		w.exec("DELETE FROM digests WHERE round = ?", id)
		w.digests(int64(id), &rec)
		if w.failed != nil {
			return w.failed
		}
		return j.writeAgain(&rec)
	})
	if err != nil {
		return errors.Join(err, j.settle(context.WithoutCancel(ctx), part))
	}
	j.end(part) // what cannot be removed now is removed by the next Open
	return nil
}

// writeAgain writes round.json anew, whole or not at all. Where the round has no folder there is nothing to be done: [Journal.Check] says so
// where it should have one.
func (j *Journal) writeAgain(rec *record) error {
	if rec.Folder == "" {
		return nil
	}
	folder := filepath.Join(j.dir, filepath.FromSlash(rec.Folder))
	if _, err := os.Stat(folder); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	text, err := json.Marshal(rec)
	if err != nil {
		return err
	}
	part := filepath.Join(j.dir, partsName, rec.UID)
	if err := j.disk.Remove(part); err != nil {
		return err
	}
	if err := j.disk.Write(part, text); err != nil {
		return err
	}
	if err := j.disk.Rename(part, filepath.Join(folder, recordName)); err != nil {
		return err
	}
	return j.disk.Sync(folder)
}

// agree makes the mark in a round's folder that of the database.
func (j *Journal) agree(ctx context.Context, uid string) error {
	var id ID
	if err := j.db.QueryRowContext(ctx, "SELECT id FROM rounds WHERE uid = ?", uid).Scan(&id); err != nil {
		return err
	}
	rec, err := readRecord(ctx, j.db, id)
	if err != nil {
		return err
	}
	if there, err := readFolder(filepath.Join(j.dir, filepath.FromSlash(rec.Folder))); err == nil && there.Misheard == rec.Misheard {
		return j.disk.Remove(filepath.Join(j.dir, partsName, uid))
	}
	return j.writeAgain(&rec)
}
