package journal

import (
	"database/sql"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"larkhand/hunt"
)

// Each version that was ever given out has a journal of it as SQL text, testdata/versionN.sql, written when that version was the
// newest (by LARKHAND_WRITE_FIXTURE=1 go test -run WriteFixture) and never changed since. Every one of them is opened by this program.
func TestMigrationsFromEveryVersion(t *testing.T) {
	steps, err := migrations(migrationFiles)
	if err != nil {
		t.Fatal(err)
	}
	for v := 1; v <= len(steps); v++ {
		dir := fixture(t, v)
		if v < len(steps) {
			_, err := OpenToRead(dir)
			sentence(t, err, ErrReadOnly, "of an earlier version")
		}
		j := mustOpen(t, dir)
		checkFixture(t, v, j)
		j.Close()
		mustOpen(t, dir).Close() // a second time nothing is left to do
	}
}

// fixture makes the journal of an earlier version.
func fixture(t *testing.T, version int) (dir string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", fmt.Sprintf("version%d.sql", version)))
	if err != nil {
		t.Fatalf("version %d has no journal to try: %v", version, err)
	}
	dir = t.TempDir()
	db, err := openDatabase(filepath.Join(dir, databaseName), "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(string(text)); err != nil {
		t.Fatalf("version %d: %v", version, err)
	}
	return dir
}

// checkFixture looks whether the journal holds what saveFixture put there.
func checkFixture(t *testing.T, version int, j *Journal) {
	t.Helper()
	healthy(t, j)
	rows := mustRounds(t, j, Filter{})
	if version >= withSteps {
		checkSteps(t, version, j, rows[2:])
		rows = rows[:2]
	}
	if len(rows) != 2 || rows[0].Key != "F minor" || rows[1].Sang != "Miravel" || rows[1].Label != "searched" || strings.Join(rows[1].Phrase, " ") != "1 3 5 4 3 2 1" {
		t.Fatalf("version %d: %+v", version, rows)
	}
	if deleted := mustRounds(t, j, Filter{Deleted: true}); len(deleted) != 1 {
		t.Errorf("version %d: %d deleted rounds, want 1", version, len(deleted))
	}
	if s := mustRound(t, j, rows[1].ID); len(s.Results) != 2 || s.Results[0].Outcome.Label != "known" {
		t.Errorf("version %d: results %+v", version, s.Results)
	}
	rounds, err := j.Progress(ctx, "Tobrin", time.Time{}, time.Time{})
	if err != nil || len(rounds) != 2 || rounds[0].Label != hunt.Searched || !rounds[0].Notes[2].Kinds.Has(hunt.Creep) {
		t.Fatalf("version %d: progress knows %+v, %v", version, rounds, err)
	}
	// The tune's third note is a G, its onsets are 0.45 s apart; its D is not in F minor.
	if rounds[0].Notes[2].Pitch != 67 || math.Abs(rounds[0].Seconds-6*0.45) > 1e-6 || rounds[0].Notes[5].Outside || !rounds[1].Notes[5].Outside || rounds[0].Links != nil {
		t.Errorf("version %d: progress knows %+v", version, rounds)
	}
}

// checkSteps looks at the rounds with steps, which come last in the list: one that counts and one that is marked as misheard.
func checkSteps(t *testing.T, version int, j *Journal, rows []Row) {
	t.Helper()
	if len(rows) != 2 || rows[0].Misheard || !rows[1].Misheard {
		t.Fatalf("version %d: %+v", version, rows)
	}
	for _, row := range rows {
		s := mustRound(t, j, row.ID)
		if s.PhraseName != "Rain on the roof" || len(s.Weak) != 2 || s.Pieces != 3 || len(s.PieceStarts) != 2 || s.Helped.Take2 != 2 || s.Written == nil || *s.Written.NumbersSeconds != 7.5 {
			t.Errorf("version %d: %+v", version, s)
		}
	}
	rounds, err := j.Progress(ctx, "Sorel", time.Time{}, time.Time{})
	if err != nil || len(rounds) != 1 || len(rounds[0].Links) != 4 || !rounds[0].Pieces {
		t.Errorf("version %d: progress knows %+v, %v", version, rounds, err)
	}
}

// A damaged database of an earlier version is repaired too, whatever page is damaged.
func TestRepairOfEveryVersion(t *testing.T) {
	steps, err := migrations(migrationFiles)
	if err != nil {
		t.Fatal(err)
	}
	for v := 1; v <= len(steps); v++ {
		const page = 4096 // bytes
		original := fixture(t, v)
		info, err := os.Stat(filepath.Join(original, databaseName))
		if err != nil {
			t.Fatal(err)
		}
		rounds, kept, pages := 3, 0, int(info.Size())/page
		if v >= withSteps {
			rounds = 5
		}
		for at := 1; at < pages; at++ { // the first says what file it is
			dir := t.TempDir()
			if err := os.CopyFS(dir, os.DirFS(original)); err != nil {
				t.Fatal(err)
			}
			damage(t, dir, at*page, page)
			r, err := Repair(ctx, dir)
			if err != nil || !r.Damaged {
				t.Errorf("version %d, page %d: repaired %+v, %v", v, at, r, err)
				continue
			}
			j := mustOpen(t, dir)
			healthy(t, j)
			kept += r.Kept
			j.Close()
		}
		// All rounds are lost with the page of their rows, of the players, or of the schema, of which there are up to four.
		if least := rounds * (pages - 1 - 6); kept < least {
			t.Errorf("version %d: %d rounds were kept over %d pages, want %d", v, kept, pages, least)
		}
	}
}

