package past

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
	"larkhand/internal/screen/draw"
	"larkhand/internal/sound/synth"
	"larkhand/midiin"
)

// says fails where the screen does not show a text.
func says(t *testing.T, m *model, text string) {
	t.Helper()
	if !strings.Contains(strings.Join(strings.Fields(m.View()), " "), text) {
		t.Errorf("the screen does not say %q:\n%s", text, m.View())
	}
}

// TestDelete: the round goes after yes only, comes back by undo, also after another was deleted, and what was deleted before is found
// by the filter.
func TestDelete(t *testing.T) {
	j := season(t)
	m := screenOf(t, j, nil)
	count := func(f journal.Filter) int {
		n, err := j.Count(t.Context(), f)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	press(t, m, "d", "n")
	says(t, m, "Nothing was deleted.")
	press(t, m, "d", "y")
	says(t, m, "Round 25 was deleted; u brings it back.")
	says(t, m, "1 of 24 rounds")
	press(t, m, keyEnter, "d", "y") // the next one, from inside
	if m.view != listView || count(journal.Filter{}) != 23 {
		t.Errorf("view %d, %d rounds", m.view, count(journal.Filter{}))
	}
	press(t, m, "u", "u")
	if n := count(journal.Filter{}); n != 25 {
		t.Errorf("%d rounds after two were brought back", n)
	}
	press(t, m, "u")
	says(t, m, "Nothing was deleted since this screen was opened")
	press(t, m, "d", "y", "f", keyUp, " ", keyEnter)
	says(t, m, "1 of 1 round")
	press(t, m, "d")
	says(t, m, "Round 25 is deleted already")
	press(t, m, "u")
	if n := count(journal.Filter{Deleted: true}); n != 0 {
		t.Errorf("%d deleted rounds", n)
	}
}

// TestMark: a round is marked as misheard and counts nowhere, from the list and from inside; the same key takes the mark away.
func TestMark(t *testing.T) {
	j := season(t)
	m := screenOf(t, j, nil)
	marked := func(want int) {
		t.Helper()
		if n, err := j.Count(t.Context(), journal.Filter{Misheard: true}); n != want || err != nil {
			t.Errorf("%d rounds are marked, want %d (%v)", n, want, err)
		}
	}
	press(t, m, "m")
	says(t, m, "Round 25: misheard, counts nowhere; m takes that back.")
	says(t, m, "1 round, 0 known, 1 misheard")
	marked(1)
	press(t, m, keyEnter)
	says(t, m, "Marked as misheard: it counts nowhere.")
	press(t, m, "m")
	says(t, m, "Round 25 counts again; m marks it as misheard.")
	if strings.Contains(m.View(), "counts nowhere") {
		t.Errorf("the open round still says that it is marked:\n%s", m.View())
	}
	marked(0)
	press(t, m, "n", "m", "f", keyUp, keyUp, " ", keyEnter) // a letter in the filters marks nothing
	press(t, m, keyBack, "f", keyUp, keyUp, " ", keyEnter)
	says(t, m, "marked as misheard")
	says(t, m, "1 of 1 round")
	press(t, m, "m")
	marked(0)
}

// TestReadOnly: in a journal that may not be written the reason is said and nothing changes.
func TestReadOnly(t *testing.T) {
	j := season(t)
	dir := j.Where().Dir
	j.Close()
	j, err := journal.OpenToRead(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	m := screenOf(t, j, nil)
	press(t, m, "d", "y")
	says(t, m, "! the journal in")
	says(t, m, "1 of 25 rounds")
	press(t, m, keyDown)
	press(t, m, "m")
	says(t, m, "! the journal in")
	if row, _ := m.list.chosen(); row.Misheard {
		t.Error("the list shows a mark that is not there")
	}
}

// TestFilters: by player, key and days, alone and together.
func TestFilters(t *testing.T) {
	m := screenOf(t, season(t), nil)
	press(t, m, "f", "o", keyEnter)
	says(t, m, "player Ossian the Elder")
	says(t, m, "1 of 5 rounds")
	press(t, m, "f", keyDown, "f", keyDown, "2", "0", "2", "6", "-", "1", "1", "-", "0", "3", keyDown, "2", "0", "2", "6", "-", "1", "1", "-", "0", "3", keyEnter)
	says(t, m, "player Ossian the Elder in F# harmonic minor 2026-11-03 to 2026-11-03")
	if m.list.total == 0 || m.list.total >= 5 {
		t.Errorf("%d rounds", m.list.total)
	}
	press(t, m, "f", "backspace", keyDown, "backspace", keyDown, keyDown, "backspace", "2", keyEnter)
	says(t, m, "the first day lies after the last")
	press(t, m, keyBack)
	says(t, m, "player Ossian the Elder in F# harmonic minor 2026-11-03 to 2026-11-03")
}

// TestSpeaker: takes and the answer sound one by one or all, no louder than the loop of a live round, softer and louder by keys, and they
// stop when asked to.
func TestSpeaker(t *testing.T) {
	s := &speaker{}
	m := screenOf(t, season(t), func(c *Config) { c.Speaker = s })
	press(t, m, keyEnter, "1", "2", "a", "-", "p")
	if len(s.sounds) != 6 || m.playing.what != "" {
		t.Fatalf("%d sounds, playing %q", len(s.sounds), m.playing.what)
	}
	for i, sound := range s.sounds {
		peak := 0.0
		for _, x := range sound.Samples {
			peak = max(peak, math.Abs(float64(x)))
		}
		if math.Abs(peak-synth.Ceiling) > 1e-6 || sound.Rate < synth.MinRate {
			t.Errorf("sound %d: peak %v, rate %d", i, peak, sound.Rate)
		}
	}
	// 10^(-24/20) and 10^(-27/20), by hand.
	if math.Abs(s.gains[0]-0.0631) > 1e-4 || math.Abs(s.gains[3]-0.0447) > 1e-4 {
		t.Errorf("gains %v", s.gains)
	}
	for range 40 {
		press(t, m, "+")
	}
	if m.volume != synth.MaxVolume {
		t.Errorf("volume %v", m.volume)
	}

	s.block = true
	ended := make(chan tea.Msg)
	begin := pressed(m, "1")().(soundMsg)
	_, play := m.Update(begin)
	go func() { ended <- play() }()
	says(t, m, "Playing take 1 at +0 dB")
	press(t, m, "x")
	m.Update(<-ended)
	if m.playing.what != "" || m.wrong {
		t.Errorf("playing %q, %q", m.playing.what, m.message)
	}

	s.block, s.failed = false, errors.New("the speaker cannot be opened: it is used by another program")
	press(t, m, "p")
	says(t, m, "! the speaker cannot be opened")
}

// TestSpeakerSaysWhy: what cannot be played is said in a sentence.
func TestSpeakerSaysWhy(t *testing.T) {
	j := season(t)
	m := screenOf(t, j, func(c *Config) { c.Speaker = &speaker{} })
	press(t, m, keyDown, keyEnter, "1")
	says(t, m, "no takes and no answer are kept of round 24")
	s, err := j.Round(t.Context(), 25)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(s.Takes[0].Path); err != nil {
		t.Fatal(err)
	}
	press(t, m, "b", "1")
	says(t, m, "! take 1 cannot be played")
	if _, err := played(nil); err == nil {
		t.Error("an answer without notes has a sound")
	}
	if s, err := played([]midiin.Note{{Onset: 3, Offset: 4, Key: 60, Pitch: 60, Velocity: 90}}); err != nil || len(s.Samples) != int((leadTime+1+tailTime)*playedRate) {
		t.Errorf("%d samples, error %v", len(s.Samples), err)
	}
}

// TestJudgeOne: this version judges otherwise, says so, keeps it when asked to, and then says nothing any more.
func TestJudgeOne(t *testing.T) {
	j := season(t)
	e := entry(t, time.Date(2026, 11, 9, 8, 0, 0, 0, time.UTC), "Miravel", "Miravel", "C minor", true)
	e.Round.Finding.Label = "known"
	if _, err := j.Save(t.Context(), e); err != nil {
		t.Fatal(err)
	}
	m := screenOf(t, j, nil)
	press(t, m, keyEnter)
	says(t, m, "This version judges otherwise: known -> searched. j keeps that.")
	press(t, m, "j")
	says(t, m, "Round 26 judged again and kept: known -> searched.")
	if m.open.remark != "" || m.view != roundView {
		t.Errorf("view %d, remark %q", m.view, m.open.remark)
	}
	press(t, m, keyBack)
	if row, _ := m.list.chosen(); row.Label != "searched" || row.Program != "v1.0.0" {
		t.Errorf("%s by %s in the list", row.Label, row.Program)
	}
}

// TestJudgeOld: all that another version judged last are judged; what cannot be is said, and a second time nothing is due but these.
func TestJudgeOld(t *testing.T) {
	m := screenOf(t, season(t), nil)
	press(t, m, "J")
	says(t, m, "1 of 25 rounds judged again 0 results changed 24 could not be judged")
	says(t, m, "! round cannot be shown or judged again: no takes")
	press(t, m, keyDown, keyDown, "pgdown", "pgup", keyBack, "f", keyUp, " ", keyEnter, "J")
	says(t, m, "No listed round was judged last by another version than this one.")
}

// TestJudgeOldStops: esc ends it after the round that is being judged.
func TestJudgeOldStops(t *testing.T) {
	judged := 0
	m := screenOf(t, season(t), func(c *Config) {
		c.Rejudge = func(ctx context.Context, _ journal.ID) (journal.Change, error) {
			judged++
			return journal.Change{}, ctx.Err()
		}
	})
	due := pressed(m, "J")()
	_, next := m.Update(due)
	press(t, m, keyBack)
	run(t, m, next)
	if judged != 1 || m.view != listView {
		t.Errorf("%d judged after esc, view %d", judged, m.view)
	}
}

// TestLongList: pages are read as they are looked at, and the mark is always on the screen.
func TestLongList(t *testing.T) {
	j := season(t)
	const total = 2*pageSize + 30 // three pages
	_, err := j.Load(t.Context(), func(yield func(journal.Entry) bool) {
		e := entry(t, time.Date(2026, 10, 1, 8, 0, 0, 0, time.UTC), "Miravel", "Miravel", "G major", false)
		for range total - 25 {
			e.At = e.At.Add(50 * time.Minute) // each is a session
			if !yield(e) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	m := screenOf(t, j, nil)
	if len(m.list.rows) != pageSize {
		t.Errorf("%d rows read at first", len(m.list.rows))
	}
	marked := func() {
		t.Helper()
		if n := strings.Count(m.View(), "\n> "); n != 1 {
			t.Errorf("%d marks on the screen:\n%s", n, m.View())
		}
	}
	for _, key := range []string{"end", "end", "end", "end", keyUp, "pgup", "[", "[", "]", "pgdown", "home", keyDown} {
		press(t, m, key)
		marked()
	}
	press(t, m, "end")
	if len(m.list.rows) != total || m.list.at != total-1 {
		t.Errorf("%d rows, the mark at %d", len(m.list.rows), m.list.at)
	}
}

// TestOther: next and before follow the list, and stop at its ends.
func TestOther(t *testing.T) {
	m := screenOf(t, season(t), nil)
	press(t, m, keyEnter, "b")
	says(t, m, "There is no further round in the list.")
	press(t, m, "n")
	says(t, m, "Round 24")
}

// TestSmallAndColour: too small a window asks for room; with colour nothing is wider.
func TestSmallAndColour(t *testing.T) {
	m := screenOf(t, season(t), func(c *Config) { c.Colour = true })
	for _, keys := range [][]string{nil, {keyEnter}, {"tab"}, {keyBack, "f"}} {
		press(t, m, keys...)
		for _, width := range []int{20, 60, 97, 200} {
			for _, height := range []int{5, 20, 50} {
				m.Update(tea.WindowSizeMsg{Width: width, Height: height})
				fits(t, m.View(), width, height)
			}
		}
	}
	m.Update(tea.WindowSizeMsg{Width: 50, Height: 10})
	says(t, m, "needs at least 60 columns and 20 rows")
}

// TestPictureOfAWrittenTake has strokes in place of a curve, and nothing outside its room.
func TestPictureOfAWrittenTake(t *testing.T) {
	r, err := demoRound()
	if err != nil {
		t.Fatal(err)
	}
	r.Takes[len(r.Takes)-1].Written, r.Takes[len(r.Takes)-1].Voice.Frames = true, nil
	text := strings.Join(picture(r, draw.NewStyles(io.Discard, false), 80, 20), "\n")
	if !strings.Contains(text, "▬") || strings.Contains(text, "⠒") {
		t.Error(text)
	}
	r.Answer.Notes, r.Alignment.Pairs, r.Finding.Evidence = nil, nil, nil
	fits(t, strings.Join(picture(r, draw.NewStyles(io.Discard, false), 60, 12), "\n"), 60, 12)
}

// TestRun: the screens run on in-memory streams, and end with q and with their context.
func TestRun(t *testing.T) {
	j := season(t)
	cfg := Config{Journal: j, Program: "v1.0.0", Silent: "no speaker"}
	if err := Run(t.Context(), strings.NewReader("q"), io.Discard, cfg); err != nil {
		t.Error(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	in, _ := io.Pipe()
	if err := Run(ctx, in, io.Discard, cfg); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
