package screen

import (
	"context"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"larkhand/internal/demo"
	"larkhand/internal/music"
	"larkhand/internal/phrase"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/steps"
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

// silentSession is a session that takes notice of what it is asked for, and ends when it is told to.
type silentSession struct {
	snapshots chan practice.Snapshot
	mu        sync.Mutex
	asked     []round.Action
	amounts   []int
	volumes   []float64
	written   []string
	sizes     []int
}

func newSilentSession() *silentSession {
	return &silentSession{snapshots: make(chan practice.Snapshot)}
}

func (s *silentSession) Run(ctx context.Context) error {
	<-ctx.Done()
	close(s.snapshots)
	return nil
}

func (s *silentSession) ChangeVolume(db float64) { s.volumes = append(s.volumes, db) }

func (s *silentSession) Write(text string) { s.written = append(s.written, text) }

func (s *silentSession) Resize(rungs int) { s.sizes = append(s.sizes, rungs) }

func (s *silentSession) Do(a round.Action, amount int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.asked, s.amounts = append(s.asked, a), append(s.amounts, amount)
}

func (s *silentSession) Snapshots() <-chan practice.Snapshot { return s.snapshots }

// demoSettings are those of the demo round.
func demoSettings() Settings {
	s := Usual()
	s.Chart, s.Chords, s.LoopAlone = ownChart, "Cm7 | Fm7 | G7b9 | Cm7", no
	return s
}

// practising is a model in the round view, with the session behind it.
func practising(t *testing.T, settings Settings) (*model, *silentSession) {
	t.Helper()
	session := newSilentSession()
	m := newModel(t.Context(), io.Discard, Config{
		Settings: settings, Kept: "The rounds are not kept; --keep FOLDER keeps them.",
		Begin: func(Settings, round.Setup) (Session, error) { return session, nil },
	})
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	if m.view != roundView {
		t.Fatal(m.form.refused)
	}
	t.Cleanup(m.live.end)
	return m, session
}

func chord(t *testing.T, symbol string) music.Chord {
	t.Helper()
	c, err := music.ParseChord(symbol)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// moment is a snapshot in a part of the demo's setup, some seconds after the part began.
func moment(t *testing.T, m *model, part round.Part, elapsed float64) practice.Snapshot {
	t.Helper()
	const began, bar, beat = 100.0, 2.5, 0.625 // s
	beats := int(math.Ceil((4*bar - elapsed) / beat))
	s := practice.Snapshot{
		Time: began + elapsed,
		View: round.View{
			Part: part, PartName: part.String(), Prompt: "What to do now.", Round: 3, Key: m.live.setup.Key, NextKey: m.live.setup.Key, Tempo: 96, NextTempo: 96,
			HasLoop: true, Chord: chord(t, "G7b9"), Next: chord(t, "Cm7"), NextIn: 1, Chorus: 2, Bar: 3, Bars: 4, Beat: 2, Beats: 4,
			BarsLeft: beats / 4, BeatsLeft: beats % 4, SecondsLeft: 4*bar - elapsed, Elapsed: elapsed, Can: canIn(part),
		},
	}
	if part == round.PartNumbers || part == round.PartLetters {
		s.View.Open, s.View.Steps, s.View.BarsLeft, s.View.BeatsLeft, s.View.SecondsLeft = true, true, 0, 0, 0
	}
	return s
}

// canIn is what keys would do in a part of a round with a key and a loop.
func canIn(part round.Part) []round.Action {
	switch part {
	case round.PartIdle:
		return []round.Action{round.GoOn, round.AnotherKey, round.Slower, round.Faster, round.Mute, round.Learn, round.Steps, round.HearKey, round.Quit}
	case round.PartOver:
		return nil
	}
	can := []round.Action{round.GoOn, round.Repeat, round.Skip, round.Stop, round.AnotherKey, round.Slower, round.Faster, round.Mute, round.Steps, round.Quit}
	hear := []round.Action{round.HearTake, round.HearNotes, round.HearKey, round.HearChord}
	switch part {
	case round.PartNumbers, round.PartLetters, round.PartThinking:
		return append(append(can, hear...), round.SingAgain, round.Pieces, round.Misheard)
	case round.PartAnswer:
		return append(can, round.Pieces)
	case round.PartVerdict:
		return append(append(can, hear...), round.Learn, round.Misheard)
	case round.PartLoopAlone:
		return append(can, round.HearKey, round.HearChord, round.Learn)
	case round.PartTake2:
		return can
	}
	return append(can, round.Learn)
}

// slide is a voice that goes from one pitch to another in so many seconds, every 10 ms, from a time on.
func slide(at, seconds, from, to float64) []practice.Point {
	var out []practice.Point
	for i := range int(seconds * 100) {
		part := float64(i) / (seconds * 100)
		out = append(out, practice.Point{Time: at + float64(i)/100, Pitch: from + part*(to-from)})
	}
	return out
}

// singing is a snapshot in a take whose recording began half a second before its bar line.
func singing(t *testing.T, m *model, part round.Part) practice.Snapshot {
	const lead = 0.5
	s := moment(t, m, part, 5)
	trail := append(slide(lead+0.5, 1, 60, 60.1), practice.Point{Time: lead + 1.6, Pitch: math.NaN()})
	trail = append(trail, slide(lead+1.7, 1.5, 63, 62.9)...)
	trail = append(trail, slide(lead+3.5, 1.5, 68.2, 68.2)...)
	s.Trails[part.Take()-1] = trail
	last := trail[len(trail)-1]
	s.Pitch = practice.Point{Time: last.Time + s.Time - s.View.Elapsed - lead, Pitch: last.Pitch}
	s.View.Singing = true
	return s
}

func TestScreens(t *testing.T) {
	for name, look := range map[string]func(*model) practice.Snapshot{
		"idle": func(m *model) practice.Snapshot {
			return practice.Snapshot{View: round.View{Part: round.PartIdle, PartName: "idle", Prompt: "Go on when you are ready.", Can: canIn(round.PartIdle)}}
		},
		"count-in": func(m *model) practice.Snapshot { return moment(t, m, round.PartCountIn, 8) },
		"take":     func(m *model) practice.Snapshot { return singing(t, m, round.PartTake1) },
		"thinking": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartThinking, 0)
			s.View.Open, s.View.BarsLeft, s.View.BeatsLeft = true, 0, 0
			s.Trails[1] = slide(1, 3, 60, 67)
			return s
		},
		"answer": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartAnswer, 5)
			s.Trails[1] = slide(1, 3, 60, 67)
			for i, key := range []int{72, 74, 76, 75} {
				s.Played = append(s.Played, midiin.Note{Onset: float64(i) * 0.7, Offset: float64(i)*0.7 + 0.6, Key: key, Pitch: float64(key)})
			}
			return s
		},
		"warning": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartTake2, 5)
			s.View.Muted = round.Bass | round.HiHat
			s.View.NextTempo = 92
			s.Notices = []practice.Notice{{Time: s.Time - 1, Warning: round.MicrophoneClipped, Text: "The microphone is overdriven: turn it down."}}
			return s
		},
		"loop-alone": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartLoopAlone, 1)
			s.HasVolume, s.Volume = true, -24
			s.Notices = []practice.Notice{{Time: s.Time, Warning: round.Care, Text: "Keep headphones low: the loop should be softer than your own voice."}}
			return s
		},
		"take-2": func(m *model) practice.Snapshot { return singing(t, m, round.PartTake2) },
		"long-chord": func(m *model) practice.Snapshot {
			s := singing(t, m, round.PartTake1)
			s.View.Chord = chord(t, "Bbm7b5/Ab")
			return s
		},
		"hum": func(m *model) practice.Snapshot {
			s := singing(t, m, round.PartTake1)
			s.Notices = []practice.Notice{{Time: s.Time - 1, Warning: round.MicrophoneHum, Text: round.MicrophoneHum.Sentence()}}
			return s
		},
		"gone": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartIdle, 0)
			s.View.HasLoop, s.View.BarsLeft, s.View.BeatsLeft, s.View.WaitsFor = false, 0, 0, "microphone"
			return s
		},
		"circle": func(m *model) practice.Snapshot {
			s := singing(t, m, round.PartTake1)
			s.View.Turn = round.Person{Name: "Ada"}
			s.View.Prompt = "Ada: Sing a short phrase."
			return s
		},
		"circle-verdict": func(m *model) practice.Snapshot {
			s := demoVerdict(t, m)
			result := *s.Result
			result.Singer.Name, result.Player.Name = "Ada", "Bo"
			s.Result = &result
			return s
		},
		"learning": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartVerdict, 1)
			s.View.Learning, s.View.Prompt = true, "Press the MIDI key or the pedal that is to go on; g again for none."
			return s
		},
		"judging": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartVerdict, 1)
			s.Judging = true
			return s
		},
		"verdict": func(m *model) practice.Snapshot { return demoVerdict(t, m) },
		"no-verdict": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartVerdict, 1)
			s.Result = &practice.Result{Finished: practice.Finished{Facts: round.Facts{Round: 3}, Reason: "Nothing was sung in take 2."}}
			return s
		},
	} {
		for _, size := range sizes {
			t.Run(name+"-"+size.name, func(t *testing.T) {
				m, _ := practising(t, demoSettings())
				m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				m.Update(snapshotMsg{m.live, look(m)})
				screen := m.View()
				fits(t, screen, size.width, size.height)
				golden(t, name+"-"+size.name, screen)
			})
		}
	}
}

