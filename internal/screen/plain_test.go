package screen

import (
	"bytes"
	"cmp"
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
		"Care: Keep it low.\n", "Warning: Too low.\n", `"y" is no key here; help names them.` + "\n", "The session is over. They are not kept.\n",
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

// A round with steps: what is written is read back, words and keys act as they are, and what a player goes back to is said.
func TestPlainWithSteps(t *testing.T) {
	m, _ := practising(t, demoSettings())
	numbers, letters, thinking, answer := sung(t, m, round.PartNumbers, 1), sung(t, m, round.PartLetters, 1), sung(t, m, round.PartThinking, 1), sung(t, m, round.PartAnswer, 1)
	for _, s := range []*practice.Snapshot{&numbers, &letters, &thinking, &answer} {
		s.View.Steps = true
	}
	heard := numbers
	heard.View.Sound, heard.View.Sounding = round.Sound{What: round.TakeSound, Take: 2}, "take 2"
	marked := thinking
	marked.View.Misheard, marked.View.InPieces, marked.View.Piece = true, true, 1
	second := answer
	second.View.InPieces, second.View.Piece, second.View.Misheard = true, 2, true
	idle := moment(t, m, round.PartIdle, 0)
	idle.Plan = &practice.Plan{Text: "Next: four notes.", Why: []string{"Three answers in a row were known."}}
	session := newSilentSession()
	var out bytes.Buffer
	p := plain{out: &out, session: session, setup: m.live.setup}
	at := func(s practice.Snapshot, lines ...string) {
		p.tell(s)
		for _, line := range lines {
			p.press(line)
		}
	}
	at(idle, "larger", "[")
	at(numbers, "take", "t", "T", "9", "11 2 ?")
	at(heard, "")
	at(letters, "b", "sing again", "")
	at(thinking, "pieces", "misheard", "scale")
	at(marked)
	at(second, "on")
	said := out.String()
	for _, line := range []string{
		"Next: four notes.\nThree answers in a row were known.\n",
		"Numbers. What to do now. A line of numbers and enter; an empty line leaves this step out.\n",
		"From here on you can go back: t take, u notes, o key note, h chord, l sing again, p pieces, m misheard.\n",
		"Numbers and letters are written down before the answer.\n", "You hear take 2.\n",
		"\"9\" is no number: write 1 to 7", "4 notes, 1 of them not heard: 1 1 2 ?\n", "1 note: B\n", "Left out.\n",
		"3 is Eb.\n", "Bar 3, G7b9: G Ab B C D Eb F.\n", "The answer is played in pieces", misheardText, "Piece 2.\n",
	} {
		if !strings.Contains(said, line) {
			t.Errorf("does not say %q:\n%s", line, said)
		}
	}
	if want := []string{"11 2 ?", "b", ""}; !slices.Equal(session.written, want) {
		t.Errorf("written %q, want %q", session.written, want)
	}
	want := []round.Action{round.HearTake, round.HearTake, round.HearTake, round.GoOn, round.SingAgain, round.Pieces, round.Misheard, round.GoOn}
	if !slices.Equal(session.asked, want) || !slices.Equal(session.sizes, []int{1, -1}) {
		t.Errorf("asked for %v and sizes %v, want %v", session.asked, session.sizes, want)
	}
}

// Every key has a word, or is told by another one, and no word of it can be an entry; help explains all.
func TestWordsForKeys(t *testing.T) {
	var out bytes.Buffer
	p := plain{out: &out}
	p.press("help")
	for _, b := range bindings {
		word := cmp.Or(b.word, b.short)
		if len(b.keys) == 0 || word == "" {
			continue
		}
		if got, ok := called(word, true); !ok || got.shown != b.shown {
			t.Errorf("the word %q means %q, want %q", word, got.shown, b.shown)
		}
		if !strings.ContainsFunc(word, inNoEntry) {
			t.Errorf("the word %q could be an entry", word)
		}
		if !strings.Contains(out.String(), word) {
			t.Errorf("help does not name %q:\n%s", word, out.String())
		}
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
