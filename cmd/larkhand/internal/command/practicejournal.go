package command

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"larkhand/internal/journal"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen"
	"larkhand/internal/soundfile"
)

// worthKeeping is how much was sung, s, from which a round that was broken off is offered again at the next start: less is no phrase (own choice).
const worthKeeping = 2.0

// journalSaver puts the rounds of one session into the journal. It is a practice.Saver.
type journalSaver struct {
	j         *journal.Journal
	recording string // name
}

// Save keeps a judged round. One without a verdict is left for the next start where it holds a phrase, and else thrown away.
func (s journalSaver) Save(ctx context.Context, f practice.Finished) (string, error) {
	if f.Judged == nil {
		if lengthSung(f) < worthKeeping {
			return "", nil
		}
		return "This round has no verdict; its recordings are offered at the next start.", practice.ErrLeft
	}
	id, err := s.keep(ctx, f)
	if id == 0 {
		return "", err
	}
	return fmt.Sprintf("Kept as round %d.", id), nil // a recording that could not be removed is removed at the next start
}

// Mark marks a round that was kept as misheard, or takes the mark away.
func (s journalSaver) Mark(ctx context.Context, f practice.Finished, misheard bool) (string, error) {
	id, saved, err := s.j.SavedFrom(ctx, s.recordingOf(f))
	switch {
	case err != nil:
		return "", err
	case !saved:
		return "", errors.New("the round is not in the journal")
	}
	if err := s.j.Mark(ctx, id, misheard); err != nil {
		return "", err
	}
	if misheard {
		return fmt.Sprintf("Round %d is marked as misheard and counts nowhere.", id), nil
	}
	return fmt.Sprintf("Round %d counts again.", id), nil
}

// recordingOf names the recording that a round was made from.
func (s journalSaver) recordingOf(f practice.Finished) string {
	return s.recording + "/" + filepath.Base(f.Folder)
}

// lengthSung is the length of the takes, s.
func lengthSung(f practice.Finished) (seconds float64) {
	for _, t := range f.Facts.Takes {
		seconds += t.To - t.From
	}
	return seconds
}

// keep puts a judged round into the journal.
func (s journalSaver) keep(ctx context.Context, f practice.Finished) (journal.ID, error) {
	e, err := entryOfFinished(f)
	if err != nil {
		return 0, err
	}
	e.Recording = s.recordingOf(f)
	return s.j.Save(ctx, e)
}

// entryOfFinished makes the journal's entry of a judged round.
func entryOfFinished(f practice.Finished) (e journal.Entry, err error) {
	e = journal.Entry{
		At: beganAt(f), Sang: nameOf(f.Setup, f.Facts.Singer), Played: nameOf(f.Setup, f.Facts.Player),
		Round: *f.Judged, Instrument: f.Options.Instrument, Program: programVersion(),
		Misheard: f.Facts.Misheard, PhraseName: f.Phrase,
	}
	if e.Document, err = documentOf(e.Round); err != nil {
		return e, err
	}
	if e.Takes, err = flacFiles(f.Takes); err != nil {
		return e, err
	}
	e.Hearing.TakeStarts = f.Judged.TakeStarts
	if f.Path != "" {
		if err := addBackings(&e, f); err != nil {
			return e, err
		}
	}
	e.Answer, err = os.ReadFile(f.Answer)
	return e, err
}

// addBackings adds what the speaker was sent beside the takes, and the way by which it came into the microphone.
func addBackings(e *journal.Entry, f practice.Finished) (err error) {
	if e.Backings, err = flacFiles(f.Backings); err != nil {
		return err
	}
	starts := -practice.BackingLead
	e.Hearing.BackingStarts = &starts
	e.Path, err = os.ReadFile(f.Path)
	return err
}

// beganAt is the moment at which take 1 began.
func beganAt(f practice.Finished) time.Time {
	if f.Began.IsZero() {
		return time.Now().Truncate(time.Millisecond)
	}
	return f.Began.Add(time.Duration(f.Facts.Takes[0].From * float64(time.Second))).Truncate(time.Millisecond)
}

// nameOf is the name of a player; "" without.
func nameOf(s round.Setup, player int) string {
	if player >= len(s.Players) {
		return ""
	}
	return s.Players[player].Name
}

