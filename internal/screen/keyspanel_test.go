package screen

import (
	"fmt"
	"io"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// sizesAtHand are those that the screens of the keys at hand, of what is written and of what is heard again are held to.
var sizesAtHand = []struct {
	name          string
	width, height int
}{{"60x20", 60, 20}, {"80x24", 80, 24}, {"120x40", 120, 40}}

// blues are settings with a chart of twelve bars.
func blues() Settings {
	s := demoSettings()
	s.Key, s.Chords = "F minor", "Fm7 | Bbm7 | Fm7 | Fm7 | Bbm7 | Bbm7 | Fm7 | Fm7 | Gm7b5 | C7b9 | Fm7 Db7 | Gm7b5 C7b9"
	return s
}

func TestScreensOfKeys(t *testing.T) {
	for name, c := range map[string]struct {
		settings Settings
		look     func(*model) practice.Snapshot
	}{
		"idle": {demoSettings(), func(m *model) practice.Snapshot {
			return practice.Snapshot{View: round.View{Part: round.PartIdle, PartName: "idle", Prompt: "Go on when you are ready.", Can: canIn(round.PartIdle), Key: m.live.setup.Key}}
		}},
		"take":     {demoSettings(), func(m *model) practice.Snapshot { return singing(t, m, round.PartTake1) }},
		"thinking": {demoSettings(), func(m *model) practice.Snapshot { return moment(t, m, round.PartThinking, 3) }},
		"verdict":  {demoSettings(), func(m *model) practice.Snapshot { return demoVerdict(t, m) }},
		"long": {blues(), func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartThinking, 3)
			s.View.Beat, s.View.Bar, s.View.Bars, s.View.Chord, s.View.Next = 3, 11, 12, chord(t, "Db7"), chord(t, "Gm7b5")
			return s
		}},
	} {
		for _, size := range sizesAtHand {
			t.Run(name+"-"+size.name, func(t *testing.T) {
				m, _ := practising(t, c.settings)
				m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				m.Update(snapshotMsg{m.live, c.look(m)})
				m.Update(key(keyKeys))
				screen := m.View()
				fits(t, screen, size.width, size.height)
				golden(t, name+"-"+size.name, screen)
			})
		}
	}
}

// The keys at hand come and go by a key press, in every part, and hide neither prompt, part nor what is left of it.
func TestKeysAtHand(t *testing.T) {
	for part := round.PartIdle; part <= round.PartOver; part++ {
		m, session := practising(t, demoSettings())
		s := moment(t, m, part, 5)
		if part == round.PartVerdict {
			s = demoVerdict(t, m)
		}
		m.Update(snapshotMsg{m.live, s})
		before := m.View()
		m.Update(key(keyKeys))
		with := m.View()
		for _, row := range []string{"number  1    2    3", "letter  C    D    Eb   F    G    Ab   Bb", "> "} {
			if !strings.Contains(with, row) {
				t.Errorf("%v: no %q:\n%s", part, row, with)
			}
		}
		if a, b := head(before, 8), head(with, 8); part != round.PartVerdict && a != b {
			t.Errorf("%v: the head is\n%s\nand was\n%s", part, b, a)
		}
		m.Update(key(keyKeys))
		if m.View() != before {
			t.Errorf("%v: the keys do not go away", part)
		}
		if len(session.asked) > 0 {
			t.Errorf("%v: asked for %v", part, session.asked)
		}
	}
}

