package journal

import (
	"context"
	"database/sql"
	"strings"
	"time"
)

// Filter chooses rounds. The zero value chooses all that are not deleted.
type Filter struct {
	Player   string    // sang or played; "" for all
	Key      string    // as music.Key writes it; "" for all
	From, To time.Time // began at From or later and before To; zero is no bound
	Deleted  bool      // those that are deleted instead
	Misheard bool      // only those that are marked as misheard
	Counting bool      // only those that are not, and so count
	// NotProgram chooses rounds that another version than this judged last: those that may be judged again. "" for all.
	NotProgram string
}

// Page is a part of a list, the newest rounds first. The zero value is the first page.
type Page struct {
	After Cursor // the last round of the page before; zero for the first page
	Limit int    // rounds at most; 0 is 50
}

// Cursor is a place in a list.
type Cursor struct {
	At time.Time
	ID ID
}

const usualLimit = 50

// Row is a round as a list shows it.
type Row struct {
	ID                                       ID
	UID                                      string
	At                                       time.Time // on the clock that hung on the wall
	Sang, Played                             string
	Key                                      string
	KeyGuessed                               bool
	Chart                                    string   // "" without a loop
	Tempo                                    *float64 // quarter notes a minute; nil without a loop
	Phrase                                   []string // degrees, as matched
	Label                                    string   // known, unsure, searched
	Searched                                 float64  // probability
	Response                                 *float64 // s; nil where not known
	Same, Different, LeftOut, Unclear, Added int
	Program                                  string // the version that judged it last
	Files                                    bool   // its takes and answer are kept
	Deleted                                  bool
	Misheard                                 bool     // marked by the player: the program heard other notes than were sung
	PhraseName                               string   // the kept phrase that it is a round of; "" without
	Numbers, Letters                         string   // as the player wrote them down; "" where the step was left out
	Weak                                     []string // the links that failed, as package steps names them
	Pieces                                   int      // in which the answer was played; 1 where it was at once
}

// Cursor is the place of a row in a list.
func (r Row) Cursor() Cursor { return Cursor{r.At, r.ID} }

// where is the condition of a filter: on columns that the index rounds_page holds, but for NotProgram, which is for long jobs.
func (f Filter) where() (condition string, args []any, err error) {
	conditions := []string{"deleted_at IS NULL"}
	if f.Deleted {
		conditions[0] = "deleted_at IS NOT NULL"
	}
	if f.Player != "" {
		name, err := cleanName(f.Player)
		if err != nil {
			return "", nil, err
		}
		conditions = append(conditions, "(SELECT id FROM players WHERE name = ?) IN (sang, played)")
		args = append(args, name)
	}
	if f.Key != "" {
		conditions = append(conditions, "key = ?")
		args = append(args, f.Key)
	}
	if !f.From.IsZero() || !f.To.IsZero() {
		low, high := bounds(f.From, f.To)
		conditions = append(conditions, "at >= ? AND at < ?")
		args = append(args, low, high)
	}
	if f.Misheard {
		conditions = append(conditions, "misheard")
	}
	if f.Counting {
		conditions = append(conditions, "NOT misheard")
	}
	if f.NotProgram != "" {
		conditions = append(conditions, "program <> ?")
		args = append(args, f.NotProgram)
	}
	return strings.Join(conditions, " AND "), args, nil
}

// Count gives how many rounds a filter chooses.
func (j *Journal) Count(ctx context.Context, f Filter) (n int, err error) {
	condition, args, err := f.where()
	if err != nil {
		return 0, err
	}
	err = j.db.QueryRowContext(ctx, "SELECT count(*) FROM rounds INDEXED BY rounds_page WHERE "+condition, args...).Scan(&n)
	return n, j.explain("the rounds could not be counted", err)
}