// flacFiles reads sound files as the journal keeps them.
func flacFiles(paths []string) (files [][]byte, err error) {
	for _, path := range paths {
		sound, err := soundfile.Read(path)
		if err != nil {
			return nil, err
		}
		data, err := journal.EncodeTake(sound.Samples, sound.Rate)
		if err != nil {
			return nil, err
		}
		files = append(files, data)
	}
	return files, nil
}

// leftover is the rounds that earlier sessions did not come to save.
type leftover struct {
	j          *journal.Journal
	recordings []journal.Recording
	rounds     [][]practice.Finished // of each recording
	faults     error                 // of rounds that cannot be read
}

// leftIn looks for such rounds; nil where there are none.
func leftIn(ctx context.Context, j *journal.Journal) (*leftover, error) {
	recordings, err := j.Unfinished(ctx)
	if err != nil {
		return nil, err
	}
	l := &leftover{j: j}
	for _, r := range recordings {
		rounds, err := practice.Recover(r.Dir)
		l.faults = errors.Join(l.faults, err)
		if len(rounds) > 0 {
			l.recordings, l.rounds = append(l.recordings, r), append(l.rounds, rounds)
		}
	}
	if len(l.recordings) == 0 {
		return nil, nil
	}
	return l, nil
}

// offer makes of them what is asked before practice begins.
func (l *leftover) offer(ctx context.Context) *screen.Offer {
	if l == nil {
		return nil
	}
	return &screen.Offer{Text: l.text(), Keep: func() (string, error) { return l.keep(ctx) }, Drop: l.drop}
}

// text says what is there.
func (l *leftover) text() string {
	var lines []string
	for i, r := range l.recordings {
		for _, f := range l.rounds[i] {
			at := r.Started
			if !f.Began.IsZero() && len(f.Facts.Takes) > 0 {
				at = beganAt(f)
			}
			lines = append(lines, at.Format("2006-01-02 15:04")+": "+whatIsThere(f))
		}
	}
	head := "A round was broken off and is still here:"
	if len(lines) > 1 {
		head = fmt.Sprintf("%d rounds were broken off and are still here:", len(lines))
	}
	const most = 8 // lines; a screen has room for them
	if more := len(lines) - most; more > 0 {
		lines = append(lines[:most], fmt.Sprintf("and %d more", more))
	}
	return head + "\n" + strings.Join(lines, "\n")
}

// whatIsThere names the recordings of a round.
func whatIsThere(f practice.Finished) string {
	text := counted(len(f.Takes), "take")
	if f.Answer == "" {
		return text + fmt.Sprintf(" (%.0f s), no answer", lengthSung(f))
	}
	return text + fmt.Sprintf(" (%.0f s) and an answer", lengthSung(f))
}

// keep judges what can be judged and puts it into the journal; recordings without a verdict go to a folder beside it.
func (l *leftover) keep(ctx context.Context) (string, error) {
	beside := filepath.Join(l.j.Where().Dir, "unjudged")
	saved, moved := 0, 0
	for i, r := range l.recordings {
		for _, f := range l.rounds[i] {
			f.Judge()
			if f.Judged != nil {
				if id, err := (journalSaver{l.j, r.Name}).keep(ctx, f); id == 0 {
					return "", err
				}
				saved++
				continue
			}
			if err := moveRound(f.Folder, filepath.Join(beside, r.Name+"-"+filepath.Base(f.Folder))); err != nil {
				return "", err
			}
			moved++
		}
	}
	var said []string
	if saved > 0 {
		said = append(said, sentence(were(saved, "round"))+" judged and kept in the journal.")
	}
	if moved > 0 {
		said = append(said, sentence(are(moved, "round"))+" without an answer, so there is no verdict; the recordings are in "+beside+".")
	}
	return strings.Join(said, " "), nil
}

func moveRound(from, to string) error {
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return fmt.Errorf("the recordings cannot be kept: %w", plainCause(err))
	}
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("the recordings cannot be kept: %w", plainCause(err))
	}
	return nil
}

// drop throws them away.
func (l *leftover) drop() (string, error) {
	for _, r := range l.recordings {
		if err := l.j.Discard(r.Name); err != nil {
			return "", err
		}
	}
	return "The recordings were thrown away.", nil
}
