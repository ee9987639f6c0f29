package journal

import (
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"fmt"
	"io"
)

// writer writes rows inside one transaction and keeps its prepared statements.
type writer struct {
	ctx        context.Context
	tx         *sql.Tx
	statements map[string]*sql.Stmt
	players    map[string]int64
	failed     error // the first error; later calls do nothing
	digest     []byte
}

func newWriter(ctx context.Context, tx *sql.Tx) *writer {
	return &writer{ctx: ctx, tx: tx, statements: map[string]*sql.Stmt{}, players: map[string]int64{}}
}

// exec runs a statement and gives the id of the row that it made.
func (w *writer) exec(query string, args ...any) int64 {
	return w.run(sql.Result.LastInsertId, query, args)
}

// count runs a statement and gives how many rows it changed.
func (w *writer) count(query string, args ...any) int {
	return int(w.run(sql.Result.RowsAffected, query, args))
}

func (w *writer) run(value func(sql.Result) (int64, error), query string, args []any) int64 {
	if w.failed != nil {
		return 0
	}
	st := w.statements[query]
	if st == nil {
		if st, w.failed = w.tx.PrepareContext(w.ctx, query); w.failed != nil {
			return 0
		}
		w.statements[query] = st
	}
	result, err := st.ExecContext(w.ctx, args...)
	if err != nil {
		w.failed = err
		return 0
	}
	n, err := value(result)
	w.failed = err
	return n
}

// player gives the id of a player, who is made where there is none of that name.
func (w *writer) player(name string) int64 {
	if id, ok := w.players[name]; ok || w.failed != nil {
		return id
	}
	var id int64
	w.exec("INSERT INTO players (name) VALUES (?) ON CONFLICT DO NOTHING", name)
	if w.failed == nil {
		w.failed = w.tx.QueryRowContext(w.ctx, "SELECT id FROM players WHERE name = ?", name).Scan(&id)
	}
	w.players[name] = id
	return id
}

const insertRound = `INSERT INTO rounds (uid, at, zone_minutes, sang, played, instrument, folder, recording, deleted_at,
	misheard, phrase_name, numbers, letters, numbers_seconds, letters_seconds,
	key, key_guessed, numbering, chart, tempo, loop_starts, answer_starts, same_phrase, centre_change_cents, spread_change_cents,
	octaves, transposition, tuning_shift, voice_cents, tempo_ratio, response, label, searched, same, different, left_out, unclear, added, program)
	VALUES (?,?,?,?,?,?,?,?,?, ?,?,?,?,?,?, ?,?,?,?,?,?,?,?,?,?, ?,?,?,?,?,?,?,?,?,?,?,?,?,?)`

// insert writes a record as a new round.
func (w *writer) insert(rec *record) ID {
	sang, played := w.player(rec.Sang), w.player(rec.Played)
	args := []any{rec.UID, rec.AtMs, rec.ZoneMinutes, sang, played, rec.Instrument, empty(rec.Folder), empty(rec.Recording), rec.DeletedMs}
	args = append(args, rec.done.columns()...)
	id := w.exec(insertRound, append(args, rec.judged.columns(rec.program())...)...)
	w.done(id, &rec.done)
	for _, f := range rec.Files {
		w.exec("INSERT INTO files VALUES (?,?,?,?)", id, f.Name, f.Bytes, f.SHA256)
	}
	for _, j := range rec.Judgements {
		w.judgement(id, j)
	}
	w.judged(id, &rec.judged)
	w.digests(id, rec)
	return ID(id)
}

// program is the version that judged the round last.
func (rec *record) program() string {
	if n := len(rec.Judgements); n > 0 {
		return rec.Judgements[n-1].Program
	}
	return ""
}

// columns are the columns of rounds that a judgement gives, in the order of insertRound.
func (v *judged) columns(program string) []any {
	return []any{v.Key, v.KeyGuessed, v.Numbering, v.Chart, v.Tempo, v.LoopStarts, v.AnswerStarts, v.SamePhrase, v.CentreChange, v.SpreadChange,
		v.Octaves, v.Transposition, v.TuningShift, v.VoiceCents, v.TempoRatio, v.Response,
		v.Label, v.Searched, v.Same, v.Different, v.LeftOut, v.Unclear, v.Added, program}
}

// columns are the columns of rounds that say what was done, in the order of insertRound.
func (d *done) columns() []any {
	return append([]any{d.Misheard, empty(d.PhraseName)}, d.Written.columns()...)
}

