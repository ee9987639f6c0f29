package journal

import (
	"bytes"
	"database/sql"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
)

func TestSavedRoundComesBack(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	e := withFiles(t, entry(t, began, "C minor", " Miravel ", "Tobrin", groped))
	id := mustSave(t, j, e)
	s := mustRound(t, j, id)
	if s.ID != id || s.Sang != "Miravel" || s.Played != "Tobrin" || s.Key != "C minor" || s.Chart != "Cm7 | Fm7 | G7b9 | Cm7" || *s.Tempo != 96 || s.LoopStarts != 0.25 || *s.AnswerStarts != 5 {
		t.Errorf("the round came back as %+v", s)
	}
	if !s.At.Equal(began) || s.At.Format(time.TimeOnly) != "18:30:00" {
		t.Errorf("it began at %v, want %v", s.At, began)
	}
	if want := "1 3 5 4 3 2 1"; strings.Join(s.Phrase, " ") != want {
		t.Errorf("phrase %q, want %q", s.Phrase, want)
	}
	if s.Label != string(hunt.Searched) || s.Same != 7 || s.Added != 2 || s.Program != "v1" || !s.Files || s.Deleted {
		t.Errorf("judged %+v", s.Row)
	}
	// The last sung note ends at 0.5 + 6*0.45 + 0.38 = 3.58 s, the answer begins at 5 s.
	if s.Response == nil || math.Abs(*s.Response-1.42) > 1e-9 {
		t.Errorf("response %v, want 1.42 s", s.Response)
	}
	if len(s.Results) != 1 || !bytes.Equal(s.Results[0].Document, e.Document) {
		t.Errorf("results %+v", s.Results)
	}
	for i, f := range append(s.Takes, s.Answer) {
		data, err := os.ReadFile(f.Path)
		if err != nil || f.State != Good || f.Remark != "" {
			t.Fatalf("file %d: %+v, %v", i, f, err)
		}
		if want := append(e.Takes, e.Answer)[i]; !bytes.Equal(data, want) {
			t.Errorf("%s holds other bytes than were saved", f.Path)
		}
	}
	if sound, err := soundfile.Read(s.Takes[0].Path); err != nil || sound.Rate != 16000 || len(sound.Samples) != 4000 {
		t.Errorf("take 1 is read as %d samples at %d Hz (%v)", len(sound.Samples), sound.Rate, err)
	}
	if h := healthy(t, j); h.Rounds != 1 || h.Files != 3 {
		t.Errorf("checked %d rounds and %d files, want 1 and 3", h.Rounds, h.Files)
	}
	if left, _ := os.ReadDir(filepath.Join(j.dir, partsName)); len(left) > 0 {
		t.Errorf("parts holds %v", left)
	}
}

// Everything that is inserted is read back, and what progress gets of it is what it would get of the judged round itself.
func TestRowsAreReadBack(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	e := stepped(t, began)
	e.Sang, e.Played = "Miravel", "Miravel"
	entries := []Entry{e}
	for _, answer := range [][]int{tune, groped, {60, 63, 70, 65, 62, 60}} {
		entries = append(entries, entry(t, began, "C minor", "Miravel", "Miravel", answer))
	}
	for _, e := range entries {
		id := mustSave(t, j, e)
		want, err := recordOf(e)
		if err != nil {
			t.Fatal(err)
		}
		got, err := readRecord(ctx, j.db, id)
		if err != nil {
			t.Fatal(err)
		}
		want.UID = got.UID
		if !reflect.DeepEqual(got, want) {
			t.Errorf("read back %+v\nwant %+v", got, want)
		}
		row := progress.Row(e.Round, got.at(), true, true)
		if !reflect.DeepEqual(got.rowOf(true, true), row) {
			t.Errorf("progress gets %+v\nwant %+v", got.rowOf(true, true), row)
		}
	}
}

