package journal

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"time"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/steps"
	"larkhand/match"
)

// digestVersion is the first byte of a digest. Another one says that the digest is to be made anew.
const digestVersion = 2

// The words of a digest by their numbers. New ones go to the end.
var (
	digestLabels   = []hunt.Label{hunt.Known, hunt.Unsure, hunt.Searched}
	digestVerdicts = []match.Verdict{match.Same, match.Different, match.LeftOut, match.Unclear}
	digestLinks    = []steps.Name{steps.Voice, steps.Ear, steps.Names, steps.Fingers}
)

// Bits of a digest's second byte.
const (
	digestSang   = 1 << 0
	digestPlayed = 1 << 1
	digestPieces = 1 << 2
	digestHeard  = 1 << 3
)

// Bits of a link's first byte beside its name, and of a note's first byte beside its verdict.
const (
	digestJoined  = 1 << 6
	digestFailed  = 1 << 7
	digestOutside = 1 << 7
)

var errDigest = errors.New("journal: a digest cannot be read")

// appendDigest packs a row: version, part, label, agreement, zone (2 bytes, minutes), time (8 bytes, ms), tempo, response, the takes'
// centres and spreads, the phrase's seconds (4-byte floats), key (length and bytes), how many links, of each name, notes compared, how many
// notes it failed at and which, and of each note verdict, kinds, step, pitch and degree (length and bytes).
func appendDigest(out []byte, r progress.Round, zoneMinutes int) []byte {
	part := bit(r.Sang, digestSang) | bit(r.Played, digestPlayed) | bit(r.Pieces, digestPieces) | bit(r.Heard, digestHeard)
	out = append(out, digestVersion, part, byte(slices.Index(digestLabels, r.Label)), byte(r.Agreement))
	out = binary.LittleEndian.AppendUint16(out, uint16(int16(zoneMinutes)))
	out = binary.LittleEndian.AppendUint64(out, uint64(r.At.UnixMilli()))
	for _, x := range []float64{r.Tempo, r.Response, r.Takes[0].CentreCents, r.Takes[0].SpreadCents, r.Takes[1].CentreCents, r.Takes[1].SpreadCents, r.Seconds} {
		out = binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(x)))
	}
	out = appendText(out, r.Key)
	out = append(out, byte(len(r.Links)))
	for _, l := range r.Links {
		out = append(out, byte(slices.Index(digestLinks, l.Name))|bit(l.Joined, digestJoined)|bit(l.Failed, digestFailed))
		out = binary.AppendUvarint(out, uint64(l.Compared))
		out = binary.AppendUvarint(out, uint64(len(l.Notes)))
		for _, n := range l.Notes {
			out = binary.AppendUvarint(out, uint64(n))
		}
	}
	for _, n := range r.Notes {
		out = append(out, byte(slices.Index(digestVerdicts, n.Verdict))|bit(n.Outside, digestOutside), byte(n.Kinds), byte(int8(n.Step)), byte(n.Pitch))
		out = appendText(out, n.Degree)
	}
	return out
}

// bit is the bit where it is set, and 0 where it is not.
func bit(set bool, bit byte) byte {
	if set {
		return bit
	}
	return 0
}

// appendText appends the length of a text, at most 255 bytes, and the text.
func appendText(out []byte, s string) []byte {
	s = s[:min(len(s), math.MaxUint8)]
	return append(append(out, byte(len(s))), s...)
}

// digestReader unpacks digests; equal texts are one string, and the notes of many rounds lie in one piece of memory.
type digestReader struct {
	texts map[string]string
	zones map[int]*time.Location
	notes []progress.Note
}

func newDigestReader() *digestReader {
	return &digestReader{texts: map[string]string{}, zones: map[int]*time.Location{}}
}

func (d *digestReader) zone(minutes int) *time.Location {
	z := d.zones[minutes]
	if z == nil {
		z = zoneOf(minutes)
		d.zones[minutes] = z
	}
	return z
}

// read unpacks what appendDigest packed.
func (d *digestReader) read(data []byte) (progress.Round, error) {
	const numbers, first = 7, 6 + 8
	const header = first + 4*numbers // bytes
	if len(data) < header+1 || data[0] != digestVersion || int(data[2]) >= len(digestLabels) {
		return progress.Round{}, errDigest
	}
	zone := int(int16(binary.LittleEndian.Uint16(data[4:])))
	atMs := int64(binary.LittleEndian.Uint64(data[6:]))
	r := progress.Round{
		At: time.UnixMilli(atMs).In(d.zone(zone)), Sang: data[1]&digestSang != 0, Played: data[1]&digestPlayed != 0,
		Pieces: data[1]&digestPieces != 0, Heard: data[1]&digestHeard != 0,
		Label: digestLabels[data[2]], Agreement: progress.Agreement(data[3]),
	}
	var x [numbers]float64
	for i := range x {
		x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(data[first+4*i:])))
	}
	r.Tempo, r.Response, r.Seconds = x[0], x[1], x[6]
	r.Takes = [2]progress.Centring{{CentreCents: x[2], SpreadCents: x[3]}, {CentreCents: x[4], SpreadCents: x[5]}}
	rest := data[header:]
	var ok bool
	if r.Key, rest, ok = d.text(rest); !ok {
		return progress.Round{}, errDigest
	}
	if r.Links, rest, ok = readLinkDigests(rest); !ok {
		return progress.Round{}, errDigest
	}
	const fixed = 4 // bytes of a note besides its degree
	d.room(len(rest) / (fixed + 1))
	from := len(d.notes)
	for len(rest) > 0 {
		if len(rest) < fixed || int(rest[0]&^digestOutside) >= len(digestVerdicts) {
			return progress.Round{}, errDigest
		}
		n := progress.Note{Verdict: digestVerdicts[rest[0]&^digestOutside], Outside: rest[0]&digestOutside != 0, Kinds: progress.Kinds(rest[1]),
			Step: int(int8(rest[2])), Pitch: int(rest[3])}
		if n.Degree, rest, ok = d.text(rest[fixed:]); !ok {
			return progress.Round{}, errDigest
		}
		d.notes = append(d.notes, n)
	}
	r.Notes = d.notes[from:len(d.notes):len(d.notes)]
	return r, nil
}

