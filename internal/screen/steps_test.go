package screen

import (
	"context"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/demo"
	"larkhand/internal/loop"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// quietSpeaker takes everything and lets nothing be heard.
type quietSpeaker struct{ played, hushed int }

func (*quietSpeaker) Start(loop.Loop, float64, round.Backing) {}
func (*quietSpeaker) Stop()                                   {}
func (*quietSpeaker) Mute(round.Backing)                      {}
func (*quietSpeaker) SetVolume(float64)                       {}
func (s *quietSpeaker) Play([]float32, int, float64)          { s.played++ }
func (s *quietSpeaker) Hush()                                 { s.hushed++ }

func (*quietSpeaker) Status(ctx context.Context) (practice.Status, error) {
	<-ctx.Done()
	return 0, ctx.Err()
}

// markingSaver keeps nothing but the marks.
type markingSaver struct {
	droppingSaver
	marks []bool
}

func (s *markingSaver) Mark(_ context.Context, _ practice.Finished, misheard bool) (string, error) {
	s.marks = append(s.marks, misheard)
	return "", nil
}

// gate is a microphone whose sound waits while it is locked.
type gate struct {
	practice.Microphone
	sync.Mutex
}

func (g *gate) Read(ctx context.Context) (practice.Block, error) {
	g.Lock()
	defer g.Unlock()
	return g.Microphone.Read(ctx)
}

// steppedDemo is a session that hears the demo's takes and half a minute later its answer, as fast as it goes, and the gate of its sound.
func steppedDemo(setup round.Setup, folder string, speaker practice.Speaker, saver practice.Saver) (*practice.Session, *gate, error) {
	const writing, rest = 40, 30 // s on the audio clock
	take1, take2, rate, smf, meta := demo.Round()
	file, err := midiin.Parse(smf)
	if err != nil {
		return nil, nil, err
	}
	at1, at2, _ := practice.FirstRound(setup)
	sounds := []practice.Placed{{At: at1 - meta.LoopStart, Samples: take1}, {At: at2 - meta.LoopStart, Samples: take2}}
	files := practice.NewFiles(sounds, rate, practice.Messages(file.Events, at2+writing), rest, true)
	g := &gate{Microphone: files.Microphone()}
	session, err := practice.New(practice.Config{
		Setup: setup, Folder: folder, Saver: saver, Start: true, Speaker: speaker, Frame: 5 * time.Millisecond,
		Microphones: []practice.Microphone{g}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
	return session, g, err
}

// A round with steps through session, model and screen: numbers and letters are written, what was understood is heard and its shape seen,
// the answer comes, the verdict begins with the links, and the round is marked.
func TestStepsThroughTheScreens(t *testing.T) {
	settings := demoSettings()
	settings.Steps = yes
	speaker, saver, folder := &quietSpeaker{}, &markingSaver{}, t.TempDir()
	var sound *gate
	m := newModel(t.Context(), nil, Config{
		Settings: settings, Begin: func(_ Settings, setup round.Setup) (session Session, err error) {
			session, sound, err = steppedDemo(setup, folder, speaker, saver)
			return session, err
		},
	})
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	_, next := m.Update(tea.KeyMsg{Type: tea.KeyEnter})
	if m.view != roundView {
		t.Fatal(m.form.refused)
	}
	const waitsForVerdict = 6
	for step := 0; next != nil; {
		_, next = m.Update(next())
		v, screen := m.live.latest.View, m.View()
		switch {
		case step == 0 && v.Part == round.PartNumbers:
			m.Update(key("1234 6 #7 1"))
			press(m, tea.KeyEnter)
			step++
		case step == 1 && v.Part == round.PartLetters:
			sound.Lock() // the answer comes when this is written
			m.Update(key("uCDebf"))
			step++
		case step == 2 && strings.Contains(screen, string(noteBegins)):
			if !strings.Contains(screen, "C D Eb F") || strings.Contains(screen, "6  Ab") {
				t.Errorf("while it is heard the screen is\n%s", screen)
			}
			m.Update(key("u"))
			step++
		case step == 3 && v.Sound.What == round.NoSound:
			m.Update(key("AbBC"))
			press(m, tea.KeyEnter)
			step++
		case step == 4 && v.Part == round.PartThinking:
			sound.Unlock()
			step++
		case step == 5 && m.live.verdictStands():
			m.Update(key("m"))
			step++
		case step == waitsForVerdict && v.Misheard:
			if !strings.Contains(screen, misheardText) {
				t.Errorf("the mark is not said:\n%s", screen)
			}
			step++
			m.Update(key(keyQuit))
			m.live.cancel()
		}
		if m.live.over && step <= waitsForVerdict {
			t.Fatalf("the session ended at step %d (%v, %v):\n%s", step, v.Part, m.live.failed, screen)
		}
	}
	j := m.live.latest.Result.Judged
	if j == nil || j.Written == nil || j.Written.Numbers != "1234 6 #7 1" || j.Written.Letters != "CDebfAbBC" {
		t.Fatalf("the verdict knows of %+v", j)
	}
	screen := strings.Join(strings.Fields(m.View()), " ")
	if text := j.Steps.Sentences[0]; !strings.Contains(screen, text) {
		t.Errorf("the verdict does not say %q:\n%s", text, m.View())
	}
	if !slices.Equal(saver.marks, []bool{true}) {
		t.Errorf("marks %v", saver.marks)
	}
	if speaker.played != 1 || speaker.hushed == 0 {
		t.Errorf("heard %d sounds, ended %d", speaker.played, speaker.hushed)
	}
}
