package practice

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"larkhand/hunt"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/steps"
)

// This file tries what comes between take 2 and the verdict: numbers and letters, hearing again, pieces, singing again, marks.

// does is something that a player does at a time.
type does struct {
	at float64
	do func(*Session)
}

// busy is a microphone beside which a player does something now and then.
type busy struct {
	Microphone
	session *Session
	list    []does
}

func (m *busy) Read(ctx context.Context) (Block, error) {
	b, err := m.Microphone.Read(ctx)
	for len(m.list) > 0 && b.Time >= m.list[0].at {
		m.list[0].do(m.session)
		m.list = m.list[1:]
	}
	return b, err
}

func pressing(a round.Action, amount int) func(*Session) {
	return func(s *Session) { s.Do(a, amount) }
}
func writing(text string) func(*Session) { return func(s *Session) { s.Write(text) } }

// practiseBusy runs a session in which a player does something, to its end or to that of the sound.
func practiseBusy(t testing.TB, cfg Config, files *Files, list ...does) Snapshot {
	t.Helper()
	mic := &busy{Microphone: files.Microphone(), list: list}
	cfg.Microphones, cfg.MIDIPorts = []Microphone{mic}, []MIDIPort{files.MIDIPort()}
	if cfg.Folder == "" {
		cfg.Folder = t.TempDir()
	}
	s, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	mic.session = s
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	seen := make(chan Snapshot)
	go func() {
		var last Snapshot
		for last = range s.Snapshots() {
		}
		seen <- last
	}()
	if err := s.Run(ctx); err != nil {
		t.Error(err)
	}
	if ctx.Err() != nil {
		t.Error("the session did not end by itself")
	}
	return <-seen
}

// withSteps is the demo's setup with numbers and letters, in free time.
func (d demoRound) withSteps() round.Setup {
	setup := d.setup
	setup.Timing, setup.Steps = round.Free, true
	return setup
}

// freely lays the demo's takes out in free time, with an answer and rest seconds after it. It also says when the sound of take 2 is over.
func (d demoRound) freely(answer []Message, rest float64) (files *Files, over float64) {
	seconds := float64(len(d.take1)) / float64(d.rate)
	second := 4 + seconds + 3
	return NewFiles([]Placed{{4, d.take1}, {second, d.take2}}, d.rate, answer, rest, true), second + float64(len(d.take2))/float64(d.rate)
}

// demoKeys are the notes that the demo's singer means in take 2: C D Eb F Ab B C, the F so sharp that it lies between the keys.
var demoKeys = []int{60, 62, 63, 65, 68, 59, 60}

// fluent is the phrase of the demo's take 2 as one plays it who knows it, the notes from `from` on by a pause later.
func (d demoRound) fluent(at float64, from int, pause float64) (messages []Message) {
	for i, n := range d.meta.Second {
		by := at - d.meta.Second[0].Onset
		if i >= from {
			by += pause
		}
		key := byte(demoKeys[i])
		messages = append(messages, midi(by+n.Onset, 0x90, key, 80), midi(by+n.Offset-0.02, 0x80, key, 0))
	}
	return messages
}

// texts are the numbers and letters of the phrase of the demo's take 2.
func (d demoRound) texts() (numbers, letters string) {
	for _, key := range demoKeys {
		numbers += " " + d.setup.Key.Degree(key, d.setup.Numbering)
		letters += " " + d.setup.Key.Letter(key).Letter
	}
	return numbers[1:], letters[1:]
}

// judgedAlike holds a live verdict against that of the files, both as they are judged by hand and as a recovered round is.
func judgedAlike(f Finished) error {
	if err := compare(f); err != nil {
		return err
	}
	again := f
	again.Judge()
	if again.Judged == nil {
		return errors.New(again.Reason)
	}
	if !reflect.DeepEqual(again.Response, f.Response) {
		return fmt.Errorf("response %+v, live %+v", again.Response, f.Response)
	}
	return same(*f.Judged, *again.Judged)
}

