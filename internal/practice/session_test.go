package practice

import (
	"context"
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

func (k *keeper) Save(_ context.Context, f Finished) error {
	k.rounds = append(k.rounds, f)
	if k.look != nil {
		return k.look(f)
	}
	return nil
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
	k := &keeper{look: func(f Finished) error {
		if f.Judged == nil {
			return fmt.Errorf("not judged: %s", f.Reason)
		}
		again, err := judgeFiles(f)
		if err != nil {
			return err
		}
		return same(*f.Judged, again)
	}}
	last := practise(t, Config{Setup: d.setup, Saver: k, Start: true, Rounds: 1}, d.onForm(d.setup, true))
	for _, n := range last.Notices {
		t.Logf("%.2f %s: %s", n.Time, n.Warning, n.Text)
	}
	if last.Result == nil || last.Result.SaveError != "" || !last.Result.Saved {
		t.Fatalf("result %+v", last.Result)
	}
	r := last.Result
	t.Log(r.Judged.Finding.Label, len(r.Judged.Phrase), r.Response, r.Took, r.Facts.Takes, r.Facts.Answer, r.Judged.Remarks)
	t.Log(len(last.Trails[0]), len(last.Trails[1]), len(last.Played))
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(r.Folder), "*")); len(left) > 0 {
		t.Errorf("left over: %v", left)
	}
	_ = os.Stdout
	_ = strings.Contains
}
