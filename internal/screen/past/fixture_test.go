package past

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"larkhand/hunt"
	"larkhand/internal/demo"
	"larkhand/internal/journal"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/midiin"
)

var update = flag.Bool("update", false, "write the golden screens instead of comparing with them")

// sizes are those that the screens are held to.
var sizes = []struct {
	name          string
	width, height int
}{{"80x24", 80, 24}, {"60x20", 60, 20}, {"140x40", 140, 40}}

// golden compares a screen with testdata/TEST/name.golden, or writes it there with -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	var lines []string
	for line := range strings.SplitSeq(got, "\n") {
		lines = append(lines, strings.TrimRight(line, " "))
	}
	got = strings.Join(lines, "\n") + "\n"
	path := filepath.Join("testdata", strings.SplitN(t.Name(), "/", 2)[0], name+".golden")
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; look at it and run go test -update if it is right now. Got:\n%s", path, got)
	}
}

// fits fails where a screen is larger than the terminal.
func fits(t *testing.T, screen string, width, height int) {
	t.Helper()
	lines := strings.Split(screen, "\n")
	if len(lines) > height {
		t.Errorf("%d lines on a terminal of %d", len(lines), height)
	}
	for _, line := range lines {
		if w := lipgloss.Width(line); w > width {
			t.Errorf("a line of %d columns on a terminal of %d: %q", w, width, line)
		}
	}
}

// demoParts is what the demo's round consists of, sung once for all tests.
type demoParts struct {
	takes  [2][]float32
	rate   int
	answer []byte
	meta   demo.Meta
}

var sung = sync.OnceValue(func() (d demoParts) {
	d.takes[0], d.takes[1], d.rate, d.answer, d.meta = demo.Round()
	return d
})

// demoRound is the demo's round, judged once for all tests.
var demoRound = sync.OnceValues(func() (round.Round, error) { return judgeDemo(round.Options{}) })

// steppedRound is the same with numbers and letters that were written down, in pieces and with help.
var steppedRound = sync.OnceValues(func() (round.Round, error) {
	took := 12.4
	return judgeDemo(round.Options{Written: &round.Written{Numbers: "1 2 3 4 6 7 1", Letters: "c d eb f ab b c", NumbersSeconds: &took},
		Pieces: []float64{3}, Helped: round.Helped{Take2: 2}})
})

// judgeDemo judges the demo's round with more options than its own.
func judgeDemo(opt round.Options) (round.Round, error) {
	d := sung()
	meta := d.meta
	key, err := music.ParseKey(meta.Key)
	if err != nil {
		return round.Round{}, err
	}
	chart, err := music.ParseChart(meta.Chart)
	if err != nil {
		return round.Round{}, err
	}
	l, err := loop.New(chart, meta.Tempo, meta.LoopStart)
	if err != nil {
		return round.Round{}, err
	}
	var takes []round.Take
	for i, samples := range d.takes {
		take, err := round.SungTake([]string{"take1", "take2"}[i], samples, d.rate)
		if err != nil {
			return round.Round{}, err
		}
		takes = append(takes, take)
	}
	file, err := midiin.Parse(d.answer)
	if err != nil {
		return round.Round{}, err
	}
	notes, _ := midiin.Notes(file, midiin.Options{})
	opt.Key, opt.Loop, opt.AnswerStarts = &key, &l, &meta.AnswerStart
	return round.Judge(takes, round.Answer{Notes: notes}, opt)
}

// demoFiles are its takes and its answer as the journal keeps them.
var demoFiles = sync.OnceValues(func() ([][]byte, error) {
	d := sung()
	var out [][]byte
	for _, samples := range d.takes {
		data, err := journal.EncodeTake(samples, d.rate)
		if err != nil {
			return nil, err
		}
		out = append(out, data)
	}
	return append(out, d.answer), nil
})

// entry is the demo's round at another time, in another key and with other names.
func entry(t *testing.T, at time.Time, sang, played, key string, files bool) journal.Entry {
	t.Helper()
	r, err := demoRound()
	if err != nil {
		t.Fatal(err)
	}
	if r.Key, err = music.ParseKey(key); err != nil {
		t.Fatal(err)
	}
	var document bytes.Buffer
	if err := report.JSON(&document, r); err != nil {
		t.Fatal(err)
	}
	e := journal.Entry{At: at, Sang: sang, Played: played, Round: r, Program: "v0.9.0", Document: bytes.TrimSpace(document.Bytes())}
	if files {
		data, err := demoFiles()
		if err != nil {
			t.Fatal(err)
		}
		e.Takes, e.Answer = data[:2], data[2]
	}
	return e
}

