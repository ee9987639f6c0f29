package journal

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"
)

// Recording is what is being sung and played in one sitting: a folder into which a live program writes its files as they come, one
// folder a round where there are several. A round is kept there until it is saved, with Entry.Recording naming its folder, or until
// the recording is discarded; so it is found again after the power went.
type Recording struct {
	Name    string
	Dir     string          // the folder; the program that records writes what it likes into it
	Started time.Time       // in the zone of the clock on the wall
	About   json.RawMessage // what was given to Record
	Files   []FileInfo      // what lies in the folder and in folders in it, without the journal's own, in the order of their names
	held    lock
}

// FileInfo is a file of a recording.
type FileInfo struct {
	Name  string // below Recording.Dir, with slashes: "round-001/take1.wav"
	Bytes int64
}

// Round is the name, for Entry.Recording, of a round that lies in a folder of its own in the recording: the base name of that
// folder.
func (r *Recording) Round(folder string) string { return path.Join(r.Name, folder) }

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

// Close ends the recording and keeps what was not saved of it: the next Unfinished lists it.
func (r *Recording) Close() { r.held.release() }

// Unfinished lists the recordings that no living program is at work with and that hold rounds which were not saved: those of programs
// that were stopped, the oldest first. What is left of rounds that were saved, and of recordings that never got a file, is removed.
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
		switch err := j.leftOf(ctx, &r); {
		case errors.Is(err, fs.ErrNotExist): // another program has just removed it
		case err != nil:
			return nil, err
		case len(r.Files) > 0:
			list = append(list, r)
		case time.Since(r.Started) > emptyAge:
			if err := j.dropRecording(r.Name); err != nil {
				return nil, err
			}
		}
	}
	return list, nil
}

// leftOf removes the rounds of a recording that were saved, and looks at the rest.
func (j *Journal) leftOf(ctx context.Context, r *Recording) error {
	names, err := readNames(r.Dir)
	if err != nil {
		return err
	}
	for _, round := range append(names, "") {
		recording := r.Round(round)
		_, saved, err := j.SavedFrom(ctx, recording)
		if err == nil && saved {
			err = j.dropRecording(recording)
		}
		if err != nil {
			return err
		}
	}
	return r.look()
}

// abandoned reports whether no living program holds a recording.
func abandoned(dir string) bool {
	l, free, err := lockFile(filepath.Join(dir, aliveName), true)
	l.release()
	return free || err != nil // what cannot be opened is not held by a program that writes
}

// look reads what lies in the folder. A damaged or missing about file is no reason not to find the takes.
func (r *Recording) look() error {
	err := filepath.WalkDir(r.Dir, func(file string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			return err
		}
		name, err := filepath.Rel(r.Dir, file)
		if err != nil || name == aboutName || name == aliveName {
			return err
		}
		info, err := e.Info()
		if err == nil {
			r.Files = append(r.Files, FileInfo{filepath.ToSlash(name), info.Size()})
		}
		return err
	})
	if err != nil {
		return err
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

// Discard removes a recording that is not wanted, or one round of it.
func (j *Journal) Discard(name string) error {
	if err := j.writable(); err != nil {
		return err
	}
	return j.explain("the recording could not be removed", j.dropRecording(name))
}

func (j *Journal) dropRecording(name string) error {
	if err := checkRecording(name); err != nil {
		return err
	}
	return j.disk.Remove(filepath.Join(j.dir, recordingName, filepath.FromSlash(name)))
}

// checkRecording refuses what is no name of a recording or of a round in one: a folder, or a folder in a folder.
func checkRecording(name string) error {
	const deepest = 2
	if path.Clean(name) != name || name == "." || !filepath.IsLocal(filepath.FromSlash(name)) || len(strings.Split(name, "/")) > deepest {
		return fmt.Errorf("journal: %q is no name of a recording", name)
	}
	return nil
}
