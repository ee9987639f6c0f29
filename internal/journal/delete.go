package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// Delete takes rounds out of all lists and of progress. Until [Journal.Purge] they can be had back by [Journal.Undelete], also by a
// later program.
func (j *Journal) Delete(ctx context.Context, ids ...ID) error {
	at := time.Now().UnixMilli()
	return j.explain("the round was not deleted", j.mark(ctx, ids, &at))
}

// Undelete brings deleted rounds back.
func (j *Journal) Undelete(ctx context.Context, ids ...ID) error {
	return j.explain("the round was not brought back", j.mark(ctx, ids, nil))
}

// mark sets or clears the mark of deletion: of all rounds or of none.
func (j *Journal) mark(ctx context.Context, ids []ID, deletedMs *int64) error {
	return j.change(ctx, func(w *writer) error {
		for _, id := range ids {
			rec, err := readRecord(ctx, w.tx, id)
			if errors.Is(err, sql.ErrNoRows) {
				return notFound(id)
			} else if err != nil {
				return err
			}
			rec.DeletedMs = deletedMs
			w.exec("UPDATE rounds SET deleted_at = ? WHERE id = ?", deletedMs, id)
			w.exec("DELETE FROM digests WHERE round = ?", id)
			w.digests(int64(id), &rec)
		}
		return w.failed
	})
}

// Purge removes the deleted rounds that a filter chooses, with their files, for good, and gives how many.
func (j *Journal) Purge(ctx context.Context, f Filter) (n int, err error) {
	if err := j.writable(); err != nil {
		return 0, err
	}
	f.Deleted = true
	condition, args, err := f.where()
	if err != nil {
		return 0, err
	}
	const what = "deleted rounds could not be removed"
	var ids []int64
	var parts []part
	err = eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var id int64
		var uid string
		err := rows.Scan(&id, &uid)
		ids, parts = append(ids, id), append(parts, part{uid: uid})
		return err
	}, "SELECT id, uid FROM rounds WHERE "+condition, args...)
	if err != nil {
		return 0, j.explain(what, err)
	}
	for i := range parts {
		if parts[i], err = j.begin(parts[i].uid); err != nil {
			return 0, j.explain(what, errors.Join(err, j.settleAll(ctx, parts[:i])))
		}
	}
	err = j.change(ctx, func(w *writer) error {
		for _, id := range ids {
			w.exec("DELETE FROM rounds WHERE id = ? AND deleted_at IS NOT NULL", id)
		}
		w.exec("DELETE FROM players WHERE NOT EXISTS (SELECT 1 FROM rounds WHERE players.id IN (sang, played))")
		return w.failed
	})
	// Files follow what the database says: where a round is still there, because of an error or because another program brought
	// it back, they stay.
	err = errors.Join(err, j.settleAll(context.WithoutCancel(ctx), parts))
	if err != nil {
		return 0, j.explain(what, err)
	}
	return len(ids), nil
}

func (j *Journal) settleAll(ctx context.Context, parts []part) error {
	var failed error
	for _, p := range parts {
		failed = errors.Join(failed, j.settle(ctx, p))
	}
	return failed
}

// Deleted gives how many rounds are deleted and can still be had back.
func (j *Journal) Deleted(ctx context.Context) (int, error) {
	n, err := j.Count(ctx, Filter{Deleted: true})
	if err != nil {
		return 0, fmt.Errorf("deleted rounds: %w", err)
	}
	return n, nil
}
