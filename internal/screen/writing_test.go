package screen

import (
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/voice"
)

// sung is a snapshot of a part after both takes: what was sung lies in it.
func sung(t *testing.T, m *model, part round.Part, elapsed float64) practice.Snapshot {
	s := moment(t, m, part, elapsed)
	s.Trails[0], s.Trails[1] = singing(t, m, round.PartTake1).Trails[0], singing(t, m, round.PartTake2).Trails[1]
	for i := range s.Understood {
		s.Understood[i] = []voice.Note{
			{Onset: 1, Offset: 2, Semitone: 60, Pitch: 60}, {Onset: 2.2, Offset: 3.7, Semitone: 63, Pitch: 63}, {Onset: 4, Offset: 5.5, Semitone: 67, Pitch: 67},
		}
	}
	s.HasVolume, s.Volume = true, -18
	return s
}

func press(m *model, types ...tea.KeyType) {
	for _, k := range types {
		m.Update(tea.KeyMsg{Type: k})
	}
}

func TestScreensOfWriting(t *testing.T) {
	numbers := func(m *model) practice.Snapshot { return sung(t, m, round.PartNumbers, 12) }
	letters := func(m *model) practice.Snapshot { return sung(t, m, round.PartLetters, 4) }
	for name, c := range map[string]struct {
		look func(*model) practice.Snapshot
		keys []tea.KeyMsg
	}{
		"numbers-empty":  {numbers, nil},
		"numbers":        {numbers, []tea.KeyMsg{key("11 2 "), key("♭3"), {Type: tea.KeyLeft}}},
		"numbers-long":   {numbers, []tea.KeyMsg{key("1 2 3 4 5 6 7 1 b2 #4 b6 7 1 2 3 4 5 6 7 8")}},
		"numbers-wrong":  {numbers, []tea.KeyMsg{key("1 2 9"), {Type: tea.KeyEnter}}},
		"numbers-keys":   {numbers, []tea.KeyMsg{key("1 2"), key(keyKeys)}},
		"letters":        {letters, []tea.KeyMsg{key("ccdd#?")}},
		"letters-no-key": {letters, []tea.KeyMsg{key("C x")}},
		"letters-heard": {func(m *model) practice.Snapshot {
			s := letters(m)
			s.View.Sound, s.View.Sounding = round.Sound{What: round.NotesSound, Take: 2}, "what was understood of take 2"
			return s
		}, []tea.KeyMsg{key("C")}},
		"numbers-misheard": {func(m *model) practice.Snapshot {
			s := numbers(m)
			s.View.Misheard, s.View.InPieces, s.View.Piece = true, true, 1
			return s
		}, nil},
	} {
		for _, size := range sizesAtHand {
			t.Run(name+"-"+size.name, func(t *testing.T) {
				m, _ := practising(t, demoSettings())
				m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				m.Update(snapshotMsg{m.live, c.look(m)})
				for _, k := range c.keys {
					m.Update(k)
				}
				screen := m.View()
				fits(t, screen, size.width, size.height)
				golden(t, name+"-"+size.name, screen)
			})
		}
	}
}

// Writing: what is typed is mended by the usual keys and handed in whole; what cannot be read stays.
func TestWriting(t *testing.T) {
	m, session := practising(t, demoSettings())
	m.Update(snapshotMsg{m.live, sung(t, m, round.PartNumbers, 3)})
	m.Update(key("113"))
	press(m, tea.KeyLeft)
	m.Update(key("2b"))
	press(m, tea.KeyHome, tea.KeyDelete, tea.KeyEnd)
	m.Update(tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")})
	m.Update(key("55"))
	press(m, tea.KeyBackspace)
	if got := string(m.live.draft.text); got != "12b3 5" {
		t.Fatalf("written: %q", got)
	}
	m.Update(key("9"))
	press(m, tea.KeyEnter)
	if screen := m.View(); len(session.written) > 0 || !strings.Contains(screen, `"9" is no number`) || string(m.live.draft.text) != "12b3 59" {
		t.Errorf("handed in %q, text %q:\n%s", session.written, string(m.live.draft.text), screen)
	}
	press(m, tea.KeyBackspace, tea.KeyEnter, tea.KeyEnter)
	if !slices.Equal(session.written, []string{"12b3 5"}) {
		t.Errorf("handed in %q", session.written)
	}
	m.Update(snapshotMsg{m.live, sung(t, m, round.PartLetters, 0.1)})
	press(m, tea.KeyEnter) // the second half of one press
	m.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("C\nD\x07"), Paste: true})
	if got := string(m.live.draft.text); got != "C D" {
		t.Errorf("pasted: %q", got)
	}
	press(m, tea.KeyCtrlU, tea.KeyEnter)
	if len(session.written) != 1 {
		t.Errorf("handed in %q", session.written)
	}
	m.Update(snapshotMsg{m.live, sung(t, m, round.PartLetters, 1)})
	press(m, tea.KeyEnter)
	if !slices.Equal(session.written, []string{"12b3 5", ""}) {
		t.Errorf("handed in %q", session.written)
	}
	if len(session.asked) > 0 {
		t.Errorf("asked for %v", session.asked)
	}
}