func TestLiveRoundWithStepsEqualsTheFiles(t *testing.T) {
	d := theDemo()
	numbers, letters := d.texts()
	wrong := strings.Replace(letters, "Eb", "E", 1)
	if wrong == letters {
		t.Fatalf("no Eb in %q", letters)
	}
	_, over := d.freely(nil, 0)
	files, _ := d.freely(d.fluent(over+20, 0, 0), 30)
	k := &keeper{look: func(f Finished) error {
		if err := judgedAlike(f); err != nil {
			return err
		}
		// Judged once more by nothing but the texts, as a player types them for files.
		opt := f.Options
		opt.Written = &round.Written{Numbers: numbers, Letters: wrong}
		alone, err := round.Judge(f.Judged.Takes, f.Judged.Answer, opt)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(alone.Steps, f.Judged.Steps) || !reflect.DeepEqual(alone.Finding, f.Judged.Finding) {
			return fmt.Errorf("by the texts alone %+v, live %+v", alone.Steps, f.Judged.Steps)
		}
		return nil
	}}
	last := practiseBusy(t, Config{Setup: d.withSteps(), Saver: k, Start: true, Rounds: 1}, files,
		does{over + 5, writing(numbers + " 9")}, does{over + 6, writing(numbers)}, does{over + 12, writing(wrong)})
	r := last.Result
	if r == nil || r.Judged == nil || r.SaveError != "" {
		t.Fatalf("result %+v", r)
	}
	w := r.Judged.Written
	if w == nil || w.Numbers != numbers || w.Letters != wrong || r.Judged.Steps == nil || !slices.Equal(r.Judged.Steps.Weak, []steps.Name{steps.Names}) {
		t.Fatalf("written %+v, steps %+v", w, r.Judged.Steps)
	}
	// Take 2 ends 1.5 s after the voice, which ends about a second before the recording: so the numbers took about 5 s, and the letters exactly 6.
	if math.Abs(*w.LettersSeconds-6) > 0.1 || *w.NumbersSeconds < 4 || *w.NumbersSeconds > 7 {
		t.Errorf("numbers in %g s, letters in %g s", *w.NumbersSeconds, *w.LettersSeconds)
	}
	if r.Response == nil || r.Response.Wait != 0 || r.Response.NetSeconds != r.Response.Seconds || r.Response.Seconds < 20 {
		t.Errorf("response %+v", r.Response)
	}
	if got := warnings(last); !slices.Contains(got, round.Unreadable) || len(r.Facts.Troubles) > 0 {
		t.Errorf("warnings %v, troubles %q", got, r.Facts.Troubles)
	}
}

// Five seconds between two pieces, in which a take is heard: the answer is known. The same in one piece is not.
func TestAnswerInPieces(t *testing.T) {
	d := theDemo()
	_, over := d.freely(nil, 0)
	begins := over + 4
	answer := d.fluent(begins, 4, 5)
	ends := answer[len(answer)-1].Time
	files, _ := d.freely(answer, 30)
	setup := d.withSteps()
	setup.Steps = false
	k := &keeper{look: judgedAlike}
	last := practiseBusy(t, Config{Setup: setup, Saver: k, Start: true, Rounds: 1, Speaker: newPlaying()}, files,
		does{over + 2, pressing(round.Pieces, 0)}, does{answer[7].Time + 1, pressing(round.HearTake, 0)}, does{ends + 10, pressing(round.GoOn, 0)})
	r := last.Result
	if r == nil || r.Judged == nil || r.SaveError != "" {
		t.Fatalf("result %+v", r)
	}
	if r.Judged.Finding.Label != hunt.Known || len(r.Judged.Pieces) != 1 || math.Abs(r.Facts.Pieces[0]-answer[8].Time) > 0.001 || r.Judged.Helped != (round.Helped{Take2: 1}) {
		t.Errorf("%s, pieces %v, helped %+v", r.Judged.Finding.Label, r.Judged.Pieces, r.Judged.Helped)
	}
	opt := r.Options
	opt.Pieces = nil
	inOne, err := round.Judge(r.Judged.Takes, r.Judged.Answer, opt)
	if err != nil {
		t.Fatal(err)
	}
	if inOne.Finding.Label == hunt.Known {
		t.Error("in one piece it is known too")
	}
}