// readLinkDigests unpacks the links of a round.
func readLinkDigests(data []byte) (links []progress.LinkResult, rest []byte, ok bool) {
	if len(data) == 0 {
		return nil, nil, false
	}
	count, rest := int(data[0]), data[1:]
	varint := func() (n int, ok bool) {
		x, length := binary.Uvarint(rest)
		if length <= 0 || x > math.MaxInt32 {
			return 0, false
		}
		rest = rest[length:]
		return int(x), true
	}
	for range count {
		if len(rest) == 0 || int(rest[0]&^(digestJoined|digestFailed)) >= len(digestLinks) {
			return nil, nil, false
		}
		l := progress.LinkResult{Name: digestLinks[rest[0]&^(digestJoined|digestFailed)], Joined: rest[0]&digestJoined != 0, Failed: rest[0]&digestFailed != 0}
		rest = rest[1:]
		compared, ok1 := varint()
		notes, ok2 := varint()
		if !ok1 || !ok2 || notes > len(rest) { // each takes a byte or more
			return nil, nil, false
		}
		l.Compared = compared
		for range notes {
			n, ok := varint()
			if !ok {
				return nil, nil, false
			}
			l.Notes = append(l.Notes, n)
		}
		links = append(links, l)
	}
	return links, rest, true
}

// room makes sure that so many notes fit without moving those that are there: many rounds share one piece of memory.
func (d *digestReader) room(notes int) {
	const piece = 1 << 14 // notes
	if cap(d.notes)-len(d.notes) < notes {
		d.notes = make([]progress.Note, 0, max(piece, notes))
	}
}

func (d *digestReader) text(data []byte) (s string, rest []byte, ok bool) {
	if len(data) == 0 || len(data) < 1+int(data[0]) {
		return "", nil, false
	}
	raw := data[1 : 1+int(data[0])]
	s, ok = d.texts[string(raw)]
	if !ok {
		s = string(raw)
		d.texts[s] = s
	}
	return s, data[1+len(raw):], true
}

// Progress gives the rows of a player's rounds that began at from or later and before to, in the order of time; a zero time is no
// bound. Rounds that are deleted or marked as misheard are left out.
func (j *Journal) Progress(ctx context.Context, player string, from, to time.Time) ([]progress.Round, error) {
	rounds, err := j.progress(ctx, player, from, to)
	return rounds, j.explain("the rounds could not be read", err)
}

func (j *Journal) progress(ctx context.Context, player string, from, to time.Time) ([]progress.Round, error) {
	name, err := cleanName(player)
	if err != nil {
		return nil, err
	}
	low, high := bounds(from, to)
	const those = " FROM digests WHERE player = (SELECT id FROM players WHERE name = ?) AND at >= ? AND at < ?"
	const order = " ORDER BY at, round" // that of the table itself
	var count int
	if err := j.db.QueryRowContext(ctx, "SELECT count(*)"+those, name, low, high).Scan(&count); err != nil {
		return nil, err
	}
	d := newDigestReader()
	rounds := make([]progress.Round, 0, count)
	var stale []int // in rounds: those whose digest is of another version or damaged
	var data sql.RawBytes
	err = eachRow(ctx, j.db, func(rows *sql.Rows) error {
		if err := rows.Scan(&data); err != nil {
			return err
		}
		r, err := d.read(data)
		if err != nil {
			stale = append(stale, len(rounds))
		}
		rounds = append(rounds, r)
		return nil
	}, "SELECT digest"+those+order, name, low, high)
	for _, at := range stale {
		if err != nil {
			break
		}
		var id ID
		if err = j.db.QueryRowContext(ctx, "SELECT round"+those+order+" LIMIT 1 OFFSET ?", name, low, high, at).Scan(&id); err != nil {
			break
		}
		var rec record
		if rec, err = readRecord(ctx, j.db, id); err == nil {
			rounds[at] = rec.rowOf(rec.Sang == name, rec.Played == name)
		}
	}
	return rounds, err
}

// bounds are two times in ms, the second one excluded; a zero time is no bound.
func bounds(from, to time.Time) (low, high int64) {
	low, high = math.MinInt64, math.MaxInt64
	if !from.IsZero() {
		low = from.UnixMilli()
	}
	if !to.IsZero() {
		high = to.UnixMilli()
	}
	return low, high
}
