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
	rec, err := readRound(ctx, q, id)
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
	if err == nil && len(rec.Takes) == 0 {
		err = fmt.Errorf("round %s has no take", rec.UID)
	}
	return rec, err
}

const selectRound = `SELECT uid, at, zone_minutes, s.name, p.name, instrument, coalesce(folder, ''), coalesce(recording, ''), deleted_at,
	key, key_guessed, numbering, chart, tempo, loop_starts, answer_starts, same_phrase, centre_change_cents, spread_change_cents,
	octaves, transposition, tuning_shift, voice_cents, tempo_ratio, response, label, searched, same, different, left_out, unclear, added
	FROM rounds JOIN players s ON s.id = sang JOIN players p ON p.id = played WHERE rounds.id = ?`

func readRound(ctx context.Context, q querier, id ID) (rec record, err error) {
	v := &rec.judged
	err = q.QueryRowContext(ctx, selectRound, id).Scan(&rec.UID, &rec.AtMs, &rec.ZoneMinutes, &rec.Sang, &rec.Played, &rec.Instrument, &rec.Folder, &rec.Recording, &rec.DeletedMs,
		&v.Key, &v.KeyGuessed, &v.Numbering, &v.Chart, &v.Tempo, &v.LoopStarts, &v.AnswerStarts, &v.SamePhrase, &v.CentreChange, &v.SpreadChange,
		&v.Octaves, &v.Transposition, &v.TuningShift, &v.VoiceCents, &v.TempoRatio, &v.Response,
		&v.Label, &v.Searched, &v.Same, &v.Different, &v.LeftOut, &v.Unclear, &v.Added)
	return rec, err
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
