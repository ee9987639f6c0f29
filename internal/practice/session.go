package practice

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"larkhand/internal/round"
)

// Config is what a session works with. Setup and Folder are needed.
type Config struct {
	Setup       round.Setup
	Microphones []Microphone // all of one audio clock; empty: the session waits for one that never comes
	MIDIPorts   []MIDIPort
	Speaker     Speaker       // nil: the loop is heard elsewhere, or not at all
	Clock       Clock         // of the same audio clock, for when no sound comes; nil: sound always comes, as from files
	Volume      float64       // of the loop at first, dB below full; the Speaker was set to it
	Began       time.Time     // the moment on the wall at which the audio clock is 0; may be zero
	Folder      string        // where the rounds are recorded; it may hold no rounds yet
	Saver       Saver         // nil: the rounds stay in their folders
	Frame       time.Duration // shortest time between two snapshots; 0: a thirtieth of a second
	Start       bool          // the first round begins by itself
	Rounds      int           // the session ends when so many rounds were saved; 0: it ends by Quit
	Planner     Planner       // proposes each round; nil: nothing is proposed
}

// Session is a live practice session. Make one with New, then call Run once.
type Session struct {
	engine    *engine
	asked     chan round.Event
	volumes   chan float64
	resizes   chan int
	blocks    chan micBlock
	messages  chan portMessage
	statuses  chan Status
	snapshots chan Snapshot
	done      chan struct{}
	shown     time.Time
}

type micBlock struct {
	index int
	block Block
	err   error
}

type portMessage struct {
	index   int
	message Message
	err     error
}

// ErrFolderInUse is wrapped by the error of New where the folder holds rounds already.
var ErrFolderInUse = errors.New("holds rounds that were not saved: recover them first, or name another folder")

// New prepares a session. The error says what cannot work: a setup, a microphone's rate, a folder.
func New(cfg Config) (*Session, error) {
	if err := cfg.Setup.Check(); err != nil {
		return nil, err
	}
	if cfg.Frame <= 0 {
		cfg.Frame = usualFrame
	}
	if err := os.MkdirAll(cfg.Folder, 0o755); err != nil {
		return nil, err
	}
	left, err := filepath.Glob(filepath.Join(cfg.Folder, roundPrefix+"*"))
	if err != nil {
		return nil, err
	}
	if len(left) > 0 {
		return nil, fmt.Errorf("%s %w", cfg.Folder, ErrFolderInUse)
	}
	e, err := newEngine(cfg)
	if err != nil {
		return nil, err
	}
	return &Session{
		engine: e, asked: make(chan round.Event, waiting), volumes: make(chan float64, waiting), resizes: make(chan int, waiting), blocks: make(chan micBlock), messages: make(chan portMessage), statuses: make(chan Status),
		snapshots: make(chan Snapshot, 1), done: make(chan struct{}),
	}, nil
}

// Snapshots gives the newest snapshot whenever there is a new one, at most one each Config.Frame; one that was not taken is
// replaced. The channel is closed, after a last snapshot, when Run ends.
func (s *Session) Snapshots() <-chan Snapshot { return s.snapshots }

// Do asks for an action, as by a key press. amount is that of round.Event.Amount. It may be called from any goroutine.
func (s *Session) Do(a round.Action, amount int) {
	s.ask(round.Event{Kind: round.Pressed, Action: a, Amount: amount})
}

// Write hands in the numbers or the letters that were written down in this part, as typed; blank leaves the step out. It may be called from any goroutine.
func (s *Session) Write(text string) { s.ask(round.Event{Kind: round.Wrote, Text: text}) }

// ChangeVolume plays the loop louder, or softer where db is below 0. It may be called from any goroutine.
func (s *Session) ChangeVolume(db float64) {
	select {
	case s.volumes <- db:
	case <-s.done:
	}
}

func (s *Session) ask(e round.Event) {
	select {
	case s.asked <- e:
	case <-s.done:
	}
}

// Run practises until Quit, until the last of Config.Rounds is saved, until the microphone's file ends, or until ctx does. What is
// being recorded then is kept. All that Run started has ended when it returns. The error is that of a device that cannot be read; a session that
// was ended is none.
func (s *Session) Run(ctx context.Context) error {
	defer close(s.done)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	e := s.engine
	e.disk, e.bench = newClerk(), newClerk()
	var readers sync.WaitGroup
	e.planFirst(ctx)
	s.read(ctx, &readers)
	err := s.loop(ctx)
	e.act(round.Event{Kind: round.Pressed, Action: round.Quit})
	cancel()
	readers.Wait()
	s.close()
	return err
}

