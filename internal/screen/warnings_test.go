package screen

import (
	"bytes"
	"io"
	"runtime"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// Every warning with a sentence of its own can be read whole on the smallest terminal and on the usual one, and line by line; the music goes on.
func TestEveryWarningIsShown(t *testing.T) {
	texts := map[round.Warning]string{
		round.SoundLost:  "120 ms of sound were lost: the machine was too busy; close other programs.",
		round.NotKept:    "The round could not be kept: the disk is full.",
		round.Unreadable: "\"9\" is no number: write 1 to 7, with # or b before it where needed, as in \"1 1 2 b3\".",
		round.NotSounded: "The take cannot be heard: there is no speaker.",
		round.Care:       "You have practised for half an hour: rest the voice and the hands, and stop at pain or hoarseness; if it stays, ask a professional.",
	}
	for w := round.MicrophoneSilent; w <= round.Care; w++ {
		text := w.Sentence()
		if text == "" {
			text = texts[w]
		}
		if text == "" {
			t.Errorf("%v has no sentence", w)
			continue
		}
		for _, size := range sizes {
			m, session := practising(t, demoSettings())
			m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
			s := singing(t, m, round.PartTake2)
			s.Notices = []practice.Notice{{Time: s.Time, Warning: w, Text: text}}
			m.Update(snapshotMsg{m.live, s})
			screen := m.View()
			fits(t, screen, size.width, size.height)
			if !strings.Contains(strings.Join(strings.Fields(screen), " "), text) {
				t.Errorf("%v is not to be read at %s:\n%s", w, size.name, screen)
			}
			if !strings.Contains(screen, "20 cents") || len(session.asked) > 0 {
				t.Errorf("%v at %s: the pitch is covered, or something was asked for: %v", w, size.name, session.asked)
			}
		}
		var out bytes.Buffer
		p := plain{out: &out}
		p.tell(practice.Snapshot{Time: 5, View: round.View{Part: round.PartIdle, PartName: "idle"}, Notices: []practice.Notice{{Time: 5, Warning: w, Text: text}}})
		if !strings.Contains(out.String(), text) {
			t.Errorf("%v is not said: %s", w, out.String())
		}
	}
}

// A warning that comes and goes moves nothing on the page of a take.
func TestWarningMovesNothing(t *testing.T) {
	m, _ := practising(t, demoSettings())
	m.Update(tea.WindowSizeMsg{Width: MinWidth, Height: MinHeight})
	s := singing(t, m, round.PartTake1)
	m.Update(snapshotMsg{m.live, s})
	before := strings.Split(m.View(), "\n")
	s.Notices = []practice.Notice{{Time: s.Time, Warning: round.MicrophoneHum, Text: round.MicrophoneHum.Sentence()}}
	m.Update(snapshotMsg{m.live, s})
	after := strings.Split(m.View(), "\n")
	const still = MinHeight - mostWarningLines - 2
	for y := range still {
		if before[y] != after[y] {
			t.Errorf("row %d was %q and is %q", y, before[y], after[y])
		}
	}
}

// What goes on is learned in a round, told, and remembered once.
func TestLearnedKeyIsRemembered(t *testing.T) {
	var remembered []string
	m := newModel(t.Context(), io.Discard, Config{
		Settings: demoSettings(), Begin: func(Settings, round.Setup) (Session, error) { return newSilentSession(), nil },
		Remember: func(s Settings) error { remembered = append(remembered, s.GoOn); return nil },
	})
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	t.Cleanup(m.live.end)
	s := moment(t, m, round.PartVerdict, 1)
	s.View.GoOnKey = 36
	for range 2 {
		m.Update(snapshotMsg{m.live, s})
	}
	if !strings.Contains(m.View(), "From now on the key C2 goes on.") {
		t.Errorf("the learned key is not told:\n%s", m.View())
	}
	s.Time += 60
	m.Update(snapshotMsg{m.live, s})
	if strings.Contains(m.View(), "From now on") {
		t.Errorf("it is told for a minute:\n%s", m.View())
	}
	s.View.GoOnKey, s.View.GoOnPedal = 0, true
	m.Update(snapshotMsg{m.live, s})
	if got := strings.Join(remembered, ","); got != ",C2,pedal" {
		t.Errorf("remembered %q", got)
	}
}

// Volume and silent parts that were changed in a round are remembered, once for each change; a volume that nobody changed is not.
func TestVolumeAndMutesAreRemembered(t *testing.T) {
	var remembered []string
	settings := demoSettings()
	settings.Volume = ""
	m := newModel(t.Context(), io.Discard, Config{
		Settings: settings, Begin: func(Settings, round.Setup) (Session, error) { return newSilentSession(), nil },
		Remember: func(s Settings) error { remembered = append(remembered, s.Volume+" "+s.Muted); return nil },
	})
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	t.Cleanup(m.live.end)
	for _, change := range []struct {
		volume float64
		muted  round.Backing
	}{{-24, 0}, {-27, 0}, {-27, 0}, {-27, round.Bass | round.Click}, {-27, 0}} {
		s := moment(t, m, round.PartCountIn, 1)
		s.HasVolume, s.Volume, s.View.Muted = true, change.volume, change.muted
		m.Update(snapshotMsg{m.live, s})
	}
	if got, want := strings.Join(remembered, "|"), " |-27 |-27 bass, click|-27 "; got != want {
		t.Errorf("remembered %q, want %q", got, want)
	}
}

// Line by line, what a key changed is said, once.
func TestPlainTellsChanges(t *testing.T) {
	m, _ := practising(t, demoSettings())
	var out bytes.Buffer
	p := plain{out: &out, session: newSilentSession()}
	s := moment(t, m, round.PartVerdict, 1)
	s.HasVolume, s.Volume = true, -24
	p.tell(s)
	s.View.Muted, s.Volume, s.View.NextTempo, s.View.Learning, s.View.Prompt = round.Bass|round.Click, -27, 100, true, "Press the key."
	p.tell(s)
	p.tell(s)
	s.View.Learning, s.View.GoOnKey, s.View.Muted = false, 36, 0
	p.tell(s)
	p.press(keySofter)
	said := out.String()
	for _, line := range []string{"Silent: bass, click.", "Silent: nothing.", "Volume -27 dB.", "The next round at 100 quarters a minute.", "From now on the key C2 goes on.", "Press the key."} {
		if n := strings.Count(said, line); n != 1 {
			t.Errorf("says %q %d times:\n%s", line, n, said)
		}
	}
	if got := p.session.(*silentSession).volumes; len(got) != 1 || got[0] != -volumeStep {
		t.Errorf("volume changed by %v", got)
	}
}

// Any key but those of the help and of leaving goes on in what is only watched.
func TestWatching(t *testing.T) {
	session := newSilentSession()
	m := newModel(t.Context(), io.Discard, Config{Settings: demoSettings(), Watch: true, About: "What it is about.", Begin: func(Settings, round.Setup) (Session, error) { return session, nil }})
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	if m.Init() == nil || m.view != roundView {
		t.Fatal("does not begin by itself")
	}
	t.Cleanup(m.live.end)
	m.Update(snapshotMsg{m.live, moment(t, m, round.PartCountIn, 8)})
	if !strings.Contains(m.View(), "What it is about.") || !strings.Contains(m.View(), "any key: skip forward") {
		t.Errorf("does not say what it is:\n%s", m.View())
	}
	m.Update(key("zr"))
	m.Update(key("?"))
	m.Update(key("?"))
	m.Update(tea.KeyMsg{Type: tea.KeyDown})
	if len(session.asked) != 2 || session.asked[0] != round.GoOn || session.asked[1] != round.GoOn {
		t.Errorf("asked for %v", session.asked)
	}
	_, cmd := m.Update(tea.KeyMsg{Type: tea.KeyEsc})
	if cmd == nil {
		t.Fatal("escape does not quit")
	}
}

// Rounds that have gone by leave nothing behind in the screens: 500 rounds with every part, a warning and a verdict, on terminals
// of many sizes, and the memory in use is what it was after 50.
func TestManyRoundsTakeNoMemory(t *testing.T) {
	const rounds, settled = 500, 50
	const drawn = 5            // one round in so many is drawn: the race detector makes drawing slow
	const mostGrowth = 1 << 20 // bytes; the trails of a single round that were kept by each would be more than 10 MB
	m, _ := practising(t, demoSettings())
	var before, after runtime.MemStats
	verdict := demoVerdict(t, m)
	for n := 1; n <= rounds; n++ {
		for _, s := range []practice.Snapshot{
			moment(t, m, round.PartCountIn, 8), singing(t, m, round.PartTake1), singing(t, m, round.PartTake2), moment(t, m, round.PartAnswer, 5), verdict,
		} {
			s.View.Round = n
			s.Notices = []practice.Notice{{Time: s.Time, Warning: round.MicrophoneLow, Text: round.MicrophoneLow.Sentence()}}
			if s.Result != nil {
				result := *s.Result
				result.Facts.Round = n
				s.Result = &result
			}
			m.Update(tea.WindowSizeMsg{Width: MinWidth + n%80, Height: MinHeight + n%20})
			m.Update(snapshotMsg{m.live, s})
			if n%drawn == 0 && m.View() == "" {
				t.Fatal("nothing is shown")
			}
		}
		if n == settled {
			runtime.GC()
			runtime.ReadMemStats(&before)
		}
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > mostGrowth {
		t.Errorf("the memory in use grew by %d bytes in %d rounds", grown, rounds-settled)
	}
	runtime.KeepAlive(m)
}

// What a key did is said before an older warning, and a newer warning before that.
func TestAnswerToAKey(t *testing.T) {
	m, _ := practising(t, demoSettings())
	s := sung(t, m, round.PartThinking, 3)
	s.Notices = []practice.Notice{{Time: s.Time - 1, Warning: round.SoundLost, Text: "20 ms of sound were lost."}}
	m.Update(snapshotMsg{m.live, s})
	says := func(want string) {
		t.Helper()
		if text, _ := m.warning(); text != want {
			t.Errorf("says %q, want %q", text, want)
		}
	}
	says("! 20 ms of sound were lost.")
	s.Time += 0.1
	s.View.Misheard = true
	m.Update(snapshotMsg{m.live, s})
	says(misheardText)
	s.View.Sound, s.View.Sounding, s.View.SoundFor = round.Sound{What: round.KeySound}, "the key note C", 0.05
	m.Update(snapshotMsg{m.live, s})
	says("You hear the key note C.")
	s.Notices = append(s.Notices, practice.Notice{Time: s.Time, Warning: round.NotSounded, Text: "Nothing sounds."})
	m.Update(snapshotMsg{m.live, s})
	says("! Nothing sounds.")
	verdict := demoVerdict(t, m)
	result := *verdict.Result
	result.Journal = "Kept as round 12."
	verdict.Result = &result
	m.Update(snapshotMsg{m.live, verdict})
	marked := verdict
	again := result
	again.Journal = "Round 12 is marked."
	marked.Result, marked.View.Misheard = &again, true
	marked.Notices = []practice.Notice{{Time: marked.Time - 1, Warning: round.SoundLost, Text: "20 ms of sound were lost."}}
	m.Update(snapshotMsg{m.live, marked})
	says("Round 12 is marked.")
}

// The plan can be read while the phrase is sung, without covering the page.
func TestPlanInATake(t *testing.T) {
	m, _ := practising(t, demoSettings())
	for _, size := range sizesAtHand {
		for _, part := range []round.Part{round.PartTake1, round.PartTake2} {
			m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
			s := singing(t, m, part)
			m.Update(snapshotMsg{m.live, s})
			before := m.View()
			s.Plan = somePlan()
			m.Update(snapshotMsg{m.live, s})
			with := m.View()
			if a, b := head(before, size.height-2), head(with, size.height-2); a != b || !strings.Contains(with, "Next: five notes with one leap") {
				t.Errorf("%v at %s:\n%s", part, size.name, with)
			}
		}
	}
}

// At a verdict the plan stands once, and why at the end of what is told.
func TestPlanAtTheVerdict(t *testing.T) {
	m, _ := practising(t, demoSettings())
	m.Update(tea.WindowSizeMsg{Width: 120, Height: 60})
	s := demoVerdict(t, m)
	s.Plan = somePlan()
	m.Update(snapshotMsg{m.live, s})
	screen := m.View()
	if strings.Count(screen, s.Plan.Text) != 1 || !strings.Contains(screen, "Why that comes next\n  - "+s.Plan.Why[0]) {
		t.Errorf("the plan does not stand once with its reasons:\n%s", screen)
	}
}
