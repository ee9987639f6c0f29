package journal

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"path/filepath"
	"time"
)

// Save keeps a round, whole or not at all, and gives its name in this journal. When it returns the round is on the disk. A round
// whose recording was saved before is not saved again: its name is given. Where a name comes with an error, the round is saved, and
// only its recording could not be removed; Unfinished removes it later.
func (j *Journal) Save(ctx context.Context, e Entry) (ID, error) {
	const what = "the round was not saved"
	if err := j.writable(); err != nil {
		return 0, err
	}
	rec, err := recordOf(e)
	if err != nil {
		return 0, err
	}
	files, err := filesOf(e)
	if err != nil {
		return 0, err
	}
	if e.Recording != "" {
		id, saved, err := savedIn(ctx, j.db, e.Recording)
		if err != nil {
			return 0, j.explain(what, err)
		}
		if saved {
			return id, j.explain("the round is saved, but its recording could not be removed", j.dropRecording(e.Recording))
		}
	}
	rec.UID = newUID(e.At)
	id, err := j.save(ctx, &rec, files)
	if err != nil {
		return 0, j.explain(what, err)
	}
	if e.Recording == "" {
		return id, nil
	}
	return id, j.explain("the round is saved, but its recording could not be removed", j.dropRecording(e.Recording))
}

// newUID names a round: when it began, so that people find it, and 32 random bits.
func newUID(at time.Time) string {
	var random [4]byte
	rand.Read(random[:]) // never fails
	return at.Format("20060102-150405-") + hex.EncodeToString(random[:])
}

// save writes the files and the rows of a record that has its identity.
func (j *Journal) save(ctx context.Context, rec *record, files []namedFile) (id ID, err error) {
	if len(files) > 0 {
		if rec.Folder, err = folderOf(rec.UID); err != nil {
			return 0, err
		}
		rec.Files = nil
		for _, f := range files {
			rec.Files = append(rec.Files, fileOf(f))
		}
		text, err := json.Marshal(rec)
		if err != nil {
			return 0, err
		}
		files = append(files, namedFile{recordName, text})
	}
	part, err := j.begin(rec.UID)
	if err != nil {
		return 0, err
	}
	defer part.lock.release()
	if err := j.place(rec, files); err != nil {
		return 0, errors.Join(err, j.undo(part))
	}
	id, err = j.commit(ctx, rec)
	if err != nil {
		return 0, errors.Join(err, j.settle(context.WithoutCancel(ctx), part))
	}
	j.end(part) // what cannot be removed now is removed by the next Open
	return id, nil
}

func fileOf(f namedFile) file {
	sum := sha256.Sum256(f.data)
	return file{Name: f.name, Bytes: int64(len(f.data)), SHA256: hex.EncodeToString(sum[:])}
}

// place writes the files under parts and moves them to their place.
func (j *Journal) place(rec *record, files []namedFile) error {
	if len(files) == 0 {
		return nil
	}
	part := filepath.Join(j.dir, partsName, rec.UID)
	if err := j.disk.MakeDir(part); err != nil {
		return err
	}
	for _, f := range files {
		if err := j.disk.Write(filepath.Join(part, f.name), f.data); err != nil {
			return err
		}
	}
	if err := j.disk.Sync(part); err != nil {
		return err
	}
	folder := filepath.Join(j.dir, filepath.FromSlash(rec.Folder))
	if err := makeDirSynced(j.disk, j.dir, roundsName, filepath.Base(filepath.Dir(folder))); err != nil {
		return err
	}
	if err := j.disk.Rename(part, folder); err != nil {
		return err
	}
	return j.disk.Sync(filepath.Dir(folder))
}

// commit writes the rows in one transaction.
func (j *Journal) commit(ctx context.Context, rec *record) (id ID, err error) {
	err = j.change(ctx, func(w *writer) error {
		id = w.insert(rec)
		return w.failed
	})
	return id, err
}

// change runs a transaction: all of it or nothing.
func (j *Journal) change(ctx context.Context, do func(*writer) error) error {
	if err := j.writable(); err != nil {
		return err
	}
	j.disk.Step("begin")
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // after Commit it does nothing
	if err := do(newWriter(ctx, tx)); err != nil {
		return err
	}
	j.disk.Step("commit")
	if err := tx.Commit(); err != nil {
		return err
	}
	j.disk.Step("committed")
	return nil
}

// Load saves many rounds in one transaction, without their files: those of another journal, or made ones. It gives how many
// were saved, all or none.
func (j *Journal) Load(ctx context.Context, entries iter.Seq[Entry]) (n int, err error) {
	err = j.change(ctx, func(w *writer) error {
		for e := range entries {
			rec, err := recordOf(e)
			if err != nil {
				return err
			}
			rec.UID = newUID(e.At)
			if w.insert(&rec); w.failed != nil {
				return w.failed
			}
			n++
		}
		return nil
	})
	if err != nil {
		return 0, j.explain("the rounds were not saved", err)
	}
	return n, nil
}

// SavedFrom tells whether a round was made from a recording, and which; recording is named as in Entry.Recording.
func (j *Journal) SavedFrom(ctx context.Context, recording string) (id ID, saved bool, err error) {
	id, saved, err = savedIn(ctx, j.db, recording)
	return id, saved, j.explain("the round could not be looked for", err)
}

func savedIn(ctx context.Context, q querier, recording string) (id ID, saved bool, err error) {
	err = q.QueryRowContext(ctx, "SELECT id FROM rounds WHERE recording = ?", recording).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, false, nil
	}
	return id, err == nil, err
}

// notFound is the error for a round that is not there.
func notFound(id ID) error {
	return &fault{text: fmt.Sprintf("there is no round %d in the journal; \"larkhand history\" lists them", id), kind: ErrNotFound}
}
