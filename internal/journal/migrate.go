package journal

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"path"
	"slices"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// applicationID marks the database file as a journal of larkhand, so that no other program's is taken for one: "Lark" in
// ASCII.
const applicationID = 0x4c61726b

// step leads from one version to the next: by SQL, and then by what SQL cannot do; all in one transaction.
type step struct {
	text string
	then func(context.Context, *sql.Tx) error // nil for nothing
}

// thens are what steps do after their SQL.
var thens = map[string]func(context.Context, *sql.Tx) error{"0002_steps.sql": remakeDigests}

// migrations are the steps from an empty file to the newest version: step i leads from version i to i+1.
func migrations(files fs.FS) ([]step, error) {
	names, err := fs.Glob(files, "migrations/*.sql")
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	var steps []step
	for i, name := range names {
		if want := fmt.Sprintf("%04d_", i+1); path.Base(name)[:len(want)] != want {
			panic(fmt.Sprintf("journal: migration %s, want one that begins with %s", name, want))
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		steps = append(steps, step{string(text), thens[path.Base(name)]})
	}
	return steps, nil
}

// version reads what version a database is of; 0 is an empty file. It refuses a newer one and another program's.
func version(ctx context.Context, db *sql.DB, dir string, newest int) (int, error) {
	var is, application, tables int
	err := db.QueryRowContext(ctx, "SELECT user_version, application_id, (SELECT count(*) FROM sqlite_schema) FROM pragma_user_version, pragma_application_id").
		Scan(&is, &application, &tables)
	switch {
	case err != nil:
		return 0, err
	case is == 0 && application == 0 && tables == 0:
		return 0, nil
	case application != applicationID:
		return 0, &fault{text: fmt.Sprintf("%s in %s is the database of another program; name another folder for the journal", databaseName, dir), kind: ErrForeign}
	case is > newest:
		return 0, &fault{text: fmt.Sprintf("the journal in %s was written by a newer larkhand (its version is %d, this program knows up to %d); use that one, or name another folder",
			dir, is, newest), kind: ErrNewer}
	}
	return is, nil
}

// migrate brings a database to the newest version, each step in a transaction of its own.
func migrate(ctx context.Context, db *sql.DB, dir string, steps []step, d disk) error {
	at, err := version(ctx, db, dir, len(steps))
	if err != nil {
		return err
	}
	for at < len(steps) {
		d.Step("migrate")
		if at, err = migrateOne(ctx, db, dir, steps); err != nil {
			return err
		}
	}
	return nil
}

// migrateOne takes the next step, unless another program has taken it meanwhile, and gives the version reached.
func migrateOne(ctx context.Context, db *sql.DB, dir string, steps []step) (int, error) {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return 0, err
	}
	defer tx.Rollback()
	var at int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&at); err != nil {
		return 0, err
	}
	if at >= len(steps) {
		return at, nil
	}
	text := steps[at].text + fmt.Sprintf("\n;PRAGMA user_version = %d; PRAGMA application_id = %d;", at+1, applicationID)
	_, err = tx.ExecContext(ctx, text)
	if then := steps[at].then; err == nil && then != nil {
		err = then(ctx, tx)
	}
	if err != nil {
		return 0, fmt.Errorf("the journal in %s could not be brought from version %d to %d: %w", dir, at, at+1, err)
	}
	return at + 1, tx.Commit()
}
