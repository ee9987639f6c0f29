package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// BackedUp tells what a backup wrote.
type BackedUp struct {
	Rounds  int
	Files   int      // that were copied now; those of an earlier backup are kept
	Remarks []string // sentences on files that could not be copied
}

// Backup copies the journal into a folder, as it stands at this moment, also while another program writes to it. A second backup into
// the same folder copies only the new files. The copy is a journal of its own: to go back to it, name its folder.
func (j *Journal) Backup(ctx context.Context, to string) (BackedUp, error) {
	b := BackedUp{}
	to, err := filepath.Abs(to)
	if err == nil {
		err = j.backup(ctx, to, &b)
	}
	return b, explain(to, "the journal could not be backed up", err)
}

func (j *Journal) backup(ctx context.Context, to string, b *BackedUp) error {
	if within, err := filepath.Rel(j.dir, to); err == nil && within != ".." && !strings.HasPrefix(within, ".."+string(filepath.Separator)) {
		return &fault{text: to + " lies in the journal itself; name a folder elsewhere, best on another disk", kind: ErrForeign}
	}
	if err := makeDirSynced(j.disk, to, roundsName); err != nil {
		return folderError(to, err)
	}
	held, ok, err := lockFile(filepath.Join(to, lockName), true)
	if err != nil {
		return err
	}
	if !ok {
		return &fault{text: "another program has the journal in " + to + " open; close it or name another folder", kind: ErrInUse}
	}
	defer held.release()
	if err := j.backupDatabase(ctx, to); err != nil {
		return err
	}
	return j.backupFiles(ctx, to, b)
}

// backupDatabase writes a copy of the database beside its place and moves it there.
func (j *Journal) backupDatabase(ctx context.Context, to string) error {
	path := filepath.Join(to, databaseName)
	if _, err := os.Stat(path); err == nil {
		if err := isJournal(ctx, to, path); err != nil {
			return err
		}
	}
	fresh := path + ".part"
	if err := j.disk.Remove(fresh); err != nil {
		return err
	}
	if _, err := j.db.ExecContext(ctx, "VACUUM INTO ?", fresh); err != nil {
		return errors.Join(err, j.disk.Remove(fresh))
	}
	if err := syncFile(fresh); err != nil {
		return err
	}
	for _, ending := range []string{"-wal", "-shm"} { // of the earlier backup, where a program had it open and was stopped
		if err := j.disk.Remove(path + ending); err != nil {
			return err
		}
	}
	if err := j.disk.Rename(fresh, path); err != nil {
		return err
	}
	return j.disk.Sync(to)
}

// isJournal refuses to write over what is no journal.
func isJournal(ctx context.Context, dir, path string) error {
	steps, err := migrations(migrationFiles)
	if err != nil {
		return err
	}
	db, err := openDatabase(path, "_pragma=query_only(ON)")
	if err != nil {
		return err
	}
	defer db.Close()
	_, err = version(ctx, db, dir, len(steps))
	return err
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, fileMode)
	if err != nil {
		return err
	}
	err = errors.Join(f.Chmod(fileMode), f.Sync())
	return errors.Join(err, f.Close())
}

// backupFiles copies the files of all rounds that are not there yet.
func (j *Journal) backupFiles(ctx context.Context, to string, b *BackedUp) error {
	var folders []string
	err := eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var folder sql.NullString
		err := rows.Scan(&folder)
		b.Rounds++
		if folder.Valid {
			folders = append(folders, filepath.FromSlash(folder.String))
		}
		return err
	}, "SELECT folder FROM rounds")
	if err != nil {
		return err
	}
	for _, folder := range folders {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := j.backupFolder(folder, to, b); err != nil {
			return err
		}
	}
	return nil
}

func (j *Journal) backupFolder(folder, to string, b *BackedUp) error {
	from, target := filepath.Join(j.dir, folder), filepath.Join(to, folder)
	names, err := readNames(from)
	if err != nil {
		return err
	}
	if len(names) == 0 {
		b.Remarks = append(b.Remarks, fmt.Sprintf("%s is missing or empty, so its files are not in the backup.", from))
		return nil
	}
	if err := j.disk.MakeDir(target); err != nil {
		return err
	}
	for _, name := range names {
		copied, err := j.backupFile(filepath.Join(from, name), filepath.Join(target, name))
		if err != nil {
			return err
		}
		if copied {
			b.Files++
		}
	}
	return j.disk.Sync(target)
}

// backupFile copies a file unless a file of its length is there.
func (j *Journal) backupFile(from, to string) (copied bool, err error) {
	now, err := os.Stat(from)
	if err != nil {
		return false, err
	}
	if then, err := os.Stat(to); err == nil && then.Size() == now.Size() {
		return false, nil
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return false, err
	}
	part := to + ".part"
	if err := j.disk.Remove(part); err != nil {
		return false, err
	}
	if err := copyFile(from, part); err != nil {
		return false, errors.Join(err, j.disk.Remove(part))
	}
	return true, j.disk.Rename(part, to)
}
