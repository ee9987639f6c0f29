package screen

import (
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"larkhand/internal/practice"
	"larkhand/internal/round"
)

func key(text string) tea.KeyMsg { return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(text)} }

// Keys ask for their actions; several that arrive in one read count one by one.
func TestKeysOfARound(t *testing.T) {
	m, session := practising(t, demoSettings())
	m.Update(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")})
	m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	m.Update(key("rnk-+=x"))
	m.Update(key("1"))
	m.Update(key("34"))
	m.Update(key("z"))
	m.Update(key(",,.g"))
	m.Update(key("wtTuUohlpm[]]"))
	want := []round.Action{round.GoOn, round.GoOn, round.Repeat, round.Skip, round.AnotherKey, round.Slower, round.Faster, round.Faster, round.Stop, round.Mute, round.Mute, round.Mute, round.Learn,
		round.Steps, round.HearTake, round.HearTake, round.HearNotes, round.HearNotes, round.HearKey, round.HearChord, round.SingAgain, round.Pieces, round.Misheard}
	if !slices.Equal(session.asked, want) {
		t.Errorf("asked for %v, want %v", session.asked, want)
	}
	if got, want := session.amounts[9:12], []int{int(round.Bass), int(round.HiHat), int(round.Click)}; !slices.Equal(got, want) {
		t.Errorf("parts %v, want %v", got, want)
	}
	if got := session.amounts[14:18]; !slices.Equal(got, []int{0, 1, 0, 1}) || !slices.Equal(session.sizes, []int{-1, 1, 1}) {
		t.Errorf("takes %v, sizes %v", got, session.sizes)
	}
	if want := []float64{-volumeStep, -volumeStep, volumeStep}; !slices.Equal(session.volumes, want) {
		t.Errorf("volume changed by %v, want %v", session.volumes, want)
	}
}

// The help takes no key but those that turn its pages and leave it. All of it is on its pages, whatever their size.
func TestHelpPage(t *testing.T) {
	m, session := practising(t, demoSettings())
	m.Update(tea.WindowSizeMsg{Width: 60, Height: 20})
	m.Update(key("?"))
	m.Update(key("rn"))
	if !m.help || len(session.asked) > 0 {
		t.Errorf("help %v, asked for %v", m.help, session.asked)
	}
	first := m.View()
	m.Update(tea.KeyMsg{Type: tea.KeyRight})
	if m.View() == first {
		t.Error("the page does not turn")
	}
	for range 9 {
		m.Update(tea.KeyMsg{Type: tea.KeyUp})
		m.View()
	}
	if m.View() != first {
		t.Error("the page does not turn back")
	}
	for _, size := range sizesAtHand {
		m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
		var all []string
		for _, page := range m.helpPages() {
			if len(page) > size.height-2 {
				t.Errorf("%s: a page of %d lines", size.name, len(page))
			}
			all = append(all, page...)
		}
		text := strings.Join(strings.Fields(strings.Join(all, " ")), " ")
		for _, b := range bindings {
			if b.long != "" && size.width < helpColumns && !strings.Contains(text, b.long) {
				t.Errorf("%s: no %q", size.name, b.long)
			}
		}
	}
	m.Update(tea.KeyMsg{Type: tea.KeyEsc})
	if m.help || m.view != roundView {
		t.Error("escape does not lead from the help back to the round")
	}
}

// Escape ends the session and leads back to the set-up; Ctrl-C quits from everywhere.
func TestWaysOut(t *testing.T) {
	m, session := practising(t, demoSettings())
	_, cmd := m.Update(tea.KeyMsg{Type: tea.KeyEsc})
	if m.view != setupView || cmd == nil {
		t.Fatal("escape does not lead back to the set-up")
	}
	cmd()
	if _, open := <-session.snapshots; open {
		t.Error("the session goes on")
	}
	for name, at := range map[string]func(*model){
		"setup": func(m *model) { m.view = setupView }, "round": func(*model) {}, "help": func(m *model) { m.help = true },
	} {
		m, _ := practising(t, demoSettings())
		at(m)
		_, cmd := m.Update(tea.KeyMsg{Type: tea.KeyCtrlC})
		if cmd == nil {
			t.Errorf("%s: Ctrl-C does nothing", name)
			continue
		}
		if _, quits := cmd().(tea.QuitMsg); !quits {
			t.Errorf("%s: Ctrl-C does not quit", name)
		}
	}
}

// A snapshot of a session that was left does not come up in the next.
func TestOldSnapshots(t *testing.T) {
	m, _ := practising(t, demoSettings())
	old := m.live
	m.Update(tea.KeyMsg{Type: tea.KeyEsc})
	m.Update(snapshotMsg{old, practice.Snapshot{Rounds: 7}})
	if m.live.latest.Rounds != 0 {
		t.Error("the snapshot of a session that was left is shown")
	}
	old.end()
}

// The set-up: moving skips lines without use, choices go round, numbers take steps, text is typed.
func TestKeysOfTheSetup(t *testing.T) {
	m := newModel(t.Context(), io.Discard, Config{Settings: Usual()})
	press := func(types ...tea.KeyType) {
		for _, k := range types {
			m.Update(tea.KeyMsg{Type: k})
		}
	}
	press(tea.KeyCtrlU)
	m.Update(key("Eb"))
	m.Update(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")})
	m.Update(key("minorr"))
	press(tea.KeyBackspace)
	if got := m.form.settings.Key; got != "Eb minor" {
		t.Errorf("key %q", got)
	}
	press(tea.KeyDown, tea.KeyRight)
	if got := m.form.settings.Numbering; got != "altered" {
		t.Errorf("numbering %q", got)
	}
	press(tea.KeyDown, tea.KeyDown) // the chords of an own chart are of no use now
	if got := fields[m.form.at].name; got != "tempo" {
		t.Errorf("two lines down is %s, want tempo", got)
	}
	press(tea.KeyRight, tea.KeyRight, tea.KeyLeft)
	if got := m.form.settings.Tempo; got != "100" {
		t.Errorf("tempo %q, want 100", got)
	}
	press(tea.KeyUp, tea.KeyLeft)
	if got := m.form.settings.Chart; got != ownChart {
		t.Errorf("chart %q", got)
	}
	if !strings.Contains(m.form.refused, "an own chart needs chords") {
		t.Errorf("refused %q", m.form.refused)
	}
}

// What keeps a session from beginning is said, and the settings of one that begins are remembered.
func TestBeginning(t *testing.T) {
	var remembered []Settings
	refusal := errors.New("there is no microphone")
	m := newModel(t.Context(), io.Discard, Config{
		Settings: Usual(),
		Begin: func(Settings, round.Setup) (Session, error) {
			if refusal != nil {
				return nil, refusal
			}
			return newSilentSession(), nil
		},
		Remember: func(s Settings) error { remembered = append(remembered, s); return errors.New("the disk is full") },
	})
	m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	if m.view != setupView || m.form.refused != "there is no microphone" || len(remembered) > 0 {
		t.Errorf("view %d, refused %q, remembered %v", m.view, m.form.refused, remembered)
	}
	refusal = nil
	m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	t.Cleanup(m.live.end)
	if m.view != roundView || len(remembered) != 1 || remembered[0] != Usual() {
		t.Errorf("view %d, remembered %v", m.view, remembered)
	}
	if text, _ := m.warning(); text != "! the disk is full" {
		t.Errorf("warning %q", text)
	}
}

// A verdict that is longer than the screen can be moved, and no further than its end.
func TestLongVerdict(t *testing.T) {
	m, _ := practising(t, demoSettings())
	m.Update(snapshotMsg{m.live, demoVerdict(t, m)})
	if !strings.Contains(m.View(), "more lines: down") {
		t.Fatal("a long verdict does not say that it goes on")
	}
	for range 100 {
		m.Update(tea.KeyMsg{Type: tea.KeyDown})
		m.View()
	}
	if screen := m.View(); !strings.Contains(screen, "Take 1 settled note 4") || strings.Contains(screen, "more lines") {
		t.Errorf("the end of the verdict is not to be seen:\n%s", screen)
	}
}

// Whatever the size of the terminal and the pitch of the voice, the screen fits.
func TestScreensFit(t *testing.T) {
	m, _ := practising(t, demoSettings())
	base := singing(t, m, round.PartTake1)
	rapid.Check(t, func(r *rapid.T) {
		width, height := rapid.IntRange(1, 250).Draw(r, "width"), rapid.IntRange(1, 80).Draw(r, "height")
		s := base
		s.Trails[0] = slide(0, rapid.Float64Range(0, 20).Draw(r, "seconds"), rapid.Float64Range(-20, 140).Draw(r, "from"), rapid.Float64Range(-20, 140).Draw(r, "to"))
		m.Update(tea.WindowSizeMsg{Width: width, Height: height})
		m.Update(snapshotMsg{m.live, s})
		fits(t, m.View(), width, height)
	})
}

// Whatever the part, the size, and what is shown besides, the screen fits.
func TestAllPartsFit(t *testing.T) {
	m, _ := practising(t, blues())
	verdict := steppedVerdict(t, m)
	rapid.Check(t, func(r *rapid.T) {
		width, height := rapid.IntRange(MinWidth, 200).Draw(r, "width"), rapid.IntRange(MinHeight, 60).Draw(r, "height")
		part := round.Part(rapid.IntRange(int(round.PartIdle), int(round.PartOver)).Draw(r, "part"))
		s := sung(t, m, part, 3)
		if part == round.PartVerdict {
			s = verdict
		}
		s.View.Misheard, s.View.InPieces, s.View.Piece = rapid.Bool().Draw(r, "misheard"), rapid.Bool().Draw(r, "pieces"), 3
		if rapid.Bool().Draw(r, "plan") {
			s.Plan = somePlan()
		}
		s.View.Sound = round.Sound{What: round.SoundKind(rapid.IntRange(0, int(round.NotesSound)).Draw(r, "sound")), Take: rapid.IntRange(1, 2).Draw(r, "take")}
		s.View.Sounding, s.View.SoundFor = s.View.Sound.String(), rapid.Float64Range(0, 9).Draw(r, "for")
		m.keys = rapid.Bool().Draw(r, "keys")
		m.Update(tea.WindowSizeMsg{Width: width, Height: height})
		m.Update(snapshotMsg{m.live, s})
		fits(t, m.View(), width, height)
	})
}

// While a take is sung that stays on the page's rows, what is already on the page does not change.
func TestPageStandsStill(t *testing.T) {
	m, _ := practising(t, demoSettings())
	whole := singing(t, m, round.PartTake1)
	for i := range whole.Trails[0] {
		whole.Trails[0][i].Pitch = math.Min(whole.Trails[0][i].Pitch, 65.7)
	}
	var before []string
	for n := 20; n <= len(whole.Trails[0]); n += 7 {
		s := whole
		s.Trails[0] = whole.Trails[0][:n]
		last := s.Trails[0][n-1]
		s.Time = 100 + last.Time - 0.5
		s.View.Elapsed = s.Time - 100
		s.Pitch = practice.Point{Time: s.Time, Pitch: last.Pitch}
		m.live.latest = s
		pane := m.pane(s.View, m.width, 14)
		column := labelColumns + int(math.Max(0, last.Time-0.5-0.1)/10*72)
		var past []string
		for _, line := range pane[:13] {
			past = append(past, string([]rune(line)[:column]))
		}
		for y, old := range before {
			if !strings.HasPrefix(past[y], old) {
				t.Fatalf("point %d: row %d was %q and is %q", n, y, old, past[y])
			}
		}
		before = past
	}
}

// The page begins round the first pitch, moves as little as it must, and not for a wrong octave of a few points.
func TestMoveOfThePage(t *testing.T) {
	held := func(pitch float64, points int) []float64 {
		out := make([]float64, points)
		for i := range out {
			out[i] = pitch
		}
		return out
	}
	const rows = 13
	for name, c := range map[string]struct {
		pitches []float64
		want    int
	}{
		"nothing":              {nil, 66},
		"no voice":             {[]float64{math.NaN(), math.Inf(-1)}, 66},
		"first in the middle":  {held(50.2, 1), 56},
		"within the page":      {append(held(50, 9), held(55.9, 9)...), 56},
		"above it":             {append(held(50, 9), held(58, 9)...), 58},
		"below it":             {append(held(50, 9), held(42, 9)...), 54},
		"a wrong octave":       {append(held(50, 9), append(held(62, settle-1), held(50, 9)...)...), 56},
		"above, then below it": {append(held(50, 9), append(held(58, 9), held(44, 9)...)...), 56},
	} {
		if got := moveFor(c.pitches, rows, usualMiddle); got != c.want {
			t.Errorf("%s: the upper row is %d, want %d", name, got, c.want)
		}
	}
}

// In a circle the verdict says whose it is.
func TestVerdictOfACircle(t *testing.T) {
	for _, c := range []struct{ singer, player, want string }{
		{"", "", ""}, {"Ada", "Ada", "Ada sang and played."}, {"Ada", "Bo", "Ada sang, Bo played."},
	} {
		m, _ := practising(t, demoSettings())
		s := demoVerdict(t, m)
		result := *s.Result
		result.Singer.Name, result.Player.Name = c.singer, c.player
		s.Result = &result
		m.Update(snapshotMsg{m.live, s})
		if screen := m.View(); c.want != "" && !strings.Contains(screen, "\n"+c.want) || c.want == "" && strings.Contains(screen, "sang") {
			t.Errorf("%q and %q: no line %q:\n%s", c.singer, c.player, c.want, screen)
		}
	}
}

func TestCentsScale(t *testing.T) {
	for _, c := range []struct {
		cents float64
		want  string
	}{
		{0, "[----------●----------]"}, {50, "[----------|---------●]"}, {-90, "[●---------|----------]"}, {math.NaN(), "[----------|----------]"},
	} {
		if got := centsScale(c.cents); got != c.want {
			t.Errorf("%g cents: %s, want %s", c.cents, got, c.want)
		}
	}
}

// The name of every part is large on the smallest terminal too.
func TestLargePartsEverywhere(t *testing.T) {
	for _, size := range sizes {
		for part := round.PartIdle; part <= round.PartOver; part++ {
			m, _ := practising(t, demoSettings())
			m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
			m.Update(snapshotMsg{m.live, moment(t, m, part, 1)})
			if screen := m.View(); strings.Count(screen, "█") < 10 || strings.Contains(screen, "\n"+strings.ToUpper(part.String())) {
				t.Errorf("%v at %s is not large:\n%s", part, size.name, screen)
			}
		}
	}
}

// Every letter of a part's name and of a chord symbol can be written large.
func TestLargeLetters(t *testing.T) {
	for _, text := range []string{"TAKE 1", "COUNT-IN", "THINK", "ANSWER", "VERDICT", "READY", "WAIT", "OVER", "LOOP", "KNOWN", "UNSURE", "SEARCHED", "NO VERDICT", "0123456789",
		"Cmaj7", "F#m7b5", "Bbdim7/E", "G13#11", "Ebsus4", "Dalt", "A+", "C6/9", "Gadd9", "Caug", "N.C.", "G7(b9)"} {
		rows, ok := dots(text)
		if !ok {
			t.Errorf("%q has a letter that cannot be written large", text)
			continue
		}
		for _, row := range rows {
			if len(row) != len(rows[0]) {
				t.Errorf("%q has rows of different lengths", text)
			}
		}
	}
}
