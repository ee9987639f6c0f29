package journal

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// part is a round on its way to its place or out of it. While it lasts a note, parts/UID.note, lies on the disk, locked by the
// program that is at work.
type part struct {
	uid  string
	lock lock
}

const noteEnding = ".note"

func (j *Journal) notePath(uid string) string {
	return filepath.Join(j.dir, partsName, uid+noteEnding)
}

// begin puts the note there.
func (j *Journal) begin(uid string) (part, error) {
	l, err := lockAlone(j.notePath(uid))
	if err != nil {
		return part{}, err
	}
	p := part{uid, l}
	if err := j.disk.Sync(filepath.Join(j.dir, partsName)); err != nil {
		return part{}, errors.Join(err, j.end(p)) // its round, which may be in the database, stays as it is
	}
	return p, nil
}

// end takes the note away.
func (j *Journal) end(p part) error {
	err := j.disk.Remove(j.notePath(p.uid))
	p.lock.release()
	return err
}

// undo removes the files of a round that is not in the database, and its note.
func (j *Journal) undo(p part) error {
	folder, err := folderOf(p.uid)
	if err != nil {
		return err
	}
	for _, path := range []string{filepath.Join(j.dir, partsName, p.uid), filepath.Join(j.dir, filepath.FromSlash(folder))} {
		if err := j.disk.Remove(path); err != nil {
			return err
		}
	}
	return j.end(p)
}

// settle makes files agree with the database: where the round is there they stay, and say the same of its mark; where it is not they go.
func (j *Journal) settle(ctx context.Context, p part) error {
	var there bool
	if err := j.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM rounds WHERE uid = ?)", p.uid).Scan(&there); err != nil {
		p.lock.release() // the next Open settles it
		return err
	}
	if there {
		if err := j.agree(ctx, p.uid); err != nil {
			p.lock.release()
			return nil // the database is right; the next Open tries again
		}
		return j.end(p)
	}
	return j.undo(p)
}

// recover settles what stopped programs left. What a living program is at work with is left alone.
func (j *Journal) recover(ctx context.Context) error {
	entries, err := os.ReadDir(filepath.Join(j.dir, partsName))
	if err != nil {
		return err
	}
	for _, e := range entries {
		uid, isNote := strings.CutSuffix(e.Name(), noteEnding)
		if _, err := folderOf(uid); !isNote || err != nil {
			continue // none of ours
		}
		l, free, err := lockFile(j.notePath(uid), true)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if !free {
			continue
		}
		if err := j.settle(ctx, part{uid, l}); err != nil {
			return err
		}
	}
	return nil
}

// How often and after what pause a new file's lock is tried again: another program holds it only while it looks whether it was left
// behind.
const (
	lockTries = 50
	lockPause = 10 * time.Millisecond
)

// lockAlone makes and locks a file that no other program has a reason to hold for long.
func lockAlone(path string) (lock, error) {
	for range lockTries {
		l, ok, err := lockFile(path, true)
		if ok || err != nil {
			return l, err
		}
		time.Sleep(lockPause)
	}
	return lock{}, &fault{text: path + " is held by another program; close it and try again", kind: ErrBusy}
}
