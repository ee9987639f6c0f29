package command

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"larkhand/internal/journal"
	"larkhand/internal/practice"
	"larkhand/internal/screen"
)

// roundsPlace is where the rounds of the practice command go: into the journal, into a folder, or nowhere.
type roundsPlace struct {
	j     *journal.Journal // nil: not into the journal
	place string           // folder of the sessions' folders, where there is no journal
	kept  bool             // place stays
	left  *leftover        // of earlier sessions; nil for none
}

// roundsPlace opens the place. asked says that the journal was named.
func (p *practising) roundsPlace(ctx context.Context, asked bool) (k *roundsPlace, err error) {
	switch {
	case p.keep != "":
		if err := os.MkdirAll(p.keep, 0o755); err != nil {
			return nil, fmt.Errorf("cannot make the folder %s: %w", p.keep, plainCause(err))
		}
		return &roundsPlace{place: p.keep, kept: true}, nil
	case p.files.given() && !asked:
		place, err := os.MkdirTemp("", "larkhand-practice-*")
		if err != nil {
			return nil, fmt.Errorf("cannot record: %w", plainCause(err))
		}
		return &roundsPlace{place: place}, nil
	}
	k = &roundsPlace{}
	if k.j, err = journal.Open(p.journal.path()); err != nil {
		return nil, fmt.Errorf("%w; or keep the rounds elsewhere with --keep FOLDER", err)
	}
	if k.left, err = leftIn(ctx, k.j); err != nil {
		k.close()
		return nil, err
	}
	return k, nil
}

// close closes the journal, and removes what nobody keeps.
func (k *roundsPlace) close() {
	switch {
	case k.j != nil:
		k.j.Close() // what was saved is on the disk already
	case !k.kept:
		os.RemoveAll(k.place)
	}
}

// sentence says where the rounds go.
func (k *roundsPlace) sentence() string {
	switch {
	case k.j != nil:
		return "The rounds are kept in the journal: larkhand history."
	case k.kept:
		return "The rounds are kept in " + k.place + "."
	}
	return "The rounds are not kept; --keep FOLDER keeps them."
}

// sitting is one session's place.
type sitting struct {
	folder string
	saver  practice.Saver
	end    func()
}

// sit makes the place of a new session.
func (k *roundsPlace) sit(s screen.Settings) (sitting, error) {
	now := time.Now()
	if k.j == nil {
		folder, err := os.MkdirTemp(k.place, now.Format("2006-01-02-150405-")+"*")
		if err != nil {
			return sitting{}, fmt.Errorf("cannot record in %s: %w", filepath.Clean(k.place), plainCause(err))
		}
		return sitting{folder: folder, end: func() {}}, nil
	}
	recording, err := k.j.Record(now, s)
	if err != nil {
		return sitting{}, err
	}
	return sitting{folder: recording.Dir, saver: journalSaver{k.j, recording.Name}, end: func() { k.end(recording) }}, nil
}

// end ends a session's recording, and removes it where all of it was saved.
func (k *roundsPlace) end(recording *journal.Recording) {
	recording.Close()
	if left, err := practice.Recover(recording.Dir); err == nil && len(left) == 0 {
		_ = k.j.Discard(recording.Name) // else the next start removes it
	}
}