func TestProgressRows(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	e1 := entry(t, began, "C minor", "Miravel", "Tobrin", groped)
	e2 := entry(t, began.Add(time.Minute), "F minor", "Tobrin", "", tune)
	mustSave(t, j, e2)
	mustSave(t, j, e1)
	rounds, err := j.Progress(ctx, "Tobrin", time.Time{}, time.Time{})
	if err != nil || len(rounds) != 2 {
		t.Fatalf("%d rounds, %v", len(rounds), err)
	}
	for i, e := range []Entry{e1, e2} {
		want := progress.Row(e.Round, rounds[i].At, i == 1, true)
		got := rounds[i]
		// Digests keep quantities as 4-byte floats.
		if !rounds[i].At.Equal(e.At) || math.Abs(got.Response-want.Response) > 1e-6 || math.Abs(got.Seconds-want.Seconds) > 1e-6 || math.Abs(got.Takes[0].CentreCents-want.Takes[0].CentreCents) > 1e-5 {
			t.Errorf("round %d: %+v, want %+v", i, got, want)
		}
		got.Response, got.Takes, got.Seconds = want.Response, want.Takes, want.Seconds
		if !reflect.DeepEqual(got, want) {
			t.Errorf("round %d: %+v, want %+v", i, got, want)
		}
	}
	if n := mustProgress(t, j, "Miravel"); n != 1 {
		t.Errorf("Miravel has %d rounds, want 1", n)
	}
	if n := mustProgress(t, j, "nobody"); n != 0 {
		t.Errorf("nobody has %d rounds", n)
	}
	if late, err := j.Progress(ctx, "Tobrin", began.Add(time.Second), time.Time{}); err != nil || len(late) != 1 || late[0].Key != "F minor" {
		t.Errorf("from a second later on: %+v, %v", late, err)
	}
}

// A digest of another version, or a damaged one, is made from the tables.
func TestUnreadableDigestsAreMadeAnew(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	mustSave(t, j, plain(t, began))
	want, err := j.Progress(ctx, "Tobrin", time.Time{}, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for _, digest := range []string{"substr(digest, 1, 45)", "x'01000102'", "x''"} {
		if _, err := j.db.Exec("UPDATE digests SET digest = " + digest); err != nil {
			t.Fatal(err)
		}
		got, err := j.Progress(ctx, "Tobrin", time.Time{}, time.Time{})
		if err != nil || len(got) != 1 || !slices.Equal(got[0].Notes, want[0].Notes) || got[0].Label != want[0].Label || !got[0].Played || got[0].Sang {
			t.Errorf("digest %s: %+v, %v; want %+v", digest, got, err, want)
		}
		if h, err := j.Check(ctx); err != nil || len(h.Problems) == 0 || !strings.Contains(h.Problems[0].Text, "progress lacks") {
			t.Errorf("digest %s: the check says %+v, %v", digest, h.Problems, err)
		}
	}
}

func TestFiltersAndPages(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	for i := range 30 {
		key, sang, playing := "C minor", "Miravel", "Tobrin"
		if i%3 == 0 {
			key = "F minor"
		}
		if i%2 == 0 {
			sang, playing = "Tobrin", "Sorel"
		}
		mustSave(t, j, entry(t, began.Add(time.Duration(i)*time.Hour), key, sang, playing, tune))
	}
	for _, c := range []struct {
		name   string
		filter Filter
		want   int
	}{
		{"all", Filter{}, 30},
		{"key", Filter{Key: "F minor"}, 10},
		{"player who sang or played", Filter{Player: "Tobrin"}, 30},
		{"player", Filter{Player: "Sorel"}, 15},
		{"player and key", Filter{Player: "Sorel", Key: "F minor"}, 5},
		{"unknown player", Filter{Player: "Nobody"}, 0},
		{"from", Filter{From: began.Add(20 * time.Hour)}, 10},
		{"to", Filter{To: began.Add(20 * time.Hour)}, 20},
		{"both", Filter{From: began.Add(5 * time.Hour), To: began.Add(6 * time.Hour)}, 1},
		{"deleted", Filter{Deleted: true}, 0},
	} {
		n, err := j.Count(ctx, c.filter)
		if err != nil || n != c.want {
			t.Errorf("%s: counted %d, want %d (%v)", c.name, n, c.want, err)
		}
		var all []Row
		page := Page{Limit: 4}
		for {
			rows, err := j.Rounds(ctx, c.filter, page)
			if err != nil {
				t.Fatal(err)
			}
			if len(rows) == 0 {
				break
			}
			all = append(all, rows...)
			page.After = rows[len(rows)-1].Cursor()
		}
		newestFirst := slices.IsSortedFunc(all, func(a, b Row) int { return b.At.Compare(a.At) })
		if len(all) != c.want || !newestFirst {
			t.Errorf("%s: %d rounds in pages, newest first %v; want %d", c.name, len(all), newestFirst, c.want)
		}
	}
	players, err := j.Players(ctx)
	if err != nil || len(players) != 3 || players[0].Name != "Miravel" || players[0].Rounds != 15 || players[1].Name != "Tobrin" || players[1].Rounds != 30 {
		t.Errorf("players %+v, %v", players, err)
	}
	if keys, err := j.Keys(ctx); err != nil || !slices.Equal(keys, []string{"C minor", "F minor"}) {
		t.Errorf("keys %v, %v", keys, err)
	}
}

// Rounds that began in the same millisecond are told apart by their numbers.
func TestPagesOfEqualTimes(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	for range 5 {
		mustSave(t, j, plain(t, began))
	}
	seen := map[ID]bool{}
	page := Page{Limit: 2}
	for range 3 {
		rows, err := j.Rounds(ctx, Filter{}, page)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			seen[r.ID] = true
		}
		page.After = rows[len(rows)-1].Cursor()
	}
	if len(seen) != 5 {
		t.Errorf("the pages show %d of 5 rounds", len(seen))
	}
}

