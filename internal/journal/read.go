package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// querier is a database or a transaction.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// eachRow calls read for each row of a query. read scans it.
func eachRow(ctx context.Context, q querier, read func(*sql.Rows) error, query string, args ...any) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := read(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// readRecord reads all rows of a round. The error is sql.ErrNoRows where there is none.
func readRecord(ctx context.Context, q querier, id ID) (record, error) {
	return readRecordOf(ctx, q, newest, id)
}

// The versions of a database, as far as reading one goes that cannot be brought to the newest: a damaged one.
const (
	withSteps = 2 // what was done between singing and playing, and its links
	newest    = withSteps
)

// readRecordOf reads a round in a database of a version.
func readRecordOf(ctx context.Context, q querier, version int, id ID) (record, error) {
	rec, err := readRound(ctx, q, version, id)
	if err != nil {
		return record{}, err
	}
	err = errors.Join(
		readTakes(ctx, q, id, &rec),
		readAnswer(ctx, q, id, &rec),
		readEvidence(ctx, q, id, &rec),
		readFiles(ctx, q, id, &rec),
		readJudgements(ctx, q, id, &rec),
	)
	if version >= withSteps {
		err = errors.Join(err, readDone(ctx, q, id, &rec), readLinks(ctx, q, id, &rec))
	}
	if err == nil && len(rec.Takes) == 0 {
		err = fmt.Errorf("round %s has no take", rec.UID)
	}
	return rec, err
}

// selectRound has %s where the columns of version 2 stand.
const selectRound = `SELECT uid, at, zone_minutes, s.name, p.name, instrument, coalesce(folder, ''), coalesce(recording, ''), deleted_at,
	%s,
	key, key_guessed, numbering, chart, tempo, loop_starts, answer_starts, same_phrase, centre_change_cents, spread_change_cents,
	octaves, transposition, tuning_shift, voice_cents, tempo_ratio, response, label, searched, same, different, left_out, unclear, added
	FROM rounds JOIN players s ON s.id = sang JOIN players p ON p.id = played WHERE rounds.id = ?`

// doneColumns are the columns of version 2, and what stands for them before.
var doneColumns = map[bool]string{
	true:  "misheard, coalesce(phrase_name, ''), coalesce(numbers, ''), coalesce(letters, ''), numbers_seconds, letters_seconds",
	false: "0, '', '', '', NULL, NULL",
}

func readRound(ctx context.Context, q querier, version int, id ID) (rec record, err error) {
	v := &rec.judged
	var w written
	query := fmt.Sprintf(selectRound, doneColumns[version >= withSteps])
	err = q.QueryRowContext(ctx, query, id).Scan(&rec.UID, &rec.AtMs, &rec.ZoneMinutes, &rec.Sang, &rec.Played, &rec.Instrument, &rec.Folder, &rec.Recording, &rec.DeletedMs,
		&rec.Misheard, &rec.PhraseName, &w.Numbers, &w.Letters, &w.NumbersSeconds, &w.LettersSeconds,
		&v.Key, &v.KeyGuessed, &v.Numbering, &v.Chart, &v.Tempo, &v.LoopStarts, &v.AnswerStarts, &v.SamePhrase, &v.CentreChange, &v.SpreadChange,
		&v.Octaves, &v.Transposition, &v.TuningShift, &v.VoiceCents, &v.TempoRatio, &v.Response,
		&v.Label, &v.Searched, &v.Same, &v.Different, &v.LeftOut, &v.Unclear, &v.Added)
	if w.Numbers != "" || w.Letters != "" {
		rec.Written = &w
	}
	return rec, err
}

// readDone reads pieces and help.
func readDone(ctx context.Context, q querier, id ID, rec *record) error {
	err := eachRow(ctx, q, func(rows *sql.Rows) error {
		var begins float64
		err := rows.Scan(&begins)
		rec.Pieces = append(rec.Pieces, begins)
		return err
	}, "SELECT begins FROM pieces WHERE round = ? ORDER BY position", id)
	if err != nil {
		return err
	}
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		h := &rec.Helped
		return rows.Scan(&h.Key, &h.Chord, &h.Take1, &h.Take2, &h.Notes1, &h.Notes2, &h.SungAgain)
	}, "SELECT key, chord, take1, take2, notes1, notes2, sung_again FROM helped WHERE round = ?", id)
}

