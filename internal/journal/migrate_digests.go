package journal

import (
	"context"
	"database/sql"
	"encoding/binary"
	"math"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/progress"
)

// digestsAtOnce is how many digests are brought to version 2 at a time; it bounds the memory.
const digestsAtOnce = 2000

// oldDigest is a row of digests.
type oldDigest struct {
	player, at int64
	round      ID
	data       []byte
}

// sungPhrase is what version 2 adds to a digest.
type sungPhrase struct {
	take      int
	onsets    []float64 // s
	semitones []int
}

// remakeDigests brings all digests from version 1 to 2, which knows the pitches of the phrase and how long it is.
func remakeDigests(ctx context.Context, tx *sql.Tx) error {
	w := newWriter(ctx, tx)
	keys := map[string]*music.Key{}
	for after := ID(0); ; {
		some, err := digestsAfter(ctx, tx, after)
		if err != nil || len(some) == 0 {
			return err
		}
		last := some[len(some)-1].round
		phrases, err := phrasesOf(ctx, tx, after, last)
		if err != nil {
			return err
		}
		for _, old := range some {
			row, zone, err := readDigest1(old.data)
			if err == nil && complete(&row, phrases[old.round], keys) {
				w.digest = appendDigest(w.digest[:0], row, zone)
				w.exec("UPDATE digests SET digest = ? WHERE player = ? AND at = ? AND round = ?", w.digest, old.player, old.at, old.round)
			} // another one was damaged before and stays so: Check says it
		}
		if w.failed != nil {
			return w.failed
		}
		after = last
	}
}

// digestsAfter are the next digests in the order of the rounds, all of each round.
func digestsAfter(ctx context.Context, q querier, after ID) (some []oldDigest, err error) {
	err = eachRow(ctx, q, func(rows *sql.Rows) error {
		var d oldDigest
		err := rows.Scan(&d.player, &d.at, &d.round, &d.data)
		some = append(some, d)
		return err
	}, `SELECT player, at, round, digest FROM digests INDEXED BY digests_round WHERE round > ? AND round <=
		(SELECT max(round) FROM (SELECT round FROM digests INDEXED BY digests_round WHERE round > ? ORDER BY round LIMIT ?))
		ORDER BY round`, after, after, digestsAtOnce)
	return some, err
}

// phrasesOf are the last takes of the rounds after one and up to another.
func phrasesOf(ctx context.Context, q querier, after, last ID) (map[ID]*sungPhrase, error) {
	phrases := map[ID]*sungPhrase{}
	err := eachRow(ctx, q, func(rows *sql.Rows) error {
		var id ID
		var take, semitone int
		var onset float64
		if err := rows.Scan(&id, &take, &onset, &semitone); err != nil {
			return err
		}
		p := phrases[id]
		if p == nil || p.take != take {
			p = &sungPhrase{take: take}
			phrases[id] = p
		}
		p.onsets, p.semitones = append(p.onsets, onset), append(p.semitones, semitone)
		return nil
	}, "SELECT round, take, onset, semitone FROM notes WHERE round > ? AND round <= ? ORDER BY round, take, position", after, last)
	return phrases, err
}

// complete adds to a row what version 2 knows; false where the phrase is not that of the row.
func complete(r *progress.Round, p *sungPhrase, keys map[string]*music.Key) bool {
	if p == nil || len(p.semitones) != len(r.Notes) || len(r.Notes) == 0 {
		return false
	}
	key, known := keys[r.Key]
	if !known {
		if k, err := music.ParseKey(r.Key); err == nil {
			key = &k
		}
		keys[r.Key] = key
	}
	r.Seconds = p.onsets[len(p.onsets)-1] - p.onsets[0]
	for i := range r.Notes {
		r.Notes[i].Pitch = p.semitones[i]
		r.Notes[i].Outside = key != nil && progress.Outside(*key, p.semitones[i])
	}
	return true
}

// readDigest1 unpacks a digest of version 1: version, part, label, agreement, zone (2 bytes, minutes), time (8 bytes, ms), tempo, response, the
// takes' centres and spreads (4-byte floats), key (length and bytes), and of each note verdict, kinds, step and degree (length and bytes).
func readDigest1(data []byte) (row progress.Round, zoneMinutes int, err error) {
	const numbers, first = 6, 6 + 8
	const header = first + 4*numbers // bytes
	if len(data) < header+1 || data[0] != 1 || int(data[2]) >= len(digestLabels) {
		return row, 0, errDigest
	}
	zoneMinutes = int(int16(binary.LittleEndian.Uint16(data[4:])))
	var x [numbers]float64
	for i := range x {
		x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(data[first+4*i:])))
	}
	row = progress.Round{
		At: time.UnixMilli(int64(binary.LittleEndian.Uint64(data[6:]))), Sang: data[1]&digestSang != 0, Played: data[1]&digestPlayed != 0,
		Label: digestLabels[data[2]], Agreement: progress.Agreement(data[3]), Tempo: x[0], Response: x[1],
		Takes: [2]progress.Centring{{CentreCents: x[2], SpreadCents: x[3]}, {CentreCents: x[4], SpreadCents: x[5]}},
	}
	d := newDigestReader()
	rest := data[header:]
	var ok bool
	if row.Key, rest, ok = d.text(rest); !ok {
		return row, 0, errDigest
	}
	const fixed = 3 // bytes of a note besides its degree
	for len(rest) > 0 {
		if len(rest) < fixed || int(rest[0]) >= len(digestVerdicts) {
			return row, 0, errDigest
		}
		n := progress.Note{Verdict: digestVerdicts[rest[0]], Kinds: progress.Kinds(rest[1]), Step: int(int8(rest[2]))}
		if n.Degree, rest, ok = d.text(rest[fixed:]); !ok {
			return row, 0, errDigest
		}
		row.Notes = append(row.Notes, n)
	}
	return row, zoneMinutes, nil
}