// Take 2 is silence at first and then sung again: the round is judged by what was sung again, and nothing is left of the other.
func TestTakeSungAgain(t *testing.T) {
	d := theDemo()
	seconds := float64(len(d.take1)) / float64(d.rate)
	second := 4 + seconds + 3
	third := second + seconds + 6
	over := third + float64(len(d.take2))/float64(d.rate)
	files := NewFiles([]Placed{{4, d.take1}, {second, d.take1[:len(d.take1)/2]}, {third, d.take2}}, d.rate, d.fluent(over+5, 0, 0), 30, true)
	k := &keeper{look: func(f Finished) error {
		left, err := filepath.Glob(filepath.Join(f.Folder, "*.wav"))
		if err != nil || len(left) != 2 {
			return fmt.Errorf("sound files %q, %v", left, err)
		}
		return judgedAlike(f)
	}}
	setup := d.withSteps()
	again := third - 2
	last := practiseBusy(t, Config{Setup: setup, Saver: k, Start: true, Rounds: 1}, files,
		does{again - 1, writing("1 2 3")}, does{again, pressing(round.SingAgain, 0)}, does{over + 3, pressing(round.GoOn, 0)})
	r := last.Result
	if r == nil || r.Judged == nil || r.SaveError != "" {
		t.Fatalf("result %+v", r)
	}
	if got := r.Facts.Takes[1].From; math.Abs(got-again) > 0.1 || len(r.Judged.Phrase) != len(d.meta.Second) || r.Judged.Written != nil || r.Judged.Helped != (round.Helped{SungAgain: 1}) {
		t.Errorf("take 2 from %g, %d notes, written %+v, helped %+v", got, len(r.Judged.Phrase), r.Judged.Written, r.Judged.Helped)
	}
}

// In a circle of two with steps the second player writes and plays what the first one sang.
func TestStepsInACircle(t *testing.T) {
	d := theDemo()
	numbers, letters := d.texts()
	_, over := d.freely(nil, 0)
	setup := d.withSteps()
	setup.Players = []round.Person{{Name: "Sunnel"}, {Name: "Corrick"}}
	files, _ := d.freely(d.fluent(over+8, 0, 0), 30)
	k := &keeper{look: judgedAlike}
	last := practiseBusy(t, Config{Setup: setup, Saver: k, Start: true, Rounds: 1}, files, does{over + 3, writing(numbers)}, does{over + 5, writing(letters)})
	if r := last.Result; r == nil || r.Judged == nil || r.Judged.Written == nil || r.Singer.Name != "Sunnel" || r.Player.Name != "Corrick" || len(r.Judged.Steps.Weak) > 0 {
		t.Errorf("result %+v", r)
	}
}