// stepped saves two rounds with steps, of a kept phrase: one without files, and after it one with them.
func stepped(t *testing.T, j *journal.Journal) {
	t.Helper()
	for i, files := range []bool{false, true} {
		e := entry(t, time.Date(2026, 11, 9, 8, 2*i, 0, 0, time.UTC), "Miravel", "Miravel", "C minor", files)
		r, err := steppedRound()
		if err != nil {
			t.Fatal(err)
		}
		e.Round, e.PhraseName = r, "Rain"
		if _, err := j.Save(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
}

// season is a journal of three sessions of invented players; the newest round has its files, and was called searched by an older version.
// It is made once and copied for each test.
func season(t *testing.T) *journal.Journal {
	t.Helper()
	seasonOnce.Do(func() { makeSeason(t, filepath.Join(shared, "season")) })
	dir := filepath.Join(t.TempDir(), "journal")
	if err := os.CopyFS(dir, os.DirFS(filepath.Join(shared, "season"))); err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

var (
	shared     string // folder of what all tests copy
	seasonOnce sync.Once
)

func TestMain(m *testing.M) {
	var err error
	if shared, err = os.MkdirTemp("", "larkhand-past-*"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := m.Run()
	os.RemoveAll(shared)
	os.Exit(code)
}

func makeSeason(t *testing.T, dir string) {
	t.Helper()
	j, err := journal.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	at := time.Date(2026, 11, 1, 18, 30, 0, 0, time.UTC)
	_, err = j.Load(t.Context(), func(yield func(journal.Entry) bool) {
		for i := range 24 {
			sang, played, key := "Miravel", "Tobrin", "C minor"
			if i%4 == 1 {
				played = "Miravel"
			}
			if i%5 == 2 {
				sang, key = "Ossian the Elder", "F# harmonic minor"
			}
			if !yield(entry(t, at.Add(time.Duration(i/8)*48*time.Hour+time.Duration(i%8)*4*time.Minute), sang, played, key, false)) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	e := entry(t, at.Add(7*24*time.Hour), "Miravel", "Tobrin", "C minor", true)
	e.Round.Finding.Label = hunt.Searched
	if _, err := j.Save(t.Context(), e); err != nil {
		t.Fatal(err)
	}
}

// speaker takes notice of what it is asked to play.
type speaker struct {
	sounds []Sound
	gains  []float64
	block  bool // plays until it is stopped
	failed error
}

func (s *speaker) Play(ctx context.Context, sound Sound) error {
	s.sounds, s.gains = append(s.sounds, sound), append(s.gains, sound.Gain())
	if s.block {
		<-ctx.Done()
		return ctx.Err()
	}
	return s.failed
}

var errNoFiles = errors.New("round cannot be shown or judged again: no takes and no answer are kept of it")

// screenOf is the screens on a journal, 80 columns wide and 24 rows high, with the first page read.
func screenOf(t *testing.T, j *journal.Journal, change func(*Config)) *model {
	t.Helper()
	judge := func(_ context.Context, s journal.Stored) (round.Round, error) {
		if len(s.Takes) == 0 {
			return round.Round{}, errNoFiles
		}
		if s.Written != nil {
			return steppedRound()
		}
		return demoRound()
	}
	cfg := Config{
		Journal: j, Program: "v1.0.0", Judge: judge, Silent: "This build has no speaker; `make install` builds one that has.",
		Rejudge: func(ctx context.Context, id journal.ID) (journal.Change, error) {
			s, err := j.Round(ctx, id)
			if err != nil {
				return journal.Change{}, err
			}
			r, err := judge(ctx, s)
			if err != nil {
				return journal.Change{}, err
			}
			return j.Rejudge(ctx, id, journal.Judgement{At: time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC), Entry: journal.Entry{Round: r, Program: "v1.0.0", Document: []byte("{}")}})
		},
	}
	if change != nil {
		change(&cfg)
	}
	m := newModel(t.Context(), io.Discard, cfg)
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	run(t, m, m.Init())
	return m
}

// run runs a command and all that follow from it.
func run(t *testing.T, m *model, cmd tea.Cmd) {
	t.Helper()
	if cmd == nil {
		return
	}
	switch msg := cmd().(type) {
	case nil, tea.QuitMsg:
	case tea.BatchMsg:
		for _, c := range msg {
			run(t, m, c)
		}
	default:
		_, next := m.Update(msg)
		run(t, m, next)
	}
}

// press presses keys: names as tea has them.
func press(t *testing.T, m *model, keys ...string) {
	t.Helper()
	for _, key := range keys {
		run(t, m, pressed(m, key))
	}
}

// pressed presses a key and gives the command that follows, not yet run.
func pressed(m *model, key string) tea.Cmd {
	named := map[string]tea.KeyType{
		keyEnter: tea.KeyEnter, keyBack: tea.KeyEsc, keyUp: tea.KeyUp, keyDown: tea.KeyDown, keyLeft: tea.KeyLeft, keyRight: tea.KeyRight, "tab": tea.KeyTab,
		"pgup": tea.KeyPgUp, "pgdown": tea.KeyPgDown, "home": tea.KeyHome, "end": tea.KeyEnd, "backspace": tea.KeyBackspace, keyBreak: tea.KeyCtrlC,
	}
	msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(key)}
	if kind, ok := named[key]; ok {
		msg = tea.KeyMsg{Type: kind}
	}
	_, cmd := m.Update(msg)
	return cmd
}
