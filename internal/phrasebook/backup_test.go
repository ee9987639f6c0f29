package phrasebook_test

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
)

// TestBackup: the copy is a book of its own; a second one copies what changed alone, and a phrase is there once after it was removed or
// restored.
func TestBackup(t *testing.T) {
	dir := t.TempDir()
	b, copied := phrasebook.Open(filepath.Join(dir, "phrases")), phrasebook.Open(filepath.Join(dir, "copy", "phrases"))
	backup := func(want int) {
		t.Helper()
		if n, err := b.Backup(copied); n != want || err != nil {
			t.Fatalf("%d files copied, %v; want %d", n, err, want)
		}
		for what, read := range map[string]func(phrasebook.Book) ([]phrasebook.Entry, error){
			"kept": phrasebook.Book.List, "removed": phrasebook.Book.Removed,
		} {
			here, err := read(b)
			if err != nil {
				t.Fatal(err)
			}
			if there, err := read(copied); err != nil || !reflect.DeepEqual(here, there) {
				t.Errorf("%s: %v in the copy, %v; want %v", what, there, err, here)
			}
		}
	}
	do := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	backup(0)
	for _, name := range []string{"Rain", "Harbour", "雨の歌"} {
		_, err := b.Keep(made(t, name), monday)
		do(err)
	}
	do(b.Remove("Harbour"))
	backup(3)
	backup(0)
	_, err := b.Try("Rain", "Mira", "Eb", phrase.Knew, monday)
	do(err)
	backup(1)
	do(b.Restore("Harbour"))
	do(b.Remove("Rain"))
	backup(2)
	if n, problems := copied.Check(); n != 3 || len(problems) > 0 {
		t.Errorf("%d phrases, problems %q", n, problems)
	}
}

func TestCheckNamesWhatCannotBeRead(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "phrases")
	b := phrasebook.Open(dir)
	if n, problems := b.Check(); n != 0 || len(problems) > 0 {
		t.Errorf("of a folder that is not there: %d, %q", n, problems)
	}
	for _, name := range []string{"Rain", "Harbour"} {
		if _, err := b.Keep(made(t, name), monday); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"a.json", "b.json"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("{"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	n, problems := b.Check()
	if n != 2 || len(problems) != 2 || !strings.Contains(problems[0], "a.json is no phrase") || !strings.Contains(problems[1], "b.json is no phrase") {
		t.Errorf("%d phrases, problems %q", n, problems)
	}
}
