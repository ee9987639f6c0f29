package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"larkhand/internal/class"
	"larkhand/internal/music"
	"larkhand/internal/report"
	"larkhand/match"
)

// story is what the table must say of a player, as players.go plants it.
type story struct {
	Habits  []string // kind and place
	Settles string
	Trend   string   // the one that was planted, as sign and quantity; "" for none
	Weak    []string // links, and where they fail
}

var stories = map[string]story{
	"Ilvane":  {Habits: []string{"creep "}, Settles: "settles", Trend: "+ known answers"},
	"Corrick": {Habits: []string{"restart a leap up"}, Settles: "settles", Trend: "- response time"},
	"Sunnel":  {Habits: []string{"hesitation degree 6"}, Settles: "no difference shown"},
	"Ferrow":  {Settles: "settles", Weak: []string{"numbers to letters Db major, Gb major"}},
}

// A small season goes the whole way: files, check, journal, export, class, progress. The table names each planted habit for the right
// player and no other, and table and progress tell the planted trends.
func TestSeasonTellsTheStories(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	dir := filepath.Join(t.TempDir(), "season")
	small := size{seed: 1, sessions: 16, rounds: 8, sound: map[int]bool{0: true, 5: true, 10: true, 15: true}}
	if err := run(context.Background(), dir, small, "", io.Discard); err != nil {
		t.Fatal(err)
	}
	larkhand := filepath.Join(dir, "larkhand")
	text := output(t, larkhand, "class", "--json", filepath.Join(dir, classDir))
	var d class.Document
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatal(err)
	}
	got := map[string]story{}
	for _, p := range d.Players {
		s := story{Settles: p.Settling.State}
		for _, h := range p.Habits {
			s.Habits = append(s.Habits, h.Kind+" "+h.Place)
		}
		for _, tr := range p.Trends {
			if found := signed(tr.Quantity, tr.PerMonth); found == stories[p.Player].Trend {
				s.Trend = found // others may turn up: of 15 looked at, one in a hundred does by chance
			}
		}
		for _, w := range p.Weak {
			var where []string
			for _, f := range w.Where {
				where = append(where, f.Place)
			}
			slices.Sort(where)
			s.Weak = append(s.Weak, w.Link+" "+strings.Join(where, ", "))
		}
		got[p.Player] = s
		first := "Shows the habit best: "
		if len(s.Weak) > 0 {
			first = "Shows the weak link: "
		}
		if len(p.Listen) == 0 || !strings.HasPrefix(p.Listen[0].Reason, first) {
			t.Errorf("%s: rounds to listen to %+v", p.Player, p.Listen)
		}
	}
	if d := cmp.Diff(stories, got); d != "" {
		t.Error(d)
	}
	for name, s := range stories {
		var p report.ProgressDocument
		if err := json.Unmarshal([]byte(output(t, larkhand, "progress", "--json", "--journal", filepath.Join(dir, journalDir), "--player", name)), &p); err != nil {
			t.Fatal(err)
		}
		var trends []string
		for _, tr := range p.Trends {
			if tr.Claimed {
				trends = append(trends, signed(tr.Quantity, tr.PerMonth))
			}
		}
		if (p.Steps > 0) != (s.Weak != nil) || strings.Contains(strings.Join(p.Sentences, " "), "umbers to letters fails most in") != (s.Weak != nil) {
			t.Errorf("progress of %s: %d rounds with steps, %q", name, p.Steps, p.Sentences)
		}
		if s.Trend != "" && !slices.Contains(trends, s.Trend) {
			t.Errorf("progress of %s claims %q, want %q", name, trends, s.Trend)
		}
	}
	readBack(t, larkhand, dir, players[0].name)
	t.Run("pictures", func(t *testing.T) { checkPictures(t, larkhand, dir) })
}

// readBack imports a bundle into an empty journal, twice, and compares what both journals show of its player.
func readBack(t *testing.T, larkhand, dir, name string) {
	t.Helper()
	other := filepath.Join(dir, "other")
	bundle := filepath.Join(dir, classDir, strings.ToLower(name)+".zip")
	if text := output(t, larkhand, "import", "--journal", other, bundle); !strings.Contains(text, "Kept 128 rounds") {
		t.Errorf("import says %q", text)
	}
	if text := output(t, larkhand, "import", "--journal", other, bundle); !strings.Contains(text, "Nothing new was kept") || !strings.Contains(text, "128 rounds were there already") {
		t.Errorf("the second import says %q", text)
	}
	progress := func(journal string) string {
		return output(t, larkhand, "progress", "--json", "--journal", journal, "--player", name)
	}
	if d := cmp.Diff(progress(filepath.Join(dir, journalDir)), progress(other)); d != "" {
		t.Errorf("%s: progress differs after import: %s", name, d)
	}
}

// signed is a trend as a story tells it.
func signed(quantity string, perMonth report.Number) string {
	if perMonth < 0 {
		return "- " + quantity
	}
	return "+ " + quantity
}

func output(t *testing.T, larkhand string, args ...string) string {
	t.Helper()
	text, err := call(t.Context(), larkhand, args...)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestSameSeedSameFiles(t *testing.T) {
	var takes [2][]byte
	for i := range takes {
		dir := t.TempDir()
		s := size{seed: 7, sessions: 1, rounds: 1, sound: map[int]bool{0: true}}
		if err := s.round(dir, players[0], 0, 0); err != nil {
			t.Fatal(err)
		}
		var err error
		if takes[i], err = os.ReadFile(filepath.Join(dir, players[0].name, "session-01", "round-01", "take2.flac")); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(takes[0], takes[1]) {
		t.Error("one seed gives two takes")
	}
}

func TestPhrases(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	rng := rand.New(rand.NewPCG(1, 1))
	leaps, sixths, rounds := 0, 0, 0
	for range 200 {
		for _, pl := range players {
			for _, name := range pl.keys {
				key, err := music.ParseKey(name)
				if err != nil {
					t.Fatal(err)
				}
				p := newPhrase(rng, key, pl.tonic)
				for _, n := range p.notes {
					if got, want := key.Degree(n.pitch, music.ScaleNumbers), string(rune('0'+n.degree)); got != want {
						t.Fatalf("%s: pitch %d is degree %s, want %s", name, n.pitch, got, want)
					}
					if float64(n.pitch) < pl.voice.Low || float64(n.pitch) > pl.voice.High {
						t.Errorf("%s cannot sing %d", pl.name, n.pitch)
					}
				}
				rounds++
				if p.leapUp() != match.None {
					leaps++
				}
				if at := p.sixth(); at != match.None {
					sixths++
				}
			}
		}
	}
	if leaps < rounds/3 || sixths < rounds/3 {
		t.Errorf("%d leaps and %d sixths in %d phrases: too few for a habit to show", leaps, sixths, rounds)
	}
}

func TestBadProgram(t *testing.T) {
	if _, err := exec.LookPath("false"); err != nil {
		t.Skip("skipped: no program false")
	}
	s := size{seed: 1, sessions: 1, rounds: 1}
	if err := run(t.Context(), filepath.Join(t.TempDir(), "season"), s, "false", io.Discard); err == nil || !strings.Contains(err.Error(), "larkhand check") {
		t.Errorf("error %v", err)
	}
}