// close ends the clerks, takes their last reports and gives the last snapshot.
func (s *Session) close() {
	e := s.engine
	if e.cfg.Planner != nil {
		e.onBench(e.cfg.Planner.Settled)
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		e.disk.close()
		e.bench.close()
	}()
	for over := false; !over; {
		select {
		case r := <-e.reports:
			e.late = append(e.late, r)
		case <-ended:
			over = true
		}
	}
	for len(e.reports) > 0 {
		e.late = append(e.late, <-e.reports)
	}
	s.heedLate()
	s.publish(true)
	close(s.snapshots)
}

// read starts a goroutine for each device.
func (s *Session) read(ctx context.Context, readers *sync.WaitGroup) {
	cfg := s.engine.cfg
	for i, mic := range cfg.Microphones {
		readers.Go(func() { s.readMicrophone(ctx, i, mic) })
	}
	for i, port := range cfg.MIDIPorts {
		readers.Go(func() { s.readPort(ctx, i, port) })
	}
	if cfg.Speaker != nil {
		readers.Go(func() { s.readSpeaker(ctx, cfg.Speaker) })
	}
}

// readMicrophone passes blocks on. Two buffers do: the session is done with one when it takes the other.
func (s *Session) readMicrophone(ctx context.Context, index int, mic Microphone) {
	var buffers [2][]float32
	for k := 0; ; k = 1 - k {
		b, err := mic.Read(ctx)
		if ctx.Err() != nil {
			return
		}
		buffers[k] = append(buffers[k][:0], b.Samples...)
		b.Samples = buffers[k]
		select {
		case s.blocks <- micBlock{index, b, err}:
		case <-ctx.Done():
			return
		}
		if err != nil {
			return
		}
	}
}

func (s *Session) readPort(ctx context.Context, index int, port MIDIPort) {
	for {
		m, err := port.Read(ctx)
		if ctx.Err() != nil || errors.Is(err, io.EOF) {
			return
		}
		select {
		case s.messages <- portMessage{index, m, err}:
		case <-ctx.Done():
			return
		}
		if err != nil {
			return
		}
	}
}

func (s *Session) readSpeaker(ctx context.Context, speaker Speaker) {
	for {
		status, err := speaker.Status(ctx)
		if err != nil {
			return
		}
		select {
		case s.statuses <- status:
		case <-ctx.Done():
			return
		}
	}
}

// loop is the session's goroutine.
func (s *Session) loop(ctx context.Context) error {
	e := s.engine
	ticks := time.NewTicker(e.cfg.Frame)
	defer ticks.Stop()
	for !s.over() {
		asked, volumes, resizes := s.asked, s.volumes, s.resizes
		if !e.started { // there is no time yet at which something could be asked
			asked, volumes, resizes = nil, nil, nil
		}
		select {
		case b := <-s.blocks:
			switch {
			case errors.Is(b.err, io.EOF):
				return nil
			case b.err != nil:
				return b.err
			}
			e.block(b.index, b.block)
		case m := <-s.messages:
			if m.err != nil {
				return m.err
			}
			e.message(m.index, m.message)
		case status := <-s.statuses:
			s.speaker(status)
		case event := <-asked:
			e.act(event)
		case db := <-volumes:
			e.changeVolume(db)
		case rungs := <-resizes:
			e.resize(rungs)
		case r := <-e.reports:
			e.heed(r)
		case <-ticks.C:
			if e.cfg.Clock != nil {
				e.stalled()
			}
		case <-ctx.Done():
			return nil
		}
		s.heedLate()
		s.publish(false)
	}
	return nil
}

// heedLate takes the reports that came while a clerk was busy.
func (s *Session) heedLate() {
	e := s.engine
	for len(e.late) > 0 {
		r := e.late[0]
		e.late = e.late[1:]
		e.heed(r)
	}
}

func (s *Session) speaker(status Status) {
	e := s.engine
	kinds := map[Status]round.EventKind{Gone: round.DeviceLost, Back: round.DeviceBack}
	if kind, ok := kinds[status]; ok {
		e.tell(round.Event{Kind: kind, Time: e.now, Lost: round.Speaker})
	}
}

// over is true when the session has done what it was to do.
func (s *Session) over() bool {
	e := s.engine
	return e.part == round.PartOver || e.cfg.Rounds > 0 && e.over >= e.cfg.Rounds
}

// publish replaces the snapshot that waits to be taken, unless that one is too new.
func (s *Session) publish(last bool) {
	now := time.Now()
	if !last && now.Sub(s.shown) < s.engine.cfg.Frame {
		return
	}
	s.shown = now
	snapshot := s.engine.snapshot()
	select {
	case <-s.snapshots:
	default:
	}
	s.snapshots <- snapshot
}