// Lists are found in an index, and progress in one table: neither reads what it does not show.
func TestQueriesUseTheirIndex(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	for query, want := range map[string]string{
		"SELECT id FROM rounds INDEXED BY rounds_page WHERE deleted_at IS NULL AND key = 'x' ORDER BY at DESC, id DESC LIMIT 9": "USING COVERING INDEX rounds_page",
		"SELECT digest FROM digests WHERE player = 1 AND at >= 0 AND at < 9 ORDER BY at, round":                                 "SEARCH digests USING PRIMARY KEY (player=? AND at>? AND at<?)",
	} {
		var plan []string
		err := eachRow(ctx, j.db, func(rows *sql.Rows) error {
			var a, b, c any
			var text string
			err := rows.Scan(&a, &b, &c, &text)
			plan = append(plan, text)
			return err
		}, "EXPLAIN QUERY PLAN "+query)
		if err != nil || len(plan) != 1 || !strings.Contains(plan[0], want) {
			t.Errorf("%s\nis done by %q (%v), want %q", query, plan, err, want)
		}
	}
}

func TestDeleteUndoPurge(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	keep := mustSave(t, j, withFiles(t, plain(t, began)))
	gone := mustSave(t, j, withFiles(t, entry(t, began.Add(time.Minute), "C minor", "Sorel", "Sorel", tune)))
	folder := filepath.Dir(mustRound(t, j, gone).Answer.Path)
	if err := j.Delete(ctx, gone); err != nil {
		t.Fatal(err)
	}
	if rows := mustRounds(t, j, Filter{}); len(rows) != 1 || rows[0].ID != keep {
		t.Errorf("after deleting, the list is %+v", rows)
	}
	if rows := mustRounds(t, j, Filter{Deleted: true}); len(rows) != 1 || rows[0].ID != gone || !rows[0].Deleted {
		t.Errorf("deleted are %+v", rows)
	}
	if n := mustProgress(t, j, "Sorel"); n != 0 {
		t.Errorf("progress still knows %d deleted rounds", n)
	}
	healthy(t, j)
	if err := j.Undelete(ctx, gone); err != nil {
		t.Fatal(err)
	}
	if n := mustProgress(t, j, "Sorel"); n != 1 || len(mustRounds(t, j, Filter{})) != 2 {
		t.Errorf("after undoing, progress knows %d", n)
	}
	if err := j.Delete(ctx, gone); err != nil {
		t.Fatal(err)
	}
	if n, err := j.Deleted(ctx); n != 1 || err != nil {
		t.Errorf("%d deleted, %v", n, err)
	}
	if n, err := j.Purge(ctx, keep); n != 0 || err != nil {
		t.Errorf("purged %d rounds that are not deleted, %v", n, err)
	}
	if n, err := j.PurgeAll(ctx); n != 1 || err != nil {
		t.Fatalf("purged %d, %v", n, err)
	}
	if _, err := os.Stat(folder); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%s is still there (%v)", folder, err)
	}
	if _, err := j.Round(ctx, gone); !errors.Is(err, ErrNotFound) || !strings.Contains(err.Error(), "larkhand history") {
		t.Errorf("a purged round gives %v", err)
	}
	if err := j.Undelete(ctx, gone); !errors.Is(err, ErrNotFound) {
		t.Errorf("bringing back a purged round gives %v", err)
	}
	if players, err := j.Players(ctx); err != nil || len(players) != 2 {
		t.Errorf("players %+v, %v", players, err)
	}
	if h := healthy(t, j); h.Rounds != 1 || h.Files != 3 {
		t.Errorf("checked %d rounds and %d files, want 1 and 3", h.Rounds, h.Files)
	}
}