// Ended from outside in the steps, in pieces and while take 2 is to be sung again, a session keeps what was written and what helped.
func TestCancelledBetweenSingingAndPlaying(t *testing.T) {
	d := theDemo()
	_, over := d.freely(nil, 0)
	answer := d.fluent(over+12, 4, 5)
	hear := does{over + 2, pressing(round.HearTake, 1)}
	numbers := does{over + 4, writing("1 2 b3")}
	for name, c := range map[string]struct {
		at   float64
		list []does
		want round.Facts
	}{
		"numbers":      {over + 3, []does{hear}, round.Facts{Helped: round.Helped{Take1: 1}}},
		"letters":      {over + 5, []does{hear, numbers}, round.Facts{Helped: round.Helped{Take1: 1}, Written: &round.Written{Numbers: "1 2 b3"}}},
		"thinking":     {over + 7, []does{numbers, {over + 5, writing("c d eb")}, {over + 6, pressing(round.Misheard, 0)}}, round.Facts{Misheard: true, Written: &round.Written{Numbers: "1 2 b3", Letters: "c d eb"}}},
		"in pieces":    {answer[9].Time + 1, []does{{over + 3, pressing(round.Pieces, 0)}}, round.Facts{Pieces: []float64{answer[8].Time}}},
		"before again": {over + 8, []does{numbers, {over + 7, pressing(round.SingAgain, 0)}}, round.Facts{Helped: round.Helped{SungAgain: 1}}},
	} {
		folder := t.TempDir()
		files, _ := d.freely(answer, 30)
		ctx, cancel := context.WithCancel(t.Context())
		list := append(c.list, does{c.at, func(*Session) { cancel() }})
		mic := &busy{Microphone: files.Microphone(), list: list}
		setup := d.withSteps()
		setup.Numbering = music.AlteredNumbers
		s, err := New(Config{Setup: setup, Folder: folder, Start: true, Speaker: newPlaying(), Microphones: []Microphone{mic}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
		if err != nil {
			t.Fatal(err)
		}
		mic.session = s
		go func() {
			for range s.Snapshots() {
			}
		}()
		if err := s.Run(ctx); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		found, err := Recover(folder)
		if err != nil || len(found) != 1 {
			t.Fatalf("%s: found %+v, %v", name, found, err)
		}
		f := found[0].Facts
		if w := f.Written; w != nil { // the times are those of TestLiveRoundWithStepsEqualsTheFiles
			f.Written = &round.Written{Numbers: w.Numbers, Letters: w.Letters}
		}
		if !reflect.DeepEqual(f.Written, c.want.Written) || f.Helped != c.want.Helped || f.Misheard != c.want.Misheard || len(f.Pieces) != len(c.want.Pieces) {
			t.Errorf("%s: %+v %+v %v %v", name, f.Written, f.Helped, f.Misheard, f.Pieces)
		}
		if len(f.Pieces) > 0 && (math.Abs(f.Pieces[0]-c.want.Pieces[0]) > 0.001 || found[0].Options.Pieces[0] != f.Pieces[0]-f.Answer.From) {
			t.Errorf("%s: pieces %v, options %v", name, f.Pieces, found[0].Options.Pieces)
		}
	}
}

// What is written down, heard, played in pieces or marked is on the disk at once, long before the round ends.
func TestFactsAreOnTheDiskAtOnce(t *testing.T) {
	e, until := atNumbers(t, nil)
	folder := e.kept.folder
	look := func() sheet {
		done := make(chan struct{})
		e.onDisk(func() { close(done) })
		<-done
		s, err := readSheet(folder)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	e.act(round.Event{Kind: round.Wrote, Text: "1 2"})
	if s := look(); s.Written == nil || s.Written.Numbers != "1 2" || s.Written.NumbersSeconds == nil || s.Written.Letters != "" {
		t.Errorf("numbers: %+v", s.Written)
	}
	e.act(round.Event{Kind: round.Wrote, Text: "C D"})
	if s := look(); s.Written == nil || s.Written.Letters != "C D" || s.Written.LettersSeconds == nil {
		t.Errorf("letters: %+v", s.Written)
	}
	e.act(round.Event{Kind: round.Pressed, Action: round.HearKey})
	e.act(round.Event{Kind: round.Pressed, Action: round.Misheard})
	if s := look(); s.Helped == nil || s.Helped.Key != 1 || !s.Misheard {
		t.Errorf("heard and marked: %+v", s)
	}
	e.act(round.Event{Kind: round.Pressed, Action: round.Pieces})
	at := e.now
	for _, after := range []float64{0.5, 3} {
		until(at + after)
		e.message(0, midi(at+after, 0x90, 60, 70))
		e.message(0, midi(at+after+0.2, 0x80, 60, 0))
	}
	until(at + 3.5)
	if s := look(); len(s.Pieces) != 1 || math.Abs(s.Pieces[0]-at-3) > 1e-9 || s.Complete {
		t.Errorf("pieces: %+v", s.Pieces)
	}
}

// Whatever facts hold comes back from the sheet to the last bit.
func TestSheetKeepsFacts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seconds := rapid.Float64Range(0, 1e4)
		facts := round.Facts{Round: 1, Timing: round.NoLoop, Misheard: rapid.Bool().Draw(t, "misheard"), Pieces: rapid.SliceOfN(seconds, 0, 3).Draw(t, "pieces")}
		if len(facts.Pieces) == 0 {
			facts.Pieces = nil
		}
		if rapid.Bool().Draw(t, "written") {
			a, b := seconds.Draw(t, "numbers took"), seconds.Draw(t, "letters took")
			facts.Written = &round.Written{Numbers: rapid.String().Draw(t, "numbers"), Letters: "c d", NumbersSeconds: &a, LettersSeconds: &b}
			facts.Written.Numbers = strings.ToValidUTF8(facts.Written.Numbers, "?")
		}
		count := rapid.IntRange(0, 3)
		facts.Helped = round.Helped{Key: count.Draw(t, "key"), Take1: count.Draw(t, "take 1"), Notes2: count.Draw(t, "notes 2"), SungAgain: count.Draw(t, "again")}
		data, err := json.Marshal(newSheet(facts, round.Setup{Timing: round.NoLoop}, time.Time{}))
		if err != nil {
			t.Fatal(err)
		}
		var s sheet
		if err := json.Unmarshal(data, &s); err != nil {
			t.Fatal(err)
		}
		back, _, err := s.facts()
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(back, facts) {
			t.Fatalf("%+v\n%+v", back, facts)
		}
	})
}