func saveFixture(t *testing.T, j *Journal) {
	t.Helper()
	first := mustSave(t, j, plain(t, began))
	mustSave(t, j, entry(t, began.Add(time.Hour), "F minor", "Tobrin", "Tobrin", tune))
	gone := mustSave(t, j, plain(t, began.Add(2*time.Hour)))
	again := entry(t, began, "C minor", "", "", groped)
	again.Program = "v2"
	if _, err := j.Rejudge(ctx, first, Judgement{Entry: again, At: began.Add(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	if err := j.Delete(ctx, gone); err != nil {
		t.Fatal(err)
	}
	for hours := 1; hours <= 2; hours++ {
		e := stepped(t, began.Add(-time.Duration(hours)*time.Hour))
		e.Sang, e.Played, e.Misheard = "Sorel", "Sorel", hours == 2
		mustSave(t, j, e)
	}
}

// TestWriteFixture writes the journal of the newest version as SQL text, where it is asked to.
func TestWriteFixture(t *testing.T) {
	if os.Getenv("LARKHAND_WRITE_FIXTURE") == "" {
		t.Skip("writes testdata/versionN.sql where LARKHAND_WRITE_FIXTURE is set")
	}
	steps, err := migrations(migrationFiles)
	if err != nil {
		t.Fatal(err)
	}
	j := mustOpen(t, t.TempDir())
	saveFixture(t, j)
	path := filepath.Join("testdata", fmt.Sprintf("version%d.sql", len(steps)))
	if err := os.MkdirAll("testdata", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(dump(t, j.db, len(steps))), 0o644); err != nil {
		t.Fatal(err)
	}
}

// dump writes a database as SQL text.
func dump(t *testing.T, db *sql.DB, version int) string {
	t.Helper()
	var out strings.Builder
	var tables []string
	err := eachRow(ctx, db, func(rows *sql.Rows) error {
		var kind, name, text string
		err := rows.Scan(&kind, &name, &text)
		fmt.Fprintf(&out, "%s;\n", text)
		if kind == "table" {
			tables = append(tables, name)
		}
		return err
	}, "SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid")
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range tables {
		var quoted []string
		err := eachRow(ctx, db, func(rows *sql.Rows) error {
			var column string
			err := rows.Scan(&column)
			quoted = append(quoted, fmt.Sprintf("quote(%q)", column))
			return err
		}, "SELECT name FROM pragma_table_info(?) ORDER BY cid", table)
		if err != nil {
			t.Fatal(err)
		}
		err = eachRow(ctx, db, func(rows *sql.Rows) error {
			var line string
			err := rows.Scan(&line)
			fmt.Fprintf(&out, "INSERT INTO %s VALUES (%s);\n", table, line)
			return err
		}, "SELECT "+strings.Join(quoted, " || ',' || ")+" FROM "+table)
		if err != nil {
			t.Fatal(err)
		}
	}
	fmt.Fprintf(&out, "PRAGMA user_version = %d;\nPRAGMA application_id = %d;\n", version, applicationID)
	return out.String()
}

// Steps are taken one by one, each whole or not at all, and by one program only.
func TestMigrationSteps(t *testing.T) {
	files := fstest.MapFS{
		"migrations/0001_a.sql": {Data: []byte("CREATE TABLE a (x INTEGER); INSERT INTO a VALUES (1);")},
		"migrations/0002_b.sql": {Data: []byte("ALTER TABLE a ADD COLUMN y INTEGER DEFAULT 7; UPDATE a SET x = x + 1;")},
		"migrations/0003_c.sql": {Data: []byte("UPDATE a SET x = x * 10; CREATE TABLE a (x INTEGER);")}, // fails after its first half
	}
	steps, err := migrations(files)
	if err != nil || len(steps) != 3 {
		t.Fatalf("%d steps, %v", len(steps), err)
	}
	dir := t.TempDir()
	db, err := openDatabase(filepath.Join(dir, databaseName), "_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := migrate(ctx, db, dir, steps[:1], realDisk{}); err != nil {
		t.Fatal(err)
	}
	err = migrate(ctx, db, dir, steps, realDisk{})
	if err == nil || !strings.Contains(err.Error(), "from version 2 to 3") {
		t.Errorf("the broken step gives %v", err)
	}
	var x, y, version int
	if err := db.QueryRow("SELECT x, y, user_version FROM a, pragma_user_version").Scan(&x, &y, &version); err != nil || x != 2 || y != 7 || version != 2 {
		t.Errorf("x %d, y %d, version %d (%v); want 2, 7, 2", x, y, version, err)
	}
	// Another program took the step meanwhile: it is not taken again.
	if at, err := migrateOne(ctx, db, dir, steps[:2]); at != 2 || err != nil {
		t.Errorf("a step that was taken: %d, %v", at, err)
	}
}

// A new journal that a stopped program had not finished making is finished by the next one.
func TestStoppedWhileMakingAJournal(t *testing.T) {
	dir := t.TempDir()
	if err := makePrivate(filepath.Join(dir, databaseName)); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(dir, partsName), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, partsName, "x"+noteEnding), nil, 0o600); err != nil { // and somebody's own file
		t.Fatal(err)
	}
	j := mustOpen(t, dir)
	mustSave(t, j, plain(t, began))
	healthy(t, j)
}
