package phrasebook_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
)

var monday = time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC)

func made(t interface{ Fatal(...any) }, name string) phrase.Phrase {
	p, err := phrase.Read("1 2 b3:2 5", "minor", music.AlteredNumbers)
	if err != nil {
		t.Fatal(err)
	}
	p.Name, p.Tags, p.Chords = name, []string{"minor", "Tuesday"}, "Cm7 | G7"
	return p
}

func Example() {
	dir, _ := os.MkdirTemp("", "")
	defer os.RemoveAll(dir)
	b := phrasebook.Open(dir)
	p, _ := phrase.Read("1 2 b3:2 5", "minor", music.AlteredNumbers)
	p.Name = "Rain"
	b.Keep(p, time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC))
	card, err := b.Try("rain", "Mira", "Eb", phrase.Knew, time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC))
	fmt.Println(card.Due().Format(time.DateOnly), card.Reason(), err)
	// Output: 2026-03-03 recalled once, so it comes back after a day <nil>
}

// TestWhatIsKeptIsThere, also with names that make trouble, and after removal and return.
func TestWhatIsKeptIsThere(t *testing.T) {
	b := phrasebook.Open(filepath.Join(t.TempDir(), "deep", "phrases"))
	if list, err := b.List(); err != nil || len(list) != 0 {
		t.Fatalf("of a folder that is not there: %v, %v", list, err)
	}
	names := []string{"Rain", "../../etc/passwd", "<b>bold</b> \"x\"", "雨の歌", "مطر", "🎵", strings.Repeat("long ", 39) + "end", "con", "."}
	for _, name := range names {
		if _, err := b.Keep(made(t, name), monday); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := b.Try("RAIN", "Mira", "Eb", phrase.Knew, monday); err != nil {
		t.Fatal(err)
	}
	list, err := b.List()
	if err != nil || len(list) != len(names) {
		t.Fatalf("%d phrases, %v; want %d", len(list), err, len(names))
	}
	e, err := b.Find("rain")
	want := made(t, "Rain")
	if err != nil || !reflect.DeepEqual(e.Phrase, want) || !e.Kept.Equal(monday) || e.Cards["Mira"]["Eb"].Tries != 1 {
		t.Errorf("%+v, %v; want %+v", e, err, want)
	}
	files, _ := filepath.Glob(filepath.Join(b.Dir(), "*"))
	if len(files) != len(names) {
		t.Errorf("files outside the folder or shared: %v", files)
	}
	if err := b.Remove("rain"); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Find("rain"); !errors.Is(err, phrasebook.ErrNone) || !strings.Contains(err.Error(), "there are:") {
		t.Errorf("after removal: %v", err)
	}
	if gone, err := b.Removed(); err != nil || len(gone) != 1 {
		t.Errorf("removed: %v, %v", gone, err)
	}
	if err := b.Restore("rain"); err != nil {
		t.Fatal(err)
	}
	if e, err := b.Find("Rain"); err != nil || e.Cards["Mira"]["Eb"].Tries != 1 {
		t.Errorf("after its return: %+v, %v", e, err)
	}
}

func TestRefuses(t *testing.T) {
	b := phrasebook.Open(t.TempDir())
	if _, err := b.Keep(made(t, "Rain"), monday); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{" ": "needs a name", "rAIN": "kept already", "a\x00b": "control characters", strings.Repeat("x", 201): "at most 200"} {
		if _, err := b.Keep(made(t, name), monday); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", name, err, want)
		}
	}
	if err := b.Remove("Snow"); !errors.Is(err, phrasebook.ErrNone) {
		t.Errorf("removing what is not there: %v", err)
	}
	if err := b.Restore("Rain"); err == nil {
		t.Error("a phrase came back over another one")
	}
}

// TestBrokenFiles are named, and the others are there all the same.
func TestBrokenFiles(t *testing.T) {
	for name, text := range map[string]string{
		"empty": "", "other": `{"schema":"other/1"}`, "newer": `{"schema":"larkhand.phrase/2","name":"x"}`,
		"no notes": `{"schema":"larkhand.phrase/1","name":"x","scale":"minor","notes":[]}`,
		"overlap":  `{"schema":"larkhand.phrase/1","name":"x","scale":"minor","notes":[{"semitones":0,"start":0,"length":2},{"semitones":0,"start":1,"length":1}]}`,
		"high":     `{"schema":"larkhand.phrase/1","name":"x","scale":"minor","notes":[{"semitones":900,"start":0,"length":2}]}`,
		"card":     `{"schema":"larkhand.phrase/1","name":"x","scale":"minor","notes":[{"semitones":0,"start":0,"length":2}],"players":{"":{"C":{"tries":1,"repetitions":5,"ease":2.5,"days":1}}}}`,
	} {
		b := phrasebook.Open(t.TempDir())
		if _, err := b.Keep(made(t, "Rain"), monday); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(b.Dir(), "broken.json"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		list, err := b.List()
		if len(list) != 1 || err == nil || !strings.Contains(err.Error(), "broken.json is no phrase") {
			t.Errorf("%s: %d phrases, %v", name, len(list), err)
		}
	}
}