// What was asked for last has the room: the keys or the shape of what is heard; and a verdict is seen when it comes, whatever was open.
func TestRoomOfTheKeys(t *testing.T) {
	for _, part := range []round.Part{round.PartNumbers, round.PartThinking} {
		m, _ := practising(t, demoSettings())
		s := sung(t, m, part, 3)
		s.View.Sound, s.View.Sounding = round.Sound{What: round.NotesSound, Take: 2}, "what was understood of take 2"
		m.Update(snapshotMsg{m.live, s})
		shows := func(when string, keys bool) {
			t.Helper()
			if screen := m.View(); strings.Contains(screen, "letter  C") != keys || strings.Contains(screen, "dots: the voice") == keys {
				t.Errorf("%v, %s: the keys are not %v:\n%s", part, when, keys, screen)
			}
		}
		shows("heard", false)
		m.Update(key("s"))
		shows("then s", true)
		m.Update(key("u"))
		shows("then u", false)
		m.Update(key("s"))
		shows("then s again", true)
		m.Update(key("s"))
		shows("and away", false)
	}
	m, _ := practising(t, demoSettings())
	m.Update(key("s"))
	m.Update(snapshotMsg{m.live, moment(t, m, round.PartAnswer, 2)})
	if !strings.Contains(m.View(), "letter  C") {
		t.Error("no keys in the answer")
	}
	verdict := demoVerdict(t, m)
	m.Update(snapshotMsg{m.live, verdict})
	if strings.Contains(m.View(), "letter  C    D    Eb") || !strings.Contains(m.View(), "All 7 notes") {
		t.Errorf("the verdict is not seen:\n%s", m.View())
	}
	m.Update(key("s"))
	if !strings.Contains(m.View(), "letter  C    D    Eb") {
		t.Errorf("the keys are not seen:\n%s", m.View())
	}
	m.Update(snapshotMsg{m.live, moment(t, m, round.PartCountIn, 2)})
	if !strings.Contains(m.View(), "letter  C    D    Eb") {
		t.Errorf("the keys do not come back in the next round:\n%s", m.View())
	}
}

func head(screen string, lines int) string {
	return strings.Join(strings.SplitN(screen, "\n", lines+1)[:lines], "\n")
}

// Where the key is guessed the panel says what would help.
func TestKeysOfAGuessedKey(t *testing.T) {
	settings := demoSettings()
	settings.Key = ""
	m, _ := practising(t, settings)
	s := moment(t, m, round.PartTake1, 1)
	s.View.Key = nil
	m.Update(snapshotMsg{m.live, s})
	m.Update(key(keyKeys))
	if screen := m.View(); !strings.Contains(screen, "Set one in the set-up") {
		t.Errorf("the panel does not say what would help:\n%s", screen)
	}
}

// Whatever the chart and the room, the panel fits, and the letters, their numbers and the bar that sounds are always on it.
func TestPanelFits(t *testing.T) {
	symbols := []string{"Cm7", "Fm7", "G7b9", "Dm7b5", "Ebmaj7", "Bbm7b5/Ab", "N.C."}
	keys := []string{"C minor", "F# dorian", "Ab major", "C blues", "D major pentatonic"}
	m := newModel(t.Context(), io.Discard, Config{Settings: demoSettings()})
	rapid.Check(t, func(r *rapid.T) {
		key, err := music.ParseKey(rapid.SampledFrom(keys).Draw(r, "key"))
		if err != nil {
			r.Fatal(err)
		}
		var bars []string
		for range rapid.IntRange(1, 40).Draw(r, "bars") {
			bars = append(bars, strings.Join(rapid.SliceOfN(rapid.SampledFrom(symbols), 1, 3).Draw(r, "chords"), " "))
		}
		chart, err := music.ParseChart(strings.Join(bars, " | "))
		if err != nil {
			r.Fatal(err)
		}
		m.live = &live{setup: round.Setup{Key: &key, Chart: chart}}
		bar := rapid.IntRange(1, len(chart.Bars)).Draw(r, "bar")
		v := round.View{Key: &key, HasLoop: true, Bar: bar, Bars: len(chart.Bars), Chord: chart.Bars[bar-1].Chords[0]}
		width, rows := rapid.IntRange(52, 200).Draw(r, "width"), rapid.IntRange(3, 60).Draw(r, "rows")
		panel := m.keysPanel(v, width, rows)
		fits(t, strings.Join(panel, "\n"), width, rows)
		text := strings.Join(panel, "\n")
		if !strings.Contains(text, fmt.Sprintf("\n> %3d  %s", bar, v.Chord)) || !strings.HasPrefix(text, "number ") || !strings.Contains(text, "\nletter ") {
			r.Fatalf("bar %d (%s) of %s on %d rows:\n%s", bar, v.Chord, chart, rows, text)
		}
	})
}