// Rounds gives a page of the rounds that a filter chooses, the newest first.
func (j *Journal) Rounds(ctx context.Context, f Filter, p Page) ([]Row, error) {
	condition, args, err := f.where()
	if err != nil {
		return nil, err
	}
	if p.After != (Cursor{}) {
		condition += " AND (at, id) < (?, ?)"
		args = append(args, p.After.At.UnixMilli(), p.After.ID)
	}
	if p.Limit <= 0 {
		p.Limit = usualLimit
	}
	// The inner query reads the index alone; the outer one reads only the rounds of the page.
	rows, err := j.rows(ctx, "id IN (SELECT id FROM rounds INDEXED BY rounds_page WHERE "+condition+" ORDER BY at DESC, id DESC LIMIT ?)", append(args, p.Limit)...)
	return rows, j.explain("the rounds could not be read", err)
}

const selectRows = `SELECT rounds.id, uid, at, zone_minutes, s.name, p.name, key, key_guessed, coalesce(chart, ''), tempo, label, searched, response,
	same, different, left_out, unclear, added, program, folder IS NOT NULL, deleted_at IS NOT NULL,
	misheard, coalesce(phrase_name, ''), coalesce(numbers, ''), coalesce(letters, ''),
	CASE WHEN coalesce(numbers, letters) IS NOT NULL THEN
		(SELECT group_concat(links.name, '|' ORDER BY position) FROM links WHERE links.round = rounds.id AND failed) END,
	(SELECT 1 + count(*) FROM pieces WHERE pieces.round = rounds.id),
	(SELECT group_concat(degree, ' ' ORDER BY position) FROM notes
		WHERE notes.round = rounds.id AND take = (SELECT max(number) FROM takes WHERE takes.round = rounds.id))
	FROM rounds JOIN players s ON s.id = sang JOIN players p ON p.id = played`

func (j *Journal) rows(ctx context.Context, condition string, args ...any) ([]Row, error) {
	var list []Row
	err := eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var r Row
		var at int64
		var zone int
		var phrase, weak sql.NullString
		err := rows.Scan(&r.ID, &r.UID, &at, &zone, &r.Sang, &r.Played, &r.Key, &r.KeyGuessed, &r.Chart, &r.Tempo, &r.Label, &r.Searched, &r.Response,
			&r.Same, &r.Different, &r.LeftOut, &r.Unclear, &r.Added, &r.Program, &r.Files, &r.Deleted,
			&r.Misheard, &r.PhraseName, &r.Numbers, &r.Letters, &weak, &r.Pieces, &phrase)
		r.At, r.Phrase = clock(at, zone), strings.Fields(phrase.String)
		if weak.Valid {
			r.Weak = strings.Split(weak.String, "|")
		}
		list = append(list, r)
		return err
	}, selectRows+" WHERE rounds."+condition+" ORDER BY at DESC, rounds.id DESC", args...)
	return list, err
}

// Player is somebody who sang or played.
type Player struct {
	Name   string // "" for one without a name
	Rounds int    // in which the player sang or played, without those that are deleted or marked as misheard
	Last   time.Time
}

// Players lists all players with rounds, the one who played last first.
func (j *Journal) Players(ctx context.Context) ([]Player, error) {
	var list []Player
	err := eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var p Player
		var last int64
		err := rows.Scan(&p.Name, &p.Rounds, &last)
		p.Last = time.UnixMilli(last)
		list = append(list, p)
		return err
	}, `SELECT name, (SELECT count(*) FROM digests WHERE player = id) AS n, (SELECT max(at) FROM digests WHERE player = id) AS last
		FROM players WHERE n > 0 ORDER BY last DESC, name`)
	return list, j.explain("the players could not be read", err)
}

// Keys lists the keys of all rounds that are not deleted, in the order of the alphabet.
func (j *Journal) Keys(ctx context.Context) ([]string, error) {
	var list []string
	err := eachRow(ctx, j.db, func(rows *sql.Rows) error {
		var key string
		err := rows.Scan(&key)
		list = append(list, key)
		return err
	}, "SELECT DISTINCT key FROM rounds INDEXED BY rounds_page WHERE deleted_at IS NULL ORDER BY key")
	return list, j.explain("the keys could not be read", err)
}
