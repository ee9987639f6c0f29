package journal

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// State tells what became of a file.
type State string

// The states of a file.
const (
	Good    State = "good"
	Missing State = "missing"
	Changed State = "changed"    // another length or checksum
	Blocked State = "unreadable" // the disk or its permissions
)

// StoredFile is a file of a round.
type StoredFile struct {
	Path  string
	State State
	// Remark says in one sentence what is wrong and what to do; "" where it is good.
	Remark string
}

// Result is one judgement of a round.
type Result struct {
	At       time.Time
	Program  string // the version that judged
	Outcome  Outcome
	Document []byte // JSON
}

// Outcome is a judgement in short.
type Outcome struct {
	Label     string  // known, unsure, searched
	Searched  float64 // probability
	Same      int     // notes of each verdict
	Different int
	LeftOut   int
	Unclear   int
	Added     int
}

// Stored is all of a round that is needed to look at it, to hear it, and to judge it again.
type Stored struct {
	Row
	Numbering    music.Numbering
	Instrument   midiin.Instrument
	LoopStarts   float64        // s on the clock of each take; 0 without a loop
	AnswerStarts *float64       // s on the clock of the last take; nil where not known
	Written      *round.Written // what was written down between singing and playing; nil where nothing was
	PieceStarts  []float64      // s on the answer's clock, where each piece but the first begins; empty where it was played at once
	Helped       round.Helped   // how often the program helped before the answer
	Takes        []StoredFile   // in the order sung; empty where no files are kept
	Answer       StoredFile
	Backings     []StoredFile // what a speaker played beside the takes: none, one for all, or one for each
	Path         StoredFile   // its way to the microphone; no path of a file where it is not kept
	Hearing      Hearing
	hearing      StoredFile
	Results      []Result // the oldest first; the last one is what the row tells
}

// Remarks are the sentences on files that are not good.
func (s Stored) Remarks() []string {
	var out []string
	for _, f := range s.AllFiles() {
		if f.Remark != "" {
			out = append(out, f.Remark)
		}
	}
	return out
}

// Round gives a round with its files and all its results. The files are read once to see whether they are as they were saved; one
// that is not is no error, but has a State and a Remark.
func (j *Journal) Round(ctx context.Context, id ID) (Stored, error) {
	s, err := j.round(ctx, id)
	return s, j.explain(fmt.Sprintf("round %d could not be read", id), err)
}

func (j *Journal) round(ctx context.Context, id ID) (Stored, error) {
	list, err := j.rows(ctx, "id = ?", id)
	if err != nil {
		return Stored{}, err
	}
	if len(list) == 0 {
		return Stored{}, notFound(id)
	}
	s := Stored{Row: list[0]}
	rec, err := readRound(ctx, j.db, newest, id)
	if err != nil {
		return Stored{}, err
	}
	if err := errors.Join(readFiles(ctx, j.db, id, &rec), readJudgements(ctx, j.db, id, &rec), readDone(ctx, j.db, id, &rec)); err != nil {
		return Stored{}, err
	}
	if s.Numbering, err = music.ParseNumbering(rec.Numbering); err != nil {
		return Stored{}, err
	}
	if s.Instrument, err = midiin.ParseInstrument(rec.Instrument); err != nil {
		return Stored{}, err
	}
	s.AnswerStarts, s.Written, s.PieceStarts, s.Helped = rec.AnswerStarts, rec.Written.round(), rec.done.Pieces, rec.Helped
	if rec.LoopStarts != nil {
		s.LoopStarts = *rec.LoopStarts
	}
	for _, f := range rec.Files {
		if err := s.place(j.look(rec.Folder, f)); err != nil {
			return Stored{}, err
		}
	}
	for _, old := range rec.Judgements {
		s.Results = append(s.Results, old.result())
	}
	return s, nil
}

func (v judgement) result() Result {
	return Result{At: time.UnixMilli(v.AtMs), Program: v.Program, Outcome: v.counts.outcome(), Document: v.Document}
}

