package journal

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Recording is a round that is being sung and played: a folder into which a live program writes its files as they come. It is
// kept until it is discarded, or saved under its name as Entry.Recording; so it is found again after the power went.
type Recording struct {
	Name    string
	Dir     string          // the folder; the program that records writes what it likes into it
	Started time.Time       // in the zone of the clock on the wall
	About   json.RawMessage // what was given to Record
	Files   []FileInfo      // what lies in the folder, without the journal's own
	held    lock
}

// FileInfo is a file of a recording.
type FileInfo struct {
	Name  string
	Bytes int64
}

// The journal's own files in a recording's folder: what it is about, and what the recording program holds locked.
const (
	aboutName = "recording.json"
	aliveName = "alive"
)

// emptyAge is the age from which an abandoned recording without any file is removed: before, a program may be just about to write the
// first one. Own.
const emptyAge = time.Hour

// aboutFile is its content.
type aboutFile struct {
	Started time.Time       `json:"started"`
	About   json.RawMessage `json:"about"`
}

// Record makes the folder of a new recording. about, which JSON must be able to hold, is what will be needed to judge the round if this
// program does not come to it: players, key, chart, tempo. The recording counts as alive until Close or until the program ends.
func (j *Journal) Record(at time.Time, about any) (*Recording, error) {
	const what = "nothing can be recorded"
	if err := j.writable(); err != nil {
		return nil, err
	}
	text, err := json.Marshal(about)
	if err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	content, err := json.Marshal(aboutFile{at, text})
	if err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	r := &Recording{Name: newUID(at), Started: at, About: text}
	r.Dir = filepath.Join(j.dir, recordingName, r.Name)
	if err := j.record(r, content); err != nil {
		return nil, j.explain(what, errors.Join(err, j.disk.Remove(r.Dir)))
	}
	return r, nil
}

func (j *Journal) record(r *Recording, content []byte) error {
	if err := j.disk.MakeDir(r.Dir); err != nil {
		return err
	}
	held, err := lockAlone(filepath.Join(r.Dir, aliveName))
	if err != nil {
		return err
	}
	r.held = held
	if err := j.disk.Write(filepath.Join(r.Dir, aboutName), content); err != nil {
		return err
	}
	for _, dir := range []string{r.Dir, filepath.Dir(r.Dir)} {
		if err := j.disk.Sync(dir); err != nil {
			return err
		}
	}
	return nil
}

// Close ends the recording and keeps it: the next Unfinished lists it.
func (r *Recording) Close() { r.held.release() }

// Unfinished lists the recordings that no living program is at work with and that were not saved: those of programs that were
// stopped, the oldest first. What is left of recordings that were saved, or that never got a file, is removed.
func (j *Journal) Unfinished(ctx context.Context) ([]Recording, error) {
	list, err := j.unfinished(ctx)
	return list, j.explain("earlier recordings could not be looked for", err)
}

func (j *Journal) unfinished(ctx context.Context) ([]Recording, error) {
	dir := filepath.Join(j.dir, recordingName)
	entries, err := os.ReadDir(dir) // sorted by name, which begins with the time
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var list []Recording
	for _, e := range entries {
		r := Recording{Name: e.Name(), Dir: filepath.Join(dir, e.Name())}
		if !e.IsDir() || !abandoned(r.Dir) {
			continue
		}
		_, saved, err := j.savedFrom(ctx, r.Name)
		if err == nil {
			err = r.look()
		}
		empty := len(r.Files) == 0
		switch {
		case errors.Is(err, fs.ErrNotExist): // another program has just removed it
		case err != nil:
			return nil, err
		case saved || empty && time.Since(r.Started) > emptyAge:
			if err := j.dropRecording(r.Name); err != nil {
				return nil, err
			}
		case !empty:
			list = append(list, r)
		}
	}
	return list, nil
}

// abandoned reports whether no living program holds a recording.
func abandoned(dir string) bool {
	l, free, err := lockFile(filepath.Join(dir, aliveName), true)
	l.release()
	return free || err != nil // what cannot be opened is not held by a program that writes
}

// look reads what lies in the folder. A damaged or missing about file is no reason not to find the takes.
func (r *Recording) look() error {
	entries, err := os.ReadDir(r.Dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			return err
		}
		if e.Name() != aboutName && e.Name() != aliveName && info.Mode().IsRegular() {
			r.Files = append(r.Files, FileInfo{e.Name(), info.Size()})
		}
	}
	var about aboutFile
	if text, err := os.ReadFile(filepath.Join(r.Dir, aboutName)); err == nil && json.Unmarshal(text, &about) == nil {
		r.Started, r.About = about.Started, about.About
		return nil
	}
	info, err := os.Stat(r.Dir)
	if err == nil {
		r.Started = info.ModTime()
	}
	return err
}

// Discard removes a recording that is not wanted.
func (j *Journal) Discard(name string) error {
	if err := j.writable(); err != nil {
		return err
	}
	return j.explain("the recording could not be removed", j.dropRecording(name))
}

func (j *Journal) dropRecording(name string) error {
	if name == "" || filepath.Base(name) != name || name == "." || name == ".." {
		return fmt.Errorf("journal: %q is no name of a recording", name)
	}
	return j.disk.Remove(filepath.Join(j.dir, recordingName, name))
}