func TestScreensBeforeTheRound(t *testing.T) {
	for _, size := range sizes {
		m := newModel(t.Context(), io.Discard, Config{Settings: Usual(), Kept: "The rounds are kept in rounds."})
		m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
		fits(t, m.View(), size.width, size.height)
		golden(t, "setup-"+size.name, m.View())
		m.form.settings.Chart, m.form.settings.Chords = ownChart, "Cm7 | Fm7 | Hm7"
		m.Update(tea.KeyMsg{Type: tea.KeyEnter})
		fits(t, m.View(), size.width, size.height)
		golden(t, "wrong-chart-"+size.name, m.View())
		m.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(keyHelp)})
		fits(t, m.View(), size.width, size.height)
		golden(t, "help-"+size.name, m.View())
	}
}

// TestScreenOfAKeptPhrase: left and right go through the phrases that are kept, and the way through keys is of use then.
func TestScreenOfAKeptPhrase(t *testing.T) {
	kept := func() Devices { return Devices{Phrases: []string{"Harbour", "Rain"}} }
	for _, size := range sizes {
		m := newModel(t.Context(), io.Discard, Config{Settings: Usual(), Kept: "The rounds are kept in rounds.", Devices: kept})
		look := m.Init()
		m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
		m.Update(look())
		for fields[m.form.at].name != "phrase" {
			m.Update(tea.KeyMsg{Type: tea.KeyDown})
		}
		m.Update(tea.KeyMsg{Type: tea.KeyLeft})
		m.Update(tea.KeyMsg{Type: tea.KeyDown})
		m.Update(tea.KeyMsg{Type: tea.KeyRight})
		if s := m.form.settings; s.Phrase != "Rain" || s.PhraseKeys != string(phrase.Fourths) {
			t.Errorf("%s: phrase %q in keys %q", size.name, s.Phrase, s.PhraseKeys)
		}
		fits(t, m.View(), size.width, size.height)
		golden(t, "kept-phrase-"+size.name, m.View())
	}
}

