package command

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/demo"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen"
	"larkhand/midiin"
)

// showDemo lets the demo round go by on the screens.
func showDemo(cmd *cobra.Command) error {
	folder, err := os.MkdirTemp("", "larkhand-demo-*")
	if err != nil {
		return fmt.Errorf("cannot record: %w", plainCause(err))
	}
	defer os.RemoveAll(folder)
	ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGHUP) // the terminal was closed
	defer stop()
	_, _, _, _, meta := demo.Round()
	return screen.Run(ctx, cmd.InOrStdin(), cmd.OutOrStdout(), screen.Config{
		Settings: demoSettings(meta), Watch: true, About: meta.Scenario, Colour: inColour(cmd.OutOrStdout()),
		Kept: "A made-up round; nothing of it is kept.",
		Begin: func(_ screen.Settings, setup round.Setup) (screen.Session, error) {
			return newDemoSession(setup, folder)
		},
	})
}

// demoSettings are those of the demo round.
func demoSettings(meta demo.Meta) screen.Settings {
	s := screen.Usual()
	s.Key, s.Tempo, s.LoopAlone = meta.Key, decimal(meta.Tempo), "no"
	s.Chart = meta.Chart
	s.NameChart()
	return s
}

// demoSession hears the demo round in real time; Do skips forward to the next part.
type demoSession struct {
	*practice.Session
	pace *pace
}

func newDemoSession(setup round.Setup, folder string) (*demoSession, error) {
	first, second, rate, answer, meta := demo.Round()
	file, err := midiin.Parse(answer)
	if err != nil {
		return nil, err
	}
	take1, take2, answerBar := practice.FirstRound(setup)
	messages := practice.Messages(file.Events, take2-meta.LoopStart+meta.AnswerStart)
	sounds := []practice.Placed{{At: take1 - meta.LoopStart, Samples: first}, {At: take2 - meta.LoopStart, Samples: second}}
	files := practice.NewFiles(sounds, rate, messages, restAfterFiles, true)
	p := newPace([]float64{take1, take2, answerBar})
	session, err := practice.New(practice.Config{
		Setup: setup, Folder: folder, Began: time.Now(), Start: true, Rounds: 1,
		Microphones: []practice.Microphone{pacedMicrophone{files.Microphone(), p}}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
	return &demoSession{session, p}, err
}

// Do skips forward; Quit ends it.
func (d *demoSession) Do(a round.Action, amount int) {
	if a == round.Quit {
		d.Session.Do(a, amount)
		return
	}
	d.pace.skip()
}

// pace lets time go by in real time, or jumps to the next of some moments.
type pace struct {
	moments []float64 // s, rising

	mu      sync.Mutex
	now     float64   // s: up to where the sound was given out
	until   float64   // s: up to where it goes as fast as it can
	began   time.Time // when 0 s was; moved back by what was skipped
	skipped chan struct{}
}

func newPace(moments []float64) *pace {
	return &pace{moments: moments, began: time.Now(), skipped: make(chan struct{}, 1)}
}

// skip jumps to the next moment; after the last one to the end.
func (p *pace) skip() {
	p.mu.Lock()
	defer p.mu.Unlock()
	const end = 1e4 // s: after everything
	p.until = end
	for _, m := range p.moments {
		if m > p.now {
			p.until = m
			break
		}
	}
	select {
	case p.skipped <- struct{}{}:
	default:
	}
}

// wait waits until a moment has come.
func (p *pace) wait(ctx context.Context, moment float64) error {
	for {
		p.mu.Lock()
		p.now = moment
		length := time.Duration(moment * float64(time.Second))
		left := time.Until(p.began.Add(length))
		if moment <= p.until {
			left = 0
			p.began = time.Now().Add(-length)
		}
		p.mu.Unlock()
		if left <= 0 {
			return ctx.Err()
		}
		timer := time.NewTimer(left)
		select {
		case <-timer.C:
		case <-p.skipped:
		case <-ctx.Done():
		}
		timer.Stop()
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
}

// pacedMicrophone gives the sound of another microphone when its time has come.
type pacedMicrophone struct {
	*practice.FileMicrophone
	pace *pace
}

// Read gives the next block.
func (m pacedMicrophone) Read(ctx context.Context) (practice.Block, error) {
	b, err := m.FileMicrophone.Read(ctx)
	if err != nil {
		return b, err
	}
	return b, m.pace.wait(ctx, b.Time+float64(len(b.Samples))/float64(m.Rate()))
}