// marker is a Saver that can mark.
type marker struct {
	keeper
	marks []bool
	err   error
}

func (m *marker) Mark(_ context.Context, f Finished, misheard bool) (string, error) {
	m.marks = append(m.marks, misheard)
	if f.Facts.Misheard != misheard {
		return "", errors.New("the facts say otherwise")
	}
	return fmt.Sprintf("Marked %s.", filepath.Base(f.Folder)), m.err
}

// At the verdict a mark goes to the Saver, or into the folder where that still holds the round.
func TestMarkAtTheVerdict(t *testing.T) {
	d := theDemo()
	_, over := d.freely(nil, 0)
	answer := d.fluent(over+3, 0, 0)
	verdict := answer[len(answer)-1].Time + 5
	marks := func(cfg Config, presses int) Snapshot {
		files, _ := d.freely(answer, 10)
		cfg.Setup, cfg.Start = d.withSteps(), true
		cfg.Setup.Steps, cfg.Setup.VerdictBars = false, 0
		var list []does
		for i := range presses {
			list = append(list, does{verdict + float64(i), pressing(round.Misheard, 0)})
		}
		return practiseBusy(t, cfg, files, list...)
	}
	m := &marker{}
	last := marks(Config{Saver: m}, 3)
	if !slices.Equal(m.marks, []bool{true, false, true}) || last.Result.Journal != "Marked round-0001." || len(m.rounds) != 1 || m.rounds[0].Facts.Misheard {
		t.Errorf("marks %v, told %q", m.marks, last.Result.Journal)
	}
	failing := &marker{err: errors.New("no room")}
	if last := marks(Config{Saver: failing}, 1); !strings.Contains(last.Notices[len(last.Notices)-1].Text, "no room") {
		t.Errorf("notices %+v", last.Notices)
	}
	if last := marks(Config{Saver: &keeper{}}, 1); !strings.Contains(last.Notices[len(last.Notices)-1].Text, "no such mark") {
		t.Errorf("notices %+v", last.Notices)
	}
	for name, saver := range map[string]Saver{"none": nil, "failing": &keeper{look: func(Finished) error { return errors.New("no room") }}} {
		for _, presses := range []int{1, 2} {
			folder := t.TempDir()
			marks(Config{Saver: saver, Folder: folder}, presses)
			if found, err := Recover(folder); err != nil || len(found) != 1 || found[0].Facts.Misheard != (presses == 1) {
				t.Errorf("saver %s, %d presses: %+v, %v", name, presses, found, err)
			}
		}
	}
}

// Two takes and an answer laid out as files for a round with steps: the answer begins where the numbers would be written.
func TestFirstRoundWithSteps(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.ThinkingBars = 2
	_, second, plain := FirstRound(setup)
	setup.Steps = true
	if _, at2, answer := FirstRound(setup); at2 != second || math.Abs(plain-answer-2*2.5) > 1e-9 { // two bars of 2.5 s earlier
		t.Errorf("take 2 at %g, answer at %g; without steps %g and %g", at2, answer, second, plain)
	}
}