// steppedVerdict is the verdict of a round in which numbers and letters were written down.
func steppedVerdict(t *testing.T, m *model) practice.Snapshot {
	s := demoVerdict(t, m)
	result, judged := *s.Result, *s.Result.Judged
	numbers, letters := 12.4, 8.0
	judged.Written = &round.Written{Numbers: "1 2 3 4 6 7 1", Letters: "C D Eb F Ab B C", NumbersSeconds: &numbers, LettersSeconds: &letters}
	judged.Steps = &steps.Result{
		Weak:      []steps.Name{steps.Ear, steps.Fingers},
		Sentences: []string{"Two links failed. Ear to numbers: for note 6 you wrote 7, where #7 was sung.", "Letters to fingers: the 3rd note was found by trying."},
	}
	result.Judged, s.Result = &judged, &result
	s.View.Steps = true
	return s
}

// somePlan is a plan with reasons.
func somePlan() *practice.Plan {
	return &practice.Plan{Text: "Next: five notes with one leap of a fourth, between about A3 and E4.", Why: []string{
		"The last six phrases of four notes were known.", "Leaps of a fourth are where most answers were searched for.",
	}}
}

func TestScreensOfTheNextStep(t *testing.T) {
	for name, look := range map[string]func(*model) practice.Snapshot{
		"verdict-steps": func(m *model) practice.Snapshot { return steppedVerdict(t, m) },
		"verdict-misheard": func(m *model) practice.Snapshot {
			s := steppedVerdict(t, m)
			s.View.Misheard, s.Plan = true, somePlan()
			return s
		},
		"verdict-heard": func(m *model) practice.Snapshot {
			s := steppedVerdict(t, m)
			s.View.Sound, s.View.Sounding, s.View.SoundFor = round.Sound{What: round.NotesSound, Take: 2}, "what was understood of take 2", 3
			return s
		},
		"idle-plan": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartIdle, 0)
			s.View.HasLoop, s.View.BarsLeft, s.View.BeatsLeft, s.Plan = false, 0, 0, somePlan()
			return s
		},
		"loop-alone-plan": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartLoopAlone, 2)
			s.Plan = somePlan()
			return s
		},
		"count-in-plan": func(m *model) practice.Snapshot {
			s := moment(t, m, round.PartCountIn, 8)
			s.Plan = somePlan()
			return s
		},
		"thinking-heard": func(m *model) practice.Snapshot {
			s := sung(t, m, round.PartThinking, 3)
			s.View.Open, s.View.BarsLeft, s.View.BeatsLeft = true, 0, 0
			s.View.Sound, s.View.Sounding = round.Sound{What: round.NotesSound, Take: 2}, "what was understood of take 2"
			return s
		},
		"answer-pieces": func(m *model) practice.Snapshot {
			s := sung(t, m, round.PartAnswer, 3)
			s.View.Open, s.View.BarsLeft, s.View.BeatsLeft = true, 0, 0
			s.View.InPieces, s.View.Piece = true, 2
			s.View.Can = append(s.View.Can, round.HearTake, round.HearNotes, round.HearKey, round.HearChord, round.Misheard)
			s.Played = []midiin.Note{{Onset: 0, Offset: 0.5, Key: 60, Pitch: 60}}
			return s
		},
	} {
		for _, size := range sizesAtHand {
			t.Run(name+"-"+size.name, func(t *testing.T) {
				m, _ := practising(t, demoSettings())
				m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				m.Update(snapshotMsg{m.live, look(m)})
				screen := m.View()
				fits(t, screen, size.width, size.height)
				golden(t, name+"-"+size.name, screen)
			})
		}
	}
}

