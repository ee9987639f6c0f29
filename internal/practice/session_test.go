package practice

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"larkhand/hunt"
	"larkhand/internal/demo"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// demoRound is the demo round with the setup in which it was sung.
type demoRound struct {
	take1, take2 []float32
	rate         int
	answer       []midiin.Event
	meta         demo.Meta
	setup        round.Setup
}

var theDemo = sync.OnceValue(func() demoRound {
	var d demoRound
	var smf []byte
	d.take1, d.take2, d.rate, smf, d.meta = demo.Round()
	file, err := midiin.Parse(smf)
	if err != nil {
		panic(err)
	}
	d.answer = file.Events
	chart, err := music.ParseChart(d.meta.Chart)
	if err != nil {
		panic(err)
	}
	key, err := music.ParseKey(d.meta.Key)
	if err != nil {
		panic(err)
	}
	d.setup = round.Setup{Key: &key, Chart: chart, Tempo: d.meta.Tempo, TakeBars: len(chart.Bars), CountInBars: 1, VerdictBars: 1}
	return d
})

// onForm lays the demo round out in time on the form.
func (d demoRound) onForm(setup round.Setup, fast bool) *Files {
	at1, at2, _ := FirstRound(setup)
	sounds := []Placed{{at1 - d.meta.LoopStart, d.take1}, {at2 - d.meta.LoopStart, d.take2}}
	return NewFiles(sounds, d.rate, Messages(d.answer, at2-d.meta.LoopStart+d.meta.AnswerStart), 30, fast)
}

// keeper is a Saver that looks at the rounds.
type keeper struct {
	look   func(Finished) error
	rounds []Finished
}

func (k *keeper) Save(_ context.Context, f Finished) (told string, err error) {
	k.rounds = append(k.rounds, f)
	if k.look != nil {
		err = k.look(f)
	}
	return fmt.Sprintf("Kept as round %d.", len(k.rounds)), err
}

