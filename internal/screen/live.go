package screen

import (
	"context"
	"sync"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// live is a session that runs, or has run.
type live struct {
	session Session
	setup   round.Setup
	cancel  context.CancelFunc
	done    chan struct{} // closed when Run has returned; err is set then
	err     error

	latest practice.Snapshot
	over   bool   // all snapshots were taken
	failed error  // why it ended, where that is a fault
	scroll int    // lines by which a verdict was moved up
	shown  int    // round whose verdict scroll belongs to
	remark string // a fault that ends nothing
	draft  draft  // what is being written

	keysOver      bool    // the keys at hand were asked for after the shape that is heard, and take its room
	keysAtVerdict bool    // they were asked for at this verdict, and take its room
	told          string  // what a key changed
	toldAt        float64 // s on the audio clock
}

// start lets a session run in a goroutine of its own.
func start(ctx context.Context, session Session, setup round.Setup, running *sync.WaitGroup) *live {
	ctx, cancel := context.WithCancel(ctx)
	l := &live{session: session, setup: setup, cancel: cancel, done: make(chan struct{})}
	running.Go(func() {
		defer close(l.done)
		l.err = session.Run(ctx)
	})
	return l
}

// wait waits for one snapshot.
func (l *live) wait() tea.Cmd {
	return func() tea.Msg {
		s, ok := <-l.session.Snapshots()
		if !ok {
			<-l.done
			return endedMsg{l}
		}
		return snapshotMsg{l, s}
	}
}

// take keeps a snapshot.
func (l *live) take(s practice.Snapshot) {
	if s.Result != nil && s.Result.Facts.Round != l.shown {
		l.shown, l.scroll, l.keysAtVerdict = s.Result.Facts.Round, 0, false
	}
	if told := changes(l.latest, s); len(told) > 0 && l.latest.View.PartName != "" {
		l.told, l.toldAt = told[len(told)-1], s.Time
	}
	l.latest = s
	l.draft.keep(s.View)
}

// end ends the session and waits until all of it has.
func (l *live) end() {
	if l.session == nil {
		return
	}
	l.cancel()
	for range l.session.Snapshots() { // what nobody looks at any more
	}
	<-l.done
}

// verdictStands tells whether the newest result is what is to be seen.
func (l *live) verdictStands() bool {
	s := l.latest
	if s.Result == nil {
		return false
	}
	return l.over || (s.View.Part == round.PartVerdict || s.View.Part == round.PartOver) && !s.Judging && s.Result.Facts.Round == s.View.Round
}
