package screen

import (
	"bytes"
	"context"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// toldSession gives some snapshots, then ends when it is asked to quit.
type toldSession struct {
	*silentSession
	told []practice.Snapshot
	quit chan struct{}
}

func (s *toldSession) Run(ctx context.Context) error {
	defer close(s.snapshots)
	for _, snapshot := range s.told {
		select {
		case s.snapshots <- snapshot:
		case <-ctx.Done():
			return nil
		}
	}
	select {
	case <-s.quit:
	case <-ctx.Done():
	}
	return nil
}

func (s *toldSession) ChangeVolume(float64) {}

func (s *toldSession) Do(a round.Action, amount int) {
	s.silentSession.Do(a, amount)
	if a == round.Quit {
		close(s.quit)
	}
}

// What is new is said once; keys are lines.
func TestPlain(t *testing.T) {
	m, _ := practising(t, demoSettings())
	count := moment(t, m, round.PartCountIn, 8)
	take := singing(t, m, round.PartTake1)
	take.Notices = []practice.Notice{
		{Time: take.Time - 2, Warning: round.Care, Text: "Keep it low."}, {Time: take.Time - 1, Warning: round.MicrophoneLow, Text: "Too low."},
	}
	verdict := demoVerdict(t, m)
	session := &toldSession{newSilentSession(), []practice.Snapshot{count, count, take, take, verdict, verdict}, make(chan struct{})}
	var out bytes.Buffer
	if err := Plain(t.Context(), strings.NewReader("\nr\n-\ny\nq\n"), &out, PlainConfig{Begin: func() (Session, error) { return session, nil }, Kept: "They are not kept."}); err != nil {
		t.Fatal(err)
	}
	if want := []round.Action{round.GoOn, round.Repeat, round.Slower, round.Quit}; !slices.Equal(session.asked, want) {
		t.Errorf("asked for %v, want %v", session.asked, want)
	}
	said := out.String()
	for _, line := range []string{
		"Count-in. What to do now. 1 bar left.\n", "Bar 3: G7b9, next Cm7.\n", "Take 1. What to do now. 2 bars left.\n",
		"Care: Keep it low.\n", "Warning: Too low.\n", `"y" is no key here; ? names them.` + "\n", "The session is over. They are not kept.\n",
	} {
		if !strings.Contains(said, line) {
			t.Errorf("does not say %q:\n%s", line, said)
		}
	}
	for text, most := range map[string]int{"Take 1.": 1, "Too low": 1, "Keep it low": 1, "Verdict: ": 1} {
		if n := strings.Count(said, text); n != most {
			t.Errorf("says %q %d times, want %d:\n%s", text, n, most, said)
		}
	}
	if strings.Contains(said, "\x1b") {
		t.Error("says escape sequences")
	}
}

var errGone = errors.New("the reader has gone")

type goneWriter struct{}

func (goneWriter) Write([]byte) (int, error) { return 0, errGone }

// A session ends where nobody can read on, and its error is told.
func TestPlainWithoutReader(t *testing.T) {
	m, _ := practising(t, demoSettings())
	session := &toldSession{newSilentSession(), []practice.Snapshot{moment(t, m, round.PartCountIn, 8)}, make(chan struct{})}
	if err := Plain(t.Context(), strings.NewReader(""), goneWriter{}, PlainConfig{Begin: func() (Session, error) { return session, nil }, Kept: ""}); !errors.Is(err, errGone) {
		t.Errorf("error %v", err)
	}
}

// A program that is stopped from outside ends its session.
func TestPlainStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	in, _ := io.Pipe()
	session := &toldSession{newSilentSession(), nil, make(chan struct{})}
	if err := Plain(ctx, in, io.Discard, PlainConfig{Begin: func() (Session, error) { return session, nil }, Kept: ""}); err != nil {
		t.Error(err)
	}
	in.Close()
}