// practise runs a session to its end and returns the last snapshot.
func practise(t testing.TB, cfg Config, files *Files) Snapshot {
	t.Helper()
	cfg.Microphones, cfg.MIDIPorts = []Microphone{files.Microphone()}, []MIDIPort{files.MIDIPort()}
	if cfg.Folder == "" {
		cfg.Folder = t.TempDir()
	}
	s, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	seen := make(chan Snapshot)
	go func() {
		var last Snapshot
		for snapshot := range s.Snapshots() {
			last = snapshot
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

// judgeFiles judges a round's files as the program does with files that are named on its command line.
func judgeFiles(f Finished) (round.Round, error) {
	var takes []round.Take
	for _, path := range f.Takes {
		sound, err := soundfile.Read(path)
		if err != nil {
			return round.Round{}, err
		}
		take, err := round.SungTake("", sound.Samples, sound.Rate)
		if err != nil {
			return round.Round{}, err
		}
		for i := len(sound.Remarks) - 1; i >= 0; i-- {
			take.Remarks = append([]string{sound.Remarks[i]}, take.Remarks...)
		}
		takes = append(takes, take)
	}
	file, err := midiin.ReadFile(f.Answer)
	if err != nil {
		return round.Round{}, err
	}
	notes, remarks := midiin.Notes(file, midiin.Options{Instrument: f.Options.Instrument})
	return round.Judge(takes, round.Answer{Notes: notes, Remarks: append(file.Remarks, remarks...)}, f.Options)
}

// same compares two judged rounds to the last bit, but for the names before remarks.
func same(a, b round.Round) error {
	for _, r := range []*round.Round{&a, &b} {
		for i := range r.Takes {
			for k := range r.Takes[i].Voice.Frames {
				if f := &r.Takes[i].Voice.Frames[k]; math.IsNaN(f.F0) {
					f.F0 = -1
				}
			}
		}
	}
	if len(a.Remarks) != len(b.Remarks) {
		return fmt.Errorf("remarks %q and %q", a.Remarks, b.Remarks)
	}
	for i := range a.Takes {
		a.Takes[i].Remarks, b.Takes[i].Remarks = nil, nil
	}
	a.Remarks, b.Remarks, a.Answer.Remarks, b.Answer.Remarks = nil, nil, nil, nil
	if !reflect.DeepEqual(a, b) {
		return fmt.Errorf("live %+v\nfiles %+v", a.Alignment, b.Alignment)
	}
	return nil
}

func TestLiveRoundEqualsTheSavedFiles(t *testing.T) {
	d := theDemo()
	k := &keeper{look: compare}
	last := practise(t, Config{Setup: d.setup, Saver: k, Start: true, Rounds: 1}, d.onForm(d.setup, true))
	if last.Result == nil || last.Result.SaveError != "" || !last.Result.Saved {
		t.Fatalf("result %+v", last.Result)
	}
	r := last.Result
	if len(r.Judged.Phrase) != len(d.meta.Second) || r.Judged.Finding.Label != hunt.Searched || len(r.Judged.Answer.Notes) != len(d.meta.Played) {
		t.Errorf("%d sung and %d played notes, %s", len(r.Judged.Phrase), len(r.Judged.Answer.Notes), r.Judged.Finding.Label)
	}
	// The answer begins 1.4 s after the last sung note, 37 ms before the bar line: the form imposed all of it. The end of the last note is
	// analysed within 0.05 s.
	if p := r.Response; p == nil || math.Abs(p.Seconds-1.4) > 0.05 || math.Abs(p.Beats-p.Seconds*1.6) > 1e-9 || p.NetSeconds != 0 {
		t.Errorf("response %+v", p)
	}
	at1, at2, answer := FirstRound(d.setup)
	if f := r.Facts; math.Abs(f.Takes[0].From-(at1-0.3)) > 0.01 || math.Abs(f.Awaited-answer) > 1e-9 || f.Takes[0].To != f.Takes[1].From || !f.Complete {
		t.Errorf("facts %+v; take 1 at %g, take 2 at %g, answer at %g", f, at1, at2, answer)
	}
	if len(last.Trails[0]) < 900 || len(last.Trails[1]) < 900 || len(last.Played) != len(d.meta.Played) || last.Rounds != 1 {
		t.Errorf("trails of %d and %d points, %d played, %d rounds", len(last.Trails[0]), len(last.Trails[1]), len(last.Played), last.Rounds)
	}
	for _, n := range last.Notices {
		if n.Warning != round.Care {
			t.Errorf("notice %+v", n)
		}
	}
	if exists(r.Folder) {
		t.Errorf("%s is left over", r.Folder)
	}
}

// compare holds a live verdict against the one of the saved files.
func compare(f Finished) error {
	if f.Judged == nil {
		return fmt.Errorf("not judged: %s", f.Reason)
	}
	again, err := judgeFiles(f)
	if err != nil {
		return err
	}
	return same(*f.Judged, again)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// The same files give the same round every time, however the goroutines run.
func TestFastRunsAreAlike(t *testing.T) {
	d := theDemo()
	var first string
	for range 4 {
		k := &keeper{}
		practise(t, Config{Setup: d.setup, Saver: k, Start: true, Rounds: 1}, d.onForm(d.setup, true))
		f := k.rounds[0]
		text := fmt.Sprintf("%+v %+v %+v %+v", f.Facts.Takes, f.Facts.Answer, f.Judged.Alignment, f.Judged.Finding)
		if first == "" {
			first = text
		}
		if text != first {
			t.Fatalf("%s\n%s", text, first)
		}
	}
}

func TestFreeTime(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.Timing = round.Free
	k := &keeper{look: compare}
	// Take 2 is sung 3 s after the silence that ends take 1; the answer's first note comes 1.4 s after the last sung one.
	at2 := 4 + float64(len(d.take1))/float64(d.rate) + 3
	files := NewFiles([]Placed{{4, d.take1}, {at2, d.take2}}, d.rate, Messages(d.answer, at2+d.meta.AnswerStart), 30, true)
	last := practise(t, Config{Setup: setup, Saver: k, Start: true, Rounds: 1}, files)
	if last.Result == nil || !last.Result.Saved {
		t.Fatalf("result %+v", last.Result)
	}
	r := last.Result
	if len(r.Judged.Phrase) != 7 || r.Judged.Finding.Label != hunt.Searched || r.Response == nil || math.Abs(r.Response.Seconds-1.4) > 0.05 {
		t.Errorf("%d notes, %s, response %+v", len(r.Judged.Phrase), r.Judged.Finding.Label, r.Response)
	}
	if first := at2 + d.meta.AnswerStart + d.meta.Played[0].Onset; math.Abs(r.Facts.Answer.From-first) > 0.001 {
		t.Errorf("the answer begins at %g, want %g", r.Facts.Answer.From, first)
	}
}

func TestNoLoop(t *testing.T) {
	d := theDemo()
	setup := round.Setup{Timing: round.NoLoop, Key: d.setup.Key}
	at2 := 1 + float64(len(d.take1))/float64(d.rate) + 3
	files := NewFiles([]Placed{{1, d.take1}, {at2, d.take2}}, d.rate, Messages(d.answer, at2+d.meta.AnswerStart), 30, true)
	last := practise(t, Config{Setup: setup, Saver: &keeper{look: compare}, Start: true, Rounds: 1}, files)
	if r := last.Result; r == nil || !r.Saved || r.Judged.Loop != nil || r.Response == nil || r.Response.Beats != 0 || len(r.Judged.Phrase) != 7 {
		t.Errorf("result %+v", last.Result)
	}
}

// Two players take turns; nothing else is at the microphone.
func TestCircle(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.Players = []round.Person{{Name: "Alma"}, {Name: "Bero"}}
	at1, at2, answer := FirstRound(setup)
	bar := 2.5                           // s
	next := answer + 4*bar + 2*bar - at1 // after the answer's bars come one of verdict and the count-in
	var sounds []Placed
	var messages []Message
	for i := range 2 {
		by := float64(i)*next - d.meta.LoopStart
		sounds = append(sounds, Placed{at1 + by, d.take1}, Placed{at2 + by, d.take2})
		messages = append(messages, Messages(d.answer, at2+by+d.meta.AnswerStart)...)
	}
	k := &keeper{look: compare}
	practise(t, Config{Setup: setup, Saver: k, Start: true, Rounds: 2}, NewFiles(sounds, d.rate, messages, 30, true))
	if len(k.rounds) != 2 {
		t.Fatalf("%d rounds", len(k.rounds))
	}
	for i, f := range k.rounds {
		if f.Facts.Singer != i || f.Facts.Player != 1-i || f.Judged == nil || len(f.Judged.Phrase) != 7 {
			t.Errorf("round %d: %+v", i+1, f.Facts)
		}
	}
}

// cancelAt is a microphone that ends the session at a time.
type cancelAt struct {
	Microphone
	at     float64
	cancel context.CancelFunc
}

func (m cancelAt) Read(ctx context.Context) (Block, error) {
	b, err := m.Microphone.Read(ctx)
	if b.Time >= m.at {
		m.cancel()
	}
	return b, err
}

// Ended from outside in any part, a session keeps what was recorded and leaves nothing running (TestMain sees to that).
func TestCancelledInEachPart(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.LeadIn = true
	at1, at2, answer := FirstRound(setup)
	for _, c := range []struct {
		part   round.Part
		at     float64
		takes  int
		answer bool
	}{
		{round.PartLoopAlone, 1, 0, false}, {round.PartCountIn, at1 - 1, 0, false}, {round.PartTake1, at1 + 5, 1, false},
		{round.PartTake2, at2 + 5, 2, false}, {round.PartAnswer, answer + 4, 2, true}, {round.PartVerdict, answer + 11, 2, true},
	} {
		folder := t.TempDir()
		files := d.onForm(setup, true)
		ctx, cancel := context.WithCancel(t.Context())
		mic := cancelAt{files.Microphone(), c.at, cancel}
		s, err := New(Config{Setup: setup, Folder: folder, Start: true, Microphones: []Microphone{mic}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
		if err != nil {
			t.Fatal(err)
		}
		var last Snapshot
		seen := make(chan bool)
		go func() {
			for last = range s.Snapshots() {
			}
			close(seen)
		}()
		if err := s.Run(ctx); err != nil {
			t.Errorf("%s: %v", c.part, err)
		}
		<-seen
		if ctx.Err() == nil || last.View.Part != round.PartOver || math.Abs(last.Time-c.at) > 0.05 {
			t.Errorf("%s: ended at %g in %s", c.part, last.Time, last.View.Part)
		}
		found, err := Recover(folder)
		if err != nil {
			t.Errorf("%s: %v", c.part, err)
		}
		switch {
		case c.takes == 0 && len(found) > 0:
			t.Errorf("%s: found %+v", c.part, found)
		case c.takes > 0 && (len(found) != 1 || len(found[0].Takes) != c.takes || (found[0].Answer != "") != c.answer):
			t.Errorf("%s: found %+v", c.part, found)
		case c.takes > 0:
			span := found[0].Facts.Takes[c.takes-1]
			if want := min(c.at, span.From+10.4); math.Abs(span.To-want) > 0.2 {
				t.Errorf("%s: the last take lasts from %g to %g, want %g", c.part, span.From, span.To, want)
			}
		}
		s.Do(round.GoOn, 0) // does not hang
	}
}

func TestQuitByHand(t *testing.T) {
	d := theDemo()
	files := d.onForm(d.setup, true)
	s, err := New(Config{Setup: d.setup, Folder: t.TempDir(), Frame: time.Microsecond, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error)
	go func() { done <- s.Run(t.Context()) }()
	var parts []round.Part
	for snapshot := range s.Snapshots() {
		p := snapshot.View.Part
		if len(parts) == 0 || parts[len(parts)-1] != p {
			parts = append(parts, p)
			switch p {
			case round.PartIdle:
				s.Do(round.GoOn, 0)
			case round.PartTake1:
				s.ChangeVolume(-3)
				s.Do(round.Mute, int(round.Bass))
				s.Do(round.Quit, 0)
			}
		}
	}
	if err := <-done; err != nil {
		t.Error(err)
	}
	if n := len(parts); n < 3 || parts[0] != round.PartIdle || parts[n-2] != round.PartTake1 || parts[n-1] != round.PartOver {
		t.Errorf("parts %v", parts)
	}
}

// A screen that is slow gets the newest snapshot and holds up nothing; what it holds does not change.
func TestSnapshotsAreCoalesced(t *testing.T) {
	d := theDemo()
	files := d.onForm(d.setup, true)
	const frame = 20 * time.Millisecond
	s, err := New(Config{Setup: d.setup, Folder: t.TempDir(), Start: true, Rounds: 1, Frame: frame, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan time.Duration)
	go func() {
		began := time.Now()
		if err := s.Run(t.Context()); err != nil {
			t.Error(err)
		}
		done <- time.Since(began)
	}()
	var held []Snapshot
	var texts []string
	write := func(s Snapshot) string {
		return fmt.Sprintf("%+v %+v %+v %+v %+v", s.View, s.Trails, s.Played, s.Notices, s.Result)
	}
	at := math.Inf(-1)
	for snapshot := range s.Snapshots() {
		if snapshot.Time < at {
			t.Errorf("%g s after %g s", snapshot.Time, at)
		}
		at = snapshot.Time
		held, texts = append(held, snapshot), append(texts, write(snapshot))
	}
	if most := int(<-done/frame) + 2; len(held) > most || len(held) < 2 {
		t.Errorf("%d snapshots, at most %d", len(held), most)
	}
	for i := range held {
		if write(held[i]) != texts[i] {
			t.Fatalf("snapshot %d changed", i)
		}
	}
}

func TestSaverThatFails(t *testing.T) {
	d := theDemo()
	folder := t.TempDir()
	last := practise(t, Config{Setup: d.setup, Folder: folder, Saver: &keeper{look: func(Finished) error { return errors.New("no room") }}, Start: true, Rounds: 1}, d.onForm(d.setup, true))
	if r := last.Result; r.Saved || r.SaveError != "no room" || r.Judged == nil || !strings.Contains(last.Notices[len(last.Notices)-1].Text, r.Folder) {
		t.Errorf("result %+v, notices %+v", r, last.Notices)
	}
	found, err := Recover(folder)
	if err != nil || len(found) != 1 || len(found[0].Takes) != 2 || !found[0].Facts.Complete {
		t.Fatalf("found %+v, %v", found, err)
	}
	again, err := judgeFiles(found[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := same(*last.Result.Judged, again); err != nil {
		t.Error(err)
	}
}

// A disk that takes nothing is told of, and the round is judged all the same.
func TestDiskThatFails(t *testing.T) {
	d := theDemo()
	folder := t.TempDir()
	files := d.onForm(d.setup, true)
	s, err := New(Config{Setup: d.setup, Folder: folder, Start: true, Rounds: 1, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, folderName(1)), nil, 0o644); err != nil { // no folder can be made there
		t.Fatal(err)
	}
	var last Snapshot
	seen := make(chan bool)
	go func() {
		for last = range s.Snapshots() {
		}
		close(seen)
	}()
	if err := s.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
	<-seen
	told := 0
	for _, n := range last.Notices {
		if strings.HasPrefix(n.Text, "The recording cannot be written: ") {
			told++
		}
	}
	if told != 1 || last.Result.Judged == nil || len(last.Result.Judged.Phrase) != 7 {
		t.Errorf("told %d times, result %+v", told, last.Result)
	}
}

// What is left to do when an answer's end is decided: the takes have been listened to since they ended. At most 100 ms are allowed.
func BenchmarkVerdict(b *testing.B) {
	d := theDemo()
	var answer []byte
	k := &keeper{look: func(f Finished) (err error) {
		answer, err = os.ReadFile(f.Answer)
		return err
	}}
	practise(b, Config{Setup: d.setup, Saver: k, Start: true, Rounds: 1}, d.onForm(d.setup, true))
	kept := &recorded{answer: &recordedAnswer{smf: answer}}
	for _, take := range k.rounds[0].Judged.Takes {
		kept.takes = append(kept.takes, &recordedTake{judged: take})
	}
	for b.Loop() {
		f := k.rounds[0]
		f.Judged = nil
		if kept.judgeInto(&f, d.setup); f.Judged == nil {
			b.Fatal(f.Reason)
		}
	}
}