func (w *written) columns() []any {
	if w == nil {
		w = &written{}
	}
	return []any{empty(w.Numbers), empty(w.Letters), w.NumbersSeconds, w.LettersSeconds}
}

// done writes pieces and help.
func (w *writer) done(id int64, d *done) {
	for k, begins := range d.Pieces {
		w.exec("INSERT INTO pieces VALUES (?,?,?)", id, k, begins)
	}
	if h := d.Helped; !h.Zero() {
		w.exec("INSERT INTO helped VALUES (?,?,?,?,?,?,?,?)", id, h.Key, h.Chord, h.Take1, h.Take2, h.Notes1, h.Notes2, h.SungAgain)
	}
}

// empty is NULL for an empty text.
func empty(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func (w *writer) judgement(id int64, j judgement) {
	w.exec("INSERT INTO judgements (round, at, program, label, searched, same, different, left_out, unclear, added, document) VALUES (?,?,?,?,?,?,?,?,?,?,?)",
		id, j.AtMs, j.Program, j.Label, j.Searched, j.Same, j.Different, j.LeftOut, j.Unclear, j.Added, packed(j.Document))
}

// judged writes takes, notes, answer, evidence and links.
func (w *writer) judged(id int64, v *judged) {
	for i, t := range v.Takes {
		w.exec("INSERT INTO takes VALUES (?,?,?,?,?,?,?,?,?)", id, i+1, t.Name, t.Written, t.Duration, t.TuningCents, t.Clarity, t.CentreCents, t.SpreadCents)
		for k, n := range t.Notes {
			w.exec("INSERT INTO notes VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", id, i+1, k, n.Onset, n.Offset, n.Pitch, n.Semitone, n.Degree, n.Step,
				n.CentreCents, n.SpreadCents, n.Level, n.Confidence, n.Unclear, n.Verdict, n.Answered)
		}
	}
	for k, n := range v.Answer {
		w.exec("INSERT INTO answer_notes VALUES (?,?,?,?,?,?,?,?,?,?)", id, k, n.Onset, n.Offset, n.Released, n.Key, n.Pitch, n.Degree, n.Velocity, n.Channel)
	}
	for k, e := range v.Evidence {
		w.exec("INSERT INTO evidence VALUES (?,?,?,?,?,?,?,?)", id, k, e.Kind, e.Onset, e.Offset, e.Target, e.Weight, e.Text)
		for played, notes := range [][]int{e.Sung, e.Played} {
			for place, note := range notes {
				w.exec("INSERT INTO evidence_notes VALUES (?,?,?,?,?)", id, k, played, place, note)
			}
		}
	}
	for k, l := range v.Links {
		w.exec("INSERT INTO links VALUES (?,?,?,?,?,?)", id, k, l.Name, l.Joined, l.Compared, l.Failed)
		for place, note := range l.Notes {
			w.exec("INSERT INTO link_notes VALUES (?,?,?,?)", id, k, place, note)
		}
	}
}

// digests writes what progress needs: a row for who sang and one for who played, or one where that is the same player. A round that
// is deleted or marked as misheard has none.
func (w *writer) digests(id int64, rec *record) {
	if rec.DeletedMs != nil || rec.Misheard {
		return
	}
	insert := func(player string, sang, played bool) {
		w.digest = appendDigest(w.digest[:0], rec.rowOf(sang, played), rec.ZoneMinutes)
		w.exec("INSERT INTO digests VALUES (?,?,?,?)", w.player(player), rec.AtMs, id, w.digest)
	}
	if rec.Sang == rec.Played {
		insert(rec.Sang, true, true)
		return
	}
	insert(rec.Sang, true, false)
	insert(rec.Played, false, true)
}

// packed is a document as it is kept. The fastest level saves as much as the best one does within a fifth.
func packed(document []byte) []byte {
	var out bytes.Buffer
	zip, err := gzip.NewWriterLevel(&out, gzip.BestSpeed)
	if err != nil {
		panic("journal: " + err.Error()) // the level is a constant of the library
	}
	zip.Write(document) // a bytes.Buffer takes everything
	zip.Close()
	return out.Bytes()
}

// longestDocument bounds what is unpacked: a thousand times a usual document, 8 kB.
const longestDocument = 8 << 20

func unpacked(data []byte) ([]byte, error) {
	zip, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("a stored result cannot be unpacked: %w", err)
	}
	document, err := io.ReadAll(io.LimitReader(zip, longestDocument))
	if err != nil {
		return nil, fmt.Errorf("a stored result cannot be unpacked: %w", err)
	}
	return document, nil
}
