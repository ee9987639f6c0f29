package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"
)

// Delete takes rounds out of all lists and of progress. Until [Journal.Purge] they can be had back by [Journal.Undelete], also by a
// later program.
func (j *Journal) Delete(ctx context.Context, ids ...ID) error {
	at := time.Now().UnixMilli()
	return j.explain("the round was not deleted", j.setDeleted(ctx, ids, &at))
}

// Undelete brings deleted rounds back.
func (j *Journal) Undelete(ctx context.Context, ids ...ID) error {
	return j.explain("the round was not brought back", j.setDeleted(ctx, ids, nil))
}

// setDeleted sets or clears the mark of deletion: of all rounds or of none.
func (j *Journal) setDeleted(ctx context.Context, ids []ID, deletedMs *int64) error {
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

// Purge removes those of the rounds that are deleted, with their files, for good. It gives how many. Another program's deleted rounds
// are left to its player, who may want them back.
func (j *Journal) Purge(ctx context.Context, ids ...ID) (n int, err error) {
	if err := j.writable(); err != nil {
		return 0, err
	}
	for some := range slices.Chunk(ids, purgedAtOnce) {
		purged, err := j.purge(ctx, some)
		if n += purged; err != nil {
			return n, j.explain("deleted rounds could not be removed", err)
		}
	}
	return n, nil
}

// PurgeAll removes all deleted rounds for good.
func (j *Journal) PurgeAll(ctx context.Context) (n int, err error) {
	var ids []ID
	err = eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var id ID
		err := rows.Scan(&id)
		ids = append(ids, id)
		return err
	}, "SELECT id FROM rounds INDEXED BY rounds_page WHERE deleted_at IS NOT NULL")
	if err != nil {
		return 0, j.explain("deleted rounds could not be removed", err)
	}
	return j.Purge(ctx, ids...)
}

// purgedAtOnce is how many rounds go in one transaction: each holds a file open meanwhile.
const purgedAtOnce = 100

func (j *Journal) purge(ctx context.Context, ids []ID) (n int, err error) {
	var parts []part
	for _, id := range ids {
		var uid string
		err := j.db.QueryRowContext(ctx, "SELECT uid FROM rounds WHERE id = ? AND deleted_at IS NOT NULL", id).Scan(&uid)
		if errors.Is(err, sql.ErrNoRows) {
			continue
		}
		p := part{}
		if err == nil {
			p, err = j.begin(uid)
		}
		if err != nil {
			return 0, errors.Join(err, j.settleAll(ctx, parts))
		}
		parts = append(parts, p)
	}
	err = j.change(ctx, func(w *writer) error {
		for _, p := range parts {
			n += w.count("DELETE FROM rounds WHERE uid = ? AND deleted_at IS NOT NULL", p.uid)
		}
		w.exec("DELETE FROM players WHERE NOT EXISTS (SELECT 1 FROM rounds WHERE players.id IN (sang, played))")
		return w.failed
	})
	if err != nil {
		n = 0
	}
	// Files follow what the database says: where a round is still there, because of an error or because another program brought
	// it back, they stay.
	return n, errors.Join(err, j.settleAll(context.WithoutCancel(ctx), parts))
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