// demoVerdict is the verdict of the demo round as a live session gave it.
func demoVerdict(t *testing.T, m *model) practice.Snapshot {
	t.Helper()
	last, err := demoEnd()
	if err != nil {
		t.Fatal(err)
	}
	s := moment(t, m, round.PartVerdict, 0)
	s.View.Round = last.Result.Facts.Round
	s.Result, s.Trails = last.Result, last.Trails
	return s
}

// demoEnd practises the demo round once for all tests: the last snapshot.
var demoEnd = sync.OnceValues(func() (last practice.Snapshot, err error) {
	setup, err := demoSettings().Setup()
	if err != nil {
		return last, err
	}
	folder, err := os.MkdirTemp("", "larkhand-screen-test-*")
	if err != nil {
		return last, err
	}
	defer os.RemoveAll(folder)
	session, err := demoSession(setup, folder)
	if err != nil {
		return last, err
	}
	ended := make(chan error)
	go func() { ended <- session.Run(context.Background()) }()
	for last = range session.Snapshots() {
	}
	if err := <-ended; err != nil {
		return last, err
	}
	if last.Result == nil {
		return last, errors.New("the session gave no result")
	}
	return last, nil
})

// demoSession is a session that hears the demo round, as fast as it goes.
func demoSession(setup round.Setup, folder string) (*practice.Session, error) {
	take1, take2, rate, smf, meta := demo.Round()
	file, err := midiin.Parse(smf)
	if err != nil {
		return nil, err
	}
	at1, at2, _ := practice.FirstRound(setup)
	sounds := []practice.Placed{{At: at1 - meta.LoopStart, Samples: take1}, {At: at2 - meta.LoopStart, Samples: take2}}
	files := practice.NewFiles(sounds, rate, practice.Messages(file.Events, at2-meta.LoopStart+meta.AnswerStart), 30, true)
	return practice.New(practice.Config{
		Setup: setup, Folder: folder, Start: true, Rounds: 1,
		Microphones: []practice.Microphone{files.Microphone()}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
}

// machineDevices are devices with names as real ones have.
func machineDevices() Devices {
	return Devices{
		Microphones: []string{"Built-in Audio Analog Stereo", "USB Audio, Channel 1 and 2 of the interface on the desk"},
		Speakers:    []string{"Built-in Audio Analog Stereo"},
		MIDIInputs:  []string{"Keyboard 61 MIDI 1", "Guitar converter"},
	}
}

func TestScreensOfDevices(t *testing.T) {
	for _, size := range sizes {
		m := newModel(t.Context(), io.Discard, Config{Settings: Usual(), Kept: "The rounds go into the journal.", Devices: machineDevices})
		look := m.Init()
		m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
		m.Update(tea.KeyMsg{Type: tea.KeyTab})
		show := func(name string) {
			t.Helper()
			fits(t, m.View(), size.width, size.height)
			golden(t, name+"-"+size.name, m.View())
		}
		show("looking")
		m.Update(look())
		m.Update(tea.KeyMsg{Type: tea.KeyRight})
		m.Update(tea.KeyMsg{Type: tea.KeyRight})
		show("microphone")
		if want := machineDevices().Microphones[1]; m.form.settings.Microphone != want {
			t.Errorf("microphone %q, want %q", m.form.settings.Microphone, want)
		}
		m.form.settings.MIDI = "A; B; C"
		m.Update(tea.KeyMsg{Type: tea.KeyEnter})
		show("wrong-ports")
	}
}

func TestScreensOfTheOffer(t *testing.T) {
	offer := &Offer{
		Text: "2 rounds were broken off and are still here:\n2026-03-04 18:20: 2 takes (9 s) and an answer\n2026-03-04 18:21: 1 take (4 s), no answer",
		Keep: func() (string, error) { return "1 round was judged and kept in the journal.", nil },
	}
	for _, size := range sizes {
		m := newModel(t.Context(), io.Discard, Config{Settings: Usual(), Offer: offer})
		m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
		fits(t, m.View(), size.width, size.height)
		golden(t, "offer-"+size.name, m.View())
		_, cmd := m.Update(key(keyKeep))
		m.Update(cmd())
		fits(t, m.View(), size.width, size.height)
		golden(t, "kept-"+size.name, m.View())
	}
}
