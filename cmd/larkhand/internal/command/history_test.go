package command

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"larkhand/hunt"
	"larkhand/internal/demo"
	"larkhand/internal/journal"
)

// oldEntry is a round as an earlier version would have judged it, which took the answer for searched.
func oldEntry(t *testing.T) journal.Entry {
	t.Helper()
	_, _, _, answer, _ := demo.Round()
	path := filepath.Join(t.TempDir(), "phrase.mid")
	if err := os.WriteFile(path, answer, 0o600); err != nil {
		t.Fatal(err)
	}
	files := []string{path, path}
	flags := settings{theory: theory{key: "C minor", numbering: "scale"}, saving: saving{sang: "Miravel", at: "2026-11-03 18:30"}, instrument: "keys"}
	r, err := checkFiles(t.Context(), files, flags)
	if err != nil {
		t.Fatal(err)
	}
	r.Finding.Label = hunt.Searched
	e, err := entryOf(files, r, flags)
	if err != nil {
		t.Fatal(err)
	}
	e.Program = "v0.0.1"
	return e
}

// ran gives what a command printed.
func ran(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := Run(context.Background(), args, &out, &errs); code != exitDone {
		t.Fatalf("%v: exit code %d: %s", args, code, errs.String())
	}
	return out.String()
}

// TestRejudge: rounds that another version judged are judged again, the change is told, and then it is kept.
func TestRejudge(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "journal")
	j, err := journal.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := j.Save(t.Context(), oldEntry(t)); err != nil {
		t.Fatal(err)
	}
	j.Close()
	if text := ran(t, "history", "1", "--journal", dir); !bytes.Contains([]byte(text), []byte("(searched -> known)")) {
		t.Errorf("the round shown again does not say that this version judges otherwise:\n%s", text)
	}
	want := "round 1: searched -> known\n1 round was judged again; 1 result changed.\n"
	if text := ran(t, "history", "--rejudge", "--journal", dir, "--player", "Miravel"); text != want {
		t.Errorf("got %q, want %q", text, want)
	}
	want = "No round was judged last by another version than this one; to judge one again all the same, give its number.\n"
	if text := ran(t, "history", "--rejudge", "--journal", dir); text != want {
		t.Errorf("a second time: got %q, want %q", text, want)
	}
	want = "1 round was judged again; no results changed.\n"
	if text := ran(t, "history", "--rejudge", "1", "--journal", dir); text != want {
		t.Errorf("by number: got %q, want %q", text, want)
	}
	j, err = journal.OpenToRead(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	s, err := j.Round(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	const judgements = 3 // the old one, the one of --rejudge, the one by number
	if len(s.Results) != judgements || s.Results[0].Program != "v0.0.1" || s.Results[0].Outcome.Label != "searched" || s.Label != "known" || s.Key != "C minor" {
		t.Errorf("%d results, the first by %s: %s; now %s in %s", len(s.Results), s.Results[0].Program, s.Results[0].Outcome.Label, s.Label, s.Key)
	}
}

// TestPages: a list of several pages has each round once, the newest first.
func TestPages(t *testing.T) {
	j, err := journal.Open(filepath.Join(t.TempDir(), "journal"))
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	const total = 1201
	_, err = j.Load(t.Context(), func(yield func(journal.Entry) bool) {
		e := oldEntry(t)
		e.Takes, e.Answer = nil, nil
		for range total {
			e.At = e.At.Add(time.Minute)
			if !yield(e) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	for limit, want := range map[int]int{0: total, 1: 1, 500: 500, 501: 501, 5000: total} {
		n, next := 0, journal.ID(total)
		for row, err := range pages(t.Context(), j, journal.Filter{}, limit) {
			if err != nil || row.ID != next {
				t.Fatalf("round %d, want %d; error %v", row.ID, next, err)
			}
			next--
			n++
		}
		if n != want {
			t.Errorf("limit %d: %d rounds, want %d", limit, n, want)
		}
	}
}