// While something is written only keys act that no entry contains, and none of them throws the round away or quits.
func TestKeysWhileWriting(t *testing.T) {
	for _, part := range []round.Part{round.PartNumbers, round.PartLetters} {
		m, session := practising(t, demoSettings())
		m.Update(snapshotMsg{m.live, sung(t, m, part, 3)})
		const typed = "12345678#b?nN♭♯♮,.-/|;[] +=acdefgABCDEFG9!"
		for _, r := range typed {
			if _, cmd := m.Update(key(string(r))); cmd != nil {
				t.Errorf("%v: %q does more than being written", part, r)
			}
		}
		if got := string(m.live.draft.text); got != typed {
			t.Errorf("%v: written %q, want %q", part, got, typed)
		}
		if len(session.asked)+len(session.volumes) > 0 {
			t.Errorf("%v: asked for %v", part, session.asked)
		}
		for r := 'h'; r <= 'z'; r++ {
			if r == 'n' || r == 'i' || r == 's' {
				continue
			}
			if _, cmd := m.Update(key(string(r))); cmd != nil {
				t.Errorf("%v: %q ends something", part, r)
			}
		}
		m.Update(key("TU"))
		want := []round.Action{round.HearChord, round.SingAgain, round.Misheard, round.HearKey, round.Pieces, round.HearTake, round.HearNotes, round.HearTake, round.HearNotes}
		if !slices.Equal(session.asked, want) || session.amounts[7] != 1 || session.amounts[8] != 1 {
			t.Errorf("%v: asked for %v %v, want %v", part, session.asked, session.amounts, want)
		}
		if got := string(m.live.draft.text); got != typed {
			t.Errorf("%v: written %q", part, got)
		}
		press(m, tea.KeyUp, tea.KeyDown)
		if !slices.Equal(session.volumes, []float64{volumeStep, -volumeStep}) {
			t.Errorf("%v: volumes %v", part, session.volumes)
		}
		m.Update(key("i"))
		if !m.help {
			t.Errorf("%v: no help", part)
		}
		m.Update(key("i"))
		if m.help || string(m.live.draft.text) != typed {
			t.Errorf("%v: help %v, written %q", part, m.help, string(m.live.draft.text))
		}
		press(m, tea.KeyEsc)
		if m.view != setupView {
			t.Errorf("%v: escape does not end the session", part)
		}
	}
}

// How a line is read is said as it is written, and never in letters where numbers are asked.
func TestUnderstood(t *testing.T) {
	for _, c := range []struct {
		key         string
		numbering   string
		part        round.Part
		typed, want string
	}{
		{"C minor", "altered", round.PartNumbers, "", "Enter without numbers leaves this step out."},
		{"C minor", "altered", round.PartNumbers, "11 2 ♭3", "4 notes: 1 1 2 b3"},
		{"C minor", "altered", round.PartNumbers, "1 b", "1 note: 1"},
		{"C minor", "altered", round.PartNumbers, "1?", "2 notes, 1 of them not heard: 1 ?"},
		{"C minor", "altered", round.PartNumbers, "1 #2", "2 notes: 1 #2. In C minor #2 is b3"},
		{"C minor", "scale", round.PartNumbers, "1 b3", "2 notes: 1 b3. In C minor b3 is 3"},
		{"C minor", "scale", round.PartLetters, "ccdeb", "4 notes: C C D Eb"},
		{"C minor", "scale", round.PartLetters, "c d#", "2 notes: C D#. In C minor D# is Eb"},
		{"", "scale", round.PartLetters, "c d#", "2 notes: C D#"},
	} {
		settings := demoSettings()
		settings.Key, settings.Numbering = c.key, c.numbering
		m, _ := practising(t, settings)
		s := sung(t, m, c.part, 3)
		m.Update(snapshotMsg{m.live, s})
		if said, wrong := understood(s.View, m.live.setup, c.typed); said != c.want || wrong != "" {
			t.Errorf("%q in %s: %q, %q, want %q", c.typed, c.key, said, wrong, c.want)
		}
	}
}

