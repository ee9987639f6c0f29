package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

// Problem is something wrong in a journal.
type Problem struct {
	Round ID     // 0 where it is not about one round
	Text  string // a sentence that says what is wrong and what to do
}

// Health is what a check found.
type Health struct {
	Rounds   int // deleted ones too
	Files    int
	Problems []Problem // none where all is well
}

// Check reads the whole journal: the database's own structure, that every file is there and as it was saved, that every folder
// belongs to a round. Nothing is changed.
func (j *Journal) Check(ctx context.Context) (Health, error) {
	h := Health{}
	err := j.check(ctx, &h)
	return h, j.explain("the journal could not be checked", err)
}

func (j *Journal) check(ctx context.Context, h *Health) error {
	damage, err := damageOf(ctx, j.db)
	if err != nil {
		return err
	}
	for _, text := range damage {
		h.add(0, "the database is damaged (%s): run \"larkhand journal repair\", which keeps all that can be read", text)
	}
	if len(damage) > 0 {
		return nil
	}
	if err := j.checkDigests(ctx, h); err != nil {
		return err
	}
	folders, err := j.checkFiles(ctx, h)
	if err != nil {
		return err
	}
	strays, err := j.strays(folders)
	for _, s := range strays {
		h.add(0, "%s belongs to no round in the database: run \"larkhand journal repair\", which takes it up again if it is whole", s)
	}
	return err
}

func (h *Health) add(id ID, format string, args ...any) {
	h.Problems = append(h.Problems, Problem{id, fmt.Sprintf(format, args...)})
}

// damageOf is what SQLite itself finds wrong, nothing where all is well.
func damageOf(ctx context.Context, q querier) ([]string, error) {
	var found []string
	err := eachRow(ctx, q, func(rows *sql.Rows) error {
		var text string
		err := rows.Scan(&text)
		if err == nil && text != "ok" {
			found = append(found, text)
		}
		return err
	}, "PRAGMA integrity_check(10)")
	if isDamage(err) {
		return append(found, err.Error()), nil
	}
	if err != nil {
		return nil, err
	}
	err = eachRow(ctx, q, func(rows *sql.Rows) error {
		var table, parent string
		var row, key sql.NullInt64
		err := rows.Scan(&table, &row, &parent, &key)
		found = append(found, "a row of "+table+" has none of "+parent)
		return err
	}, "PRAGMA foreign_key_check")
	return found, err
}

// isDamage reports whether an error says that the database file is damaged.
func isDamage(err error) bool {
	_, kind := reason("", err)
	return err != nil && errors.Is(kind, ErrDamaged)
}

// withoutDigest chooses rounds of which progress would not know.
const withoutDigest = `SELECT id FROM rounds WHERE deleted_at IS NULL AND NOT misheard AND
	(SELECT count(*) FROM digests WHERE digests.round = rounds.id) <> 1 + (sang <> played)`

// checkDigests looks whether progress knows all rounds, and whether it can read what it knows.
func (j *Journal) checkDigests(ctx context.Context, h *Health) error {
	ids, err := j.staleDigests(ctx)
	if len(ids) > 0 {
		h.add(ids[0], "progress lacks %d rounds, the first of them %d: run \"larkhand journal repair\", which makes its tables anew", len(ids), ids[0])
	}
	return err
}

// staleDigests lists the rounds whose digests are missing, unreadable or too many.
func (j *Journal) staleDigests(ctx context.Context) ([]ID, error) {
	var ids []ID
	add := func(rows *sql.Rows) error {
		var id ID
		err := rows.Scan(&id)
		ids = append(ids, id)
		return err
	}
	if err := eachRow(ctx, j.db, add, withoutDigest); err != nil {
		return nil, err
	}
	if err := eachRow(ctx, j.db, add, "SELECT DISTINCT round FROM digests JOIN rounds ON rounds.id = round WHERE deleted_at IS NOT NULL OR misheard"); err != nil {
		return nil, err
	}
	d := newDigestReader()
	err := eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var id ID
		var data sql.RawBytes
		if err := rows.Scan(&id, &data); err != nil {
			return err
		}
		if _, err := d.read(data); err != nil {
			ids = append(ids, id)
		}
		d.notes = d.notes[:0]
		return nil
	}, "SELECT round, digest FROM digests")
	return ids, err
}

// checkFiles looks at every file of every round, and gives the folders that belong to rounds.
func (j *Journal) checkFiles(ctx context.Context, h *Health) (folders map[string]bool, err error) {
	folders = map[string]bool{}
	err = eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var id ID
		var folder sql.NullString
		var name, sum sql.NullString
		var bytes sql.NullInt64
		if err := rows.Scan(&id, &folder, &name, &bytes, &sum); err != nil {
			return err
		}
		if !folders[folder.String] || !folder.Valid {
			h.Rounds++
			if folder.Valid {
				folders[folder.String] = true
			}
		}
		if !name.Valid {
			return nil
		}
		h.Files++
		if f := j.look(folder.String, file{name.String, bytes.Int64, sum.String}); f.State != Good {
			h.add(id, "round %d: %s", id, f.Remark)
		}
		return ctx.Err()
	}, "SELECT rounds.id, folder, name, bytes, sha256 FROM rounds LEFT JOIN files ON files.round = rounds.id ORDER BY rounds.id")
	return folders, err
}

// strays are the folders of rounds that the database does not know, and what lies in parts without being under way.
func (j *Journal) strays(known map[string]bool) ([]string, error) {
	var out []string
	months, err := readNames(filepath.Join(j.dir, roundsName))
	if err != nil {
		return nil, err
	}
	for _, month := range months {
		rounds, err := readNames(filepath.Join(j.dir, roundsName, month))
		if err != nil {
			return nil, err
		}
		for _, r := range rounds {
			if !known[path.Join(roundsName, month, r)] && !j.underWay(r) {
				out = append(out, filepath.Join(j.dir, roundsName, month, r))
			}
		}
	}
	parts, err := readNames(filepath.Join(j.dir, partsName))
	for _, p := range parts {
		if !strings.HasSuffix(p, noteEnding) && !j.underWay(p) {
			out = append(out, filepath.Join(j.dir, partsName, p))
		}
	}
	return out, err
}

// underWay reports whether a note says that a program is at work with a round.
func (j *Journal) underWay(uid string) bool {
	_, err := os.Stat(j.notePath(uid))
	return err == nil
}

// readNames are the names in a folder; none where it is not there, or is a file.
func readNames(dir string) ([]string, error) {
	info, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) || err == nil && !info.IsDir() {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(dir)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names, err
}