func (c counts) outcome() Outcome { return Outcome(c) }

// look compares a file with what was saved.
func (j *Journal) look(folder string, f file) StoredFile {
	path := filepath.Join(j.dir, filepath.FromSlash(folder), f.Name)
	bytes, sum, err := checksum(path)
	stored := StoredFile{Path: path, State: Good}
	const still = "the round's notes and verdicts are still in the journal"
	switch {
	case errors.Is(err, fs.ErrNotExist):
		stored.State, stored.Remark = Missing, fmt.Sprintf("%s is missing: put it back from a backup; %s", path, still)
	case err != nil:
		stored.State, stored.Remark = Blocked, fmt.Sprintf("%s cannot be read (%v): check the disk and its permissions; %s", path, err, still)
	case bytes != f.Bytes || sum != f.SHA256:
		stored.State, stored.Remark = Changed, fmt.Sprintf("%s is not as it was saved: put it back from a backup, or judge it again only if you changed it yourself; %s", path, still)
	}
	return stored
}

// checksum reads a file once.
func checksum(path string) (bytes int64, sum string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, "", err
	}
	defer f.Close()
	hash := sha256.New()
	bytes, err = io.Copy(hash, f)
	return bytes, hex.EncodeToString(hash.Sum(nil)), err
}

// Judgement is a round judged again.
type Judgement struct {
	Entry           // Round, Program and Document are used; the rest is left as it is
	At    time.Time // when
}

// Change is what judging again changed.
type Change struct{ Before, After Outcome }

// Same reports whether nothing changed that a player would see.
func (c Change) Same() bool {
	a, b := c.Before, c.After
	a.Searched, b.Searched = 0, 0
	return a == b
}

// Rejudge replaces what is said of a round; the result before stays among its results. The round's files are not touched.
func (j *Journal) Rejudge(ctx context.Context, id ID, v Judgement) (Change, error) {
	v.Entry.At = v.At
	fresh, err := recordOf(v.Entry)
	if err != nil {
		return Change{}, err
	}
	var c Change
	err = j.change(ctx, func(w *writer) error {
		rec, err := readRecord(ctx, w.tx, id)
		if errors.Is(err, sql.ErrNoRows) {
			return notFound(id)
		} else if err != nil {
			return err
		}
		c = Change{Before: rec.counts.outcome(), After: fresh.counts.outcome()}
		rec.judged = fresh.judged
		if rec.Written == nil && fresh.Written != nil { // version 1 kept it in the result alone
			rec.Written = fresh.Written
			w.exec("UPDATE rounds SET numbers = ?, letters = ?, numbers_seconds = ?, letters_seconds = ? WHERE id = ?", append(rec.Written.columns(), id)...)
		}
		rec.Judgements = append(rec.Judgements, fresh.Judgements...)
		w.replace(int64(id), &rec)
		return w.failed
	})
	return c, j.explain(fmt.Sprintf("round %d was not judged again", id), err)
}

const updateRound = `UPDATE rounds SET key = ?, key_guessed = ?, numbering = ?, chart = ?, tempo = ?, loop_starts = ?, answer_starts = ?,
	same_phrase = ?, centre_change_cents = ?, spread_change_cents = ?, octaves = ?, transposition = ?, tuning_shift = ?, voice_cents = ?, tempo_ratio = ?,
	response = ?, label = ?, searched = ?, same = ?, different = ?, left_out = ?, unclear = ?, added = ?, program = ? WHERE id = ?`

// replace writes what the newest judgement of a record says over what was said before.
func (w *writer) replace(id int64, rec *record) {
	for _, table := range []string{"takes", "answer_notes", "evidence", "links", "digests"} { // their notes go with them
		w.exec("DELETE FROM "+table+" WHERE round = ?", id)
	}
	w.exec(updateRound, append(rec.judged.columns(rec.program()), id)...)
	w.judgement(id, rec.Judgements[len(rec.Judgements)-1])
	w.judged(id, &rec.judged)
	w.digests(id, rec)
}