// What was sung changes nothing on a screen while it is worked out and played; only who asks to hear what was understood sees its shape,
// without numbers and letters.
func TestSungNotesAreNotShown(t *testing.T) {
	for _, part := range []round.Part{round.PartNumbers, round.PartLetters, round.PartThinking, round.PartAnswer} {
		for _, sound := range []round.Sound{{}, {What: round.TakeSound, Take: 2}, {What: round.KeySound}, {What: round.ChordSound}, {What: round.NotesSound, Take: 2}} {
			for _, panel := range []bool{false, true} {
				for _, size := range sizesAtHand {
					m, _ := practising(t, demoSettings())
					m.keys = panel
					m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
					with := sung(t, m, part, 3)
					with.View.Sound, with.View.Sounding = sound, "something"
					without := with
					without.Trails, without.Understood = [2][]practice.Point{}, [2][]voice.Note{}
					m.Update(snapshotMsg{m.live, with})
					a := m.View()
					fits(t, a, size.width, size.height)
					m.Update(snapshotMsg{m.live, without})
					b := m.View()
					if sound.What != round.NotesSound {
						if a != b {
							t.Errorf("%v at %s, keys %v, %v: what was sung is shown:\n%s", part, size.name, panel, sound.What, a)
						}
						continue
					}
					if a == b || !strings.Contains(a, string(noteBegins)) {
						t.Errorf("%v at %s: the shape is not shown:\n%s", part, size.name, a)
					}
					if names := namesBeside(a, b); names != "" {
						t.Errorf("%v at %s: names are shown: %q\n%s", part, size.name, names, a)
					}
				}
			}
		}
	}
}

// namesBeside are the letters and numbers on the lines of one screen that another has not, apart from the words below a picture.
func namesBeside(a, b string) string {
	var names strings.Builder
	others := strings.Split(b, "\n")
	for i, line := range strings.Split(a, "\n") {
		if line == others[i] || strings.Contains(line, "brackets: the notes as understood") {
			continue
		}
		line, _, _ = strings.Cut(line, "number  1") // the keys at hand beside it
		line, _, _ = strings.Cut(line, "letter  C")
		for _, r := range []rune(line)[:min(40, len([]rune(line)))] {
			if r >= '1' && r <= '8' || r >= 'A' && r <= 'G' {
				names.WriteRune(r)
			}
		}
	}
	return names.String()
}

// Whatever is written, in whatever room, the screen fits, and the cursor is on it.
func TestWritingFits(t *testing.T) {
	m, _ := practising(t, demoSettings())
	for _, part := range []round.Part{round.PartNumbers, round.PartLetters} {
		m.Update(snapshotMsg{m.live, sung(t, m, part, 3)})
		rapid.Check(t, func(r *rapid.T) {
			width, height := rapid.IntRange(MinWidth, 200).Draw(r, "width"), rapid.IntRange(MinHeight, 60).Draw(r, "height")
			m.keys = rapid.Bool().Draw(r, "keys")
			d := &m.live.draft
			d.text = []rune(rapid.StringMatching(`[1-8b#?,| a-gA-G;♭日]{0,90}`).Draw(r, "text"))
			d.at = rapid.IntRange(0, len(d.text)).Draw(r, "at")
			m.Update(tea.WindowSizeMsg{Width: width, Height: height})
			screen := m.View()
			fits(t, screen, width, height)
			if !strings.ContainsRune(screen, cursorMark) {
				r.Fatalf("no cursor:\n%s", screen)
			}
		})
	}
}

// Every character that an entry of the keyboard has can be written large.
func TestLargeEntries(t *testing.T) {
	if largeLine([]rune("12345678#b?n abcdefgABCDEFG,|-./()♭♯"), 0, 200, 8) == nil {
		t.Error("an entry cannot be written large")
	}
	if got := largeLine([]rune("1 日"), 0, 200, 8); got != nil {
		t.Errorf("written large: %q", got)
	}
}
