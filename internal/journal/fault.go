package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// Kinds of fault, to be told apart with errors.Is.
var (
	ErrFull     = errors.New("the disk is full")
	ErrReadOnly = errors.New("the folder may not be written")
	ErrBusy     = errors.New("another program is writing")
	ErrDamaged  = errors.New("the journal is damaged")
	ErrNewer    = errors.New("the journal is of a newer version")
	ErrForeign  = errors.New("the file is no journal")
	ErrInUse    = errors.New("another program has the journal open")
	ErrNotFound = errors.New("there is no such thing in the journal")
)

// fault is one sentence for the player, of a kind, with the cause that was behind it.
type fault struct {
	text  string
	kind  error
	cause error // may be nil
}

func (f *fault) Error() string { return f.text }

func (f *fault) Unwrap() []error {
	if f.cause == nil {
		return []error{f.kind}
	}
	return []error{f.kind, f.cause}
}

// explain makes a sentence of an error: what, such as "the round was not saved", then why and what would work. A fault
// stays as it is.
func (j *Journal) explain(what string, err error) error { return explain(j.dir, what, err) }

func explain(dir, what string, err error) error {
	if err == nil {
		return nil
	}
	var known *fault
	if errors.As(err, &known) {
		return err
	}
	why, kind := reason(dir, err)
	if kind == nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return &fault{text: what + ": " + why, kind: kind, cause: err}
}

// reason tells the kind of an error and the words for it; nil where it is none of the known ones.
func reason(dir string, err error) (why string, kind error) {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return "the disk that holds " + dir + " is full; make room there and try again", ErrFull
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return dir + " may not be written; allow it to be written, or name another folder", ErrReadOnly
	}
	var of *sqlite.Error
	if !errors.As(err, &of) {
		return "", nil
	}
	if of.Code() == lib.SQLITE_IOERR_SHMSIZE { // the index of the log beside the database could not be made as long as it must be
		return "the disk that holds " + dir + " is full; make room there and try again", ErrFull
	}
	const primary = 0xff // the low byte of a result code; the rest refines it
	switch of.Code() & primary {
	case lib.SQLITE_FULL:
		return "the disk that holds " + dir + " is full; make room there and try again", ErrFull
	case lib.SQLITE_READONLY, lib.SQLITE_PERM, lib.SQLITE_CANTOPEN:
		return "the journal in " + dir + " may not be written; allow the folder to be written, or name another one", ErrReadOnly
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return fmt.Sprintf("another program has been writing to the journal for %d seconds; wait for it or close it, and try again", busySeconds), ErrBusy
	case lib.SQLITE_CORRUPT:
		return "the journal in " + dir + " is damaged; run \"larkhand journal repair\", which keeps all that can be read", ErrDamaged
	case lib.SQLITE_NOTADB:
		return "the journal in " + dir + " is damaged or no journal at all; run \"larkhand journal repair\", which keeps all that can be read", ErrDamaged
	}
	return "", nil
}
