package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	_ "modernc.org/sqlite" // the driver "sqlite"
)

// busySeconds is how long one program waits for another one's transaction. A save holds it for milliseconds; an import of a
// season for a few seconds.
const busySeconds = 5

// Journal is an open journal. It may be used from several goroutines.
type Journal struct {
	dir  string
	db   *sql.DB
	held lock
	disk disk
	read bool // may not be written
}

// Open opens the journal in dir, and makes one where there is none. What an interrupted program left half done is cleared.
func Open(dir string) (*Journal, error) { return open(dir, realDisk{}) }

func open(dir string, d disk) (*Journal, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	const what = "the journal could not be opened"
	for _, below := range []string{roundsName, partsName, recordingName} {
		if err := makeDirSynced(d, dir, below); err != nil {
			return nil, explain(dir, what, folderError(dir, err))
		}
	}
	held, ok, err := lockFile(filepath.Join(dir, lockName), false)
	if err != nil {
		return nil, explain(dir, what, err)
	}
	if !ok {
		return nil, &fault{text: "the journal in " + dir + " is being repaired by another program; wait until that is done", kind: ErrInUse}
	}
	j := &Journal{dir: dir, held: held, disk: d}
	if err := j.start(); err != nil {
		j.Close()
		return nil, explain(dir, what, err)
	}
	return j, nil
}

// folderError says that a name on the way is a file.
func folderError(dir string, err error) error {
	if info, stat := os.Stat(dir); stat == nil && !info.IsDir() {
		return fmt.Errorf("%s is a file; name a folder", dir)
	}
	return err
}

// start opens the database, brings it to the newest version, and clears what was left half done.
func (j *Journal) start() error {
	steps, err := migrations(migrationFiles)
	if err != nil {
		return err
	}
	path := filepath.Join(j.dir, databaseName)
	if err := makePrivate(path); err != nil {
		return err
	}
	if j.db, err = openDatabase(path, "_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(ON)&_txlock=immediate"); err != nil {
		return err
	}
	ctx := context.Background()
	if err := migrate(ctx, j.db, j.dir, steps, j.disk); err != nil {
		return err
	}
	return j.recover(ctx)
}

// makePrivate makes an empty database file that only its owner may read; SQLite would let all read it.
func makePrivate(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, fileMode)
	if err != nil {
		return err
	}
	return f.Close()
}

// openDatabase opens a database file. One connection is enough for one player, and keeps readers and writers of one
// program from waiting for one another's locks.
func openDatabase(path, options string) (*sql.DB, error) {
	name := (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath()
	name = strings.ReplaceAll(name, "?", "%3F")
	db, err := sql.Open("sqlite", fmt.Sprintf("file:%s?_pragma=busy_timeout(%d)&%s", name, busySeconds*1000, options))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// OpenToRead opens the journal in dir and never writes to it, so that it also works in a folder that may not be written,
// such as a copy on a disk that is locked. Where there is none the error is ErrNotFound.
func OpenToRead(dir string) (*Journal, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	path := filepath.Join(dir, databaseName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, &fault{text: "there is no journal in " + dir + " yet; a round that is saved makes one", kind: ErrNotFound}
	} else if err != nil {
		return nil, explain(dir, "the journal could not be opened", err)
	}
	options := "_pragma=query_only(ON)"
	held, ok, err := lockFile(filepath.Join(dir, lockName), false)
	switch {
	case err != nil: // nothing here may be written, so nobody writes either
		if wal, err := os.Stat(path + "-wal"); err == nil && wal.Size() > 0 {
			return nil, &fault{text: "the journal in " + dir + " was not closed properly and its folder may not be written; copy the folder to a place that may, and name that", kind: ErrReadOnly}
		}
		options = "mode=ro&immutable=1"
	case !ok:
		return nil, &fault{text: "the journal in " + dir + " is being repaired by another program; wait until that is done", kind: ErrInUse}
	}
	j := &Journal{dir: dir, held: held, disk: realDisk{}, read: true}
	if err := j.startReading(path, options); err != nil {
		j.Close()
		return nil, explain(dir, "the journal could not be opened", err)
	}
	return j, nil
}

func (j *Journal) startReading(path, options string) (err error) {
	steps, err := migrations(migrationFiles)
	if err != nil {
		return err
	}
	if j.db, err = openDatabase(path, options); err != nil {
		return err
	}
	at, err := version(context.Background(), j.db, j.dir, len(steps))
	if err == nil && at < len(steps) {
		err = &fault{text: fmt.Sprintf("the journal in %s is of an earlier version (%d, this program reads %d); open it once with a program that may write it, such as \"larkhand journal check\"",
			j.dir, at, len(steps)), kind: ErrReadOnly}
	}
	return err
}

// Close closes the journal. It must not be used afterwards.
func (j *Journal) Close() error {
	var err error
	if j.db != nil {
		err = j.db.Close()
	}
	j.held.release()
	return j.explain("the journal could not be closed", err)
}

// writable refuses to write to a journal that was opened to be read.
func (j *Journal) writable() error {
	if j.read {
		return &fault{text: "the journal in " + j.dir + " was opened to be read only", kind: ErrReadOnly}
	}
	return nil
}