// More rounds than go in one transaction.
func TestPurgeMany(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	const rounds = purgedAtOnce + 5
	_, err := j.Load(ctx, func(yield func(Entry) bool) {
		for range rounds {
			if !yield(plain(t, began)) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	var ids []ID
	rows, err := j.Rounds(ctx, Filter{}, Page{Limit: rounds})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		ids = append(ids, r.ID)
	}
	if err := j.Delete(ctx, ids...); err != nil {
		t.Fatal(err)
	}
	if n, err := j.Purge(ctx, ids...); n != rounds || err != nil {
		t.Errorf("purged %d of %d, %v", n, rounds, err)
	}
	healthy(t, j)
}

func TestRejudgeKeepsOldAndNew(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	id := mustSave(t, j, withFiles(t, plain(t, began)))
	again := entry(t, began, "C dorian", "", "", groped)
	again.Program = "v2"
	at := began.Add(24 * time.Hour)
	change, err := j.Rejudge(ctx, id, Judgement{Entry: again, At: at})
	if err != nil {
		t.Fatal(err)
	}
	if change.Same() || change.Before.Label != "known" || change.After.Label != "searched" || change.After.Added != 2 {
		t.Errorf("change %+v", change)
	}
	s := mustRound(t, j, id)
	if s.Label != "searched" || s.Program != "v2" || s.Key != "C dorian" || s.Sang != "Miravel" || s.Played != "Tobrin" || !s.At.Equal(began) || s.Answer.State != Good {
		t.Errorf("the round is now %+v", s)
	}
	if len(s.Results) != 2 || s.Results[0].Program != "v1" || s.Results[0].Outcome.Label != "known" || s.Results[1].Program != "v2" || !s.Results[1].At.Equal(at) ||
		!bytes.Equal(s.Results[1].Document, again.Document) {
		t.Errorf("results %+v", s.Results)
	}
	rounds, err := j.Progress(ctx, "Tobrin", time.Time{}, time.Time{})
	if err != nil || len(rounds) != 1 || rounds[0].Label != hunt.Searched || rounds[0].Key != "C dorian" {
		t.Errorf("progress knows %+v, %v", rounds, err)
	}
	healthy(t, j)
	for program, want := range map[string]int{"v1": 1, "v2": 0, "": 1} {
		if n, err := j.Count(ctx, Filter{NotProgram: program}); n != want || err != nil {
			t.Errorf("%d rounds were judged by another program than %q, want %d (%v)", n, program, want, err)
		}
	}
	if same, err := j.Rejudge(ctx, id, Judgement{Entry: again, At: at}); err != nil || !same.Same() {
		t.Errorf("judged the same again: %+v, %v", same, err)
	}
	if _, err := j.Rejudge(ctx, id+1, Judgement{Entry: again, At: at}); !errors.Is(err, ErrNotFound) {
		t.Errorf("a round that is not there gives %v", err)
	}
}

func TestLoad(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	n, err := j.Load(ctx, func(yield func(Entry) bool) {
		for i := range 3 {
			if !yield(plain(t, began.Add(time.Duration(i)*time.Minute))) {
				return
			}
		}
	})
	if err != nil || n != 3 || mustProgress(t, j, "Tobrin") != 3 {
		t.Errorf("loaded %d, %v", n, err)
	}
	bad := plain(t, began)
	bad.Document = []byte("{")
	if n, err := j.Load(ctx, slices.Values([]Entry{plain(t, began), bad})); err == nil || n != 0 {
		t.Errorf("loaded %d with one that cannot be kept (%v)", n, err)
	}
	if c, _ := j.Count(ctx, Filter{}); c != 3 {
		t.Errorf("%d rounds after a load that failed, want 3", c)
	}
	healthy(t, j)
}

func TestEntriesThatCannotBeKept(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	good := withFiles(t, plain(t, began))
	for _, c := range []struct {
		name   string
		change func(*Entry)
		says   string
	}{
		{"no time", func(e *Entry) { e.At = time.Time{} }, "time"},
		{"one file too few", func(e *Entry) { e.Takes = e.Takes[:1] }, "give all files or none"},
		{"no answer", func(e *Entry) { e.Answer = nil }, "give all files or none"},
		{"a WAV", func(e *Entry) { e.Takes = [][]byte{[]byte("RIFF"), e.Takes[1]} }, "FLAC"},
		{"an answer that is no MIDI file", func(e *Entry) { e.Answer = e.Takes[0] }, "MIDI"},
		{"no result", func(e *Entry) { e.Document = nil }, "JSON"},
		{"a recording elsewhere", func(e *Entry) { e.Recording = "../rounds" }, "no name of a recording"},
		{"a name with a line break", func(e *Entry) { e.Sang = "Mi\nravel" }, "cannot be shown"},
		{"a name without end", func(e *Entry) { e.Played = strings.Repeat("x", 200) }, "shorter"},
		{"a phrase's name without end", func(e *Entry) { e.PhraseName = strings.Repeat("x", 201) }, "shorter"},
		{"a phrase's name to mislead a terminal", func(e *Entry) { e.PhraseName = "Ra\x1b[2Jin" }, "cannot be shown"},
		{"numbers without end", func(e *Entry) { e.Round.Written = &round.Written{Numbers: strings.Repeat("1", 2001)} }, "shorter"},
		{"letters to mislead a terminal", func(e *Entry) { e.Round.Written = &round.Written{Letters: "C\x1b[2JD"} }, "cannot be shown"},
		{"a piece at no time", func(e *Entry) { e.Round.Pieces = []float64{1, math.NaN()} }, "no time"},
		{"a piece before the answer", func(e *Entry) { e.Round.Pieces = []float64{-1} }, "no time"},
		{"pieces without end", func(e *Entry) { e.Round.Pieces = make([]float64, 1001) }, "at most 1000"},
	} {
		e := good
		c.change(&e)
		if _, err := j.Save(ctx, e); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want a sentence with %q", c.name, err, c.says)
		}
	}
	if c, _ := j.Count(ctx, Filter{}); c != 0 {
		t.Errorf("%d rounds were kept", c)
	}
	healthy(t, j)
}

// Names that look alike and are typed differently are one player; those with signs of any script come back as they were.
func TestNames(t *testing.T) {
	j := mustOpen(t, t.TempDir())
	names := []string{"Zoe\u0301", "Zo\u00e9", `<b>"O'Neill"</b>`, "🎹 Tobrin", "מירב", ""}
	for i, name := range names {
		mustSave(t, j, entry(t, began.Add(time.Duration(i)*time.Minute), "C minor", name, name, tune))
	}
	for name, want := range map[string]int{"Zo\u00e9": 2, "Zoe\u0301": 2, `<b>"O'Neill"</b>`: 1, "🎹 Tobrin": 1, "מירב": 1, "": 1} {
		if n := mustProgress(t, j, name); n != want {
			t.Errorf("%q has %d rounds, want %d", name, n, want)
		}
	}
}

// The folder may have any name.
func TestOddFolders(t *testing.T) {
	for _, name := range []string{"a b", "50%20?#x&y=1", "Übung", "'quoted'"} {
		dir := filepath.Join(t.TempDir(), name)
		j := mustOpen(t, dir)
		id := mustSave(t, j, withFiles(t, plain(t, began)))
		if s := mustRound(t, j, id); s.Answer.State != Good {
			t.Errorf("%s: %+v", name, s.Answer)
		}
		if _, err := os.Stat(filepath.Join(dir, databaseName)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		b, err := j.Backup(ctx, filepath.Join(t.TempDir(), name))
		if err != nil || b.Rounds != 1 {
			t.Errorf("%s: backed up %+v, %v", name, b, err)
		}
	}
}

func TestDefaultDir(t *testing.T) {
	if dir := DefaultDir(); filepath.Base(dir) != "larkhand" || !filepath.IsAbs(dir) {
		t.Errorf("the journal lies in %q", dir)
	}
	w := Where("/x")
	if w.Database != filepath.Join("/x", "journal.db") || w.Rounds != filepath.Join("/x", "rounds") || w.Recording != filepath.Join("/x", "recording") {
		t.Errorf("%+v", w)
	}
}