func readLinks(ctx context.Context, q querier, id ID, rec *record) error {
	err := eachRow(ctx, q, func(rows *sql.Rows) error {
		var l link
		err := rows.Scan(&l.Name, &l.Joined, &l.Compared, &l.Failed)
		rec.Links = append(rec.Links, l)
		return err
	}, "SELECT name, joined, compared, failed FROM links WHERE round = ? ORDER BY position", id)
	if err != nil || len(rec.Links) == 0 {
		return err
	}
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		var at, note int
		err := rows.Scan(&at, &note)
		if err == nil && at >= 0 && at < len(rec.Links) {
			rec.Links[at].Notes = append(rec.Links[at].Notes, note)
		}
		return err
	}, "SELECT link, note FROM link_notes WHERE round = ? ORDER BY link, place", id)
}

func readTakes(ctx context.Context, q querier, id ID, rec *record) error {
	err := eachRow(ctx, q, func(rows *sql.Rows) error {
		var t take
		err := rows.Scan(&t.Name, &t.Written, &t.Duration, &t.TuningCents, &t.Clarity, &t.CentreCents, &t.SpreadCents)
		rec.Takes = append(rec.Takes, t)
		return err
	}, "SELECT name, written, duration, tuning_cents, clarity, centre_cents, spread_cents FROM takes WHERE round = ? ORDER BY number", id)
	if err != nil {
		return err
	}
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		var number int
		var n sungNote
		err := rows.Scan(&number, &n.Onset, &n.Offset, &n.Pitch, &n.Semitone, &n.Degree, &n.Step, &n.CentreCents, &n.SpreadCents, &n.Level,
			&n.Confidence, &n.Unclear, &n.Verdict, &n.Answered)
		if err == nil && number >= 1 && number <= len(rec.Takes) {
			rec.Takes[number-1].Notes = append(rec.Takes[number-1].Notes, n)
		}
		return err
	}, `SELECT take, onset, "offset", pitch, semitone, degree, step, centre_cents, spread_cents, level_dbfs, confidence, unclear, verdict, answered
		FROM notes WHERE round = ? ORDER BY take, position`, id)
}

func readAnswer(ctx context.Context, q querier, id ID, rec *record) error {
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		var n answerNote
		err := rows.Scan(&n.Onset, &n.Offset, &n.Released, &n.Key, &n.Pitch, &n.Degree, &n.Velocity, &n.Channel)
		rec.Answer = append(rec.Answer, n)
		return err
	}, `SELECT onset, "offset", released, key, pitch, degree, velocity, channel FROM answer_notes WHERE round = ? ORDER BY position`, id)
}

func readEvidence(ctx context.Context, q querier, id ID, rec *record) error {
	err := eachRow(ctx, q, func(rows *sql.Rows) error {
		var e evidence
		err := rows.Scan(&e.Kind, &e.Onset, &e.Offset, &e.Target, &e.Weight, &e.Text)
		rec.Evidence = append(rec.Evidence, e)
		return err
	}, `SELECT kind, onset, "offset", target, weight, text FROM evidence WHERE round = ? ORDER BY position`, id)
	if err != nil {
		return err
	}
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		var at, note int
		var played bool
		err := rows.Scan(&at, &played, &note)
		if err != nil || at >= len(rec.Evidence) {
			return err
		}
		if e := &rec.Evidence[at]; played {
			e.Played = append(e.Played, note)
		} else {
			e.Sung = append(e.Sung, note)
		}
		return nil
	}, "SELECT evidence, played, note FROM evidence_notes WHERE round = ? ORDER BY evidence, played, place", id)
}

func readFiles(ctx context.Context, q querier, id ID, rec *record) error {
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		var f file
		err := rows.Scan(&f.Name, &f.Bytes, &f.SHA256)
		rec.Files = append(rec.Files, f)
		return err
	}, "SELECT name, bytes, sha256 FROM files WHERE round = ? ORDER BY name", id)
}

func readJudgements(ctx context.Context, q querier, id ID, rec *record) error {
	return eachRow(ctx, q, func(rows *sql.Rows) error {
		var j judgement
		var document []byte
		err := rows.Scan(&j.AtMs, &j.Program, &j.Label, &j.Searched, &j.Same, &j.Different, &j.LeftOut, &j.Unclear, &j.Added, &document)
		if err == nil {
			j.Document, err = unpacked(document)
		}
		rec.Judgements = append(rec.Judgements, j)
		return err
	}, "SELECT at, program, label, searched, same, different, left_out, unclear, added, document FROM judgements WHERE round = ? ORDER BY id", id)
}
