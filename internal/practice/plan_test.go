package practice

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/round"
)

// teller is a Planner that writes down what it is asked and told, and plans the shifts that the test gives, the last one again and again.
type teller struct {
	shifts []*int
	late   chan struct{} // a plan waits for it, where there is one
	next   []Next
	told   []string
}

func (p *teller) Plan(_ context.Context, next Next) Plan {
	if p.late != nil {
		<-p.late
	}
	p.next = append(p.next, next)
	p.told = append(p.told, "plan")
	plan := Plan{Text: fmt.Sprintf("%s for %s in %s, %+d, %v", next.Singer.Name, next.Player.Name, next.Key, next.Rungs, next.Fixed)}
	if !next.Fixed && len(p.shifts) > 0 {
		plan.Shift = p.shifts[0]
		p.shifts = p.shifts[min(1, len(p.shifts)-1):]
	}
	return plan
}

func (p *teller) Judged(f *Finished) {
	p.told = append(p.told, fmt.Sprintf("judged %d in %s", f.Facts.Round, f.Facts.Key))
	f.Judged.Remarks = append(f.Judged.Remarks, "The planner was here.")
	f.Phrase = "Rain"
}

func (p *teller) Marked(round int, misheard bool) {
	p.told = append(p.told, fmt.Sprintf("marked %d %v", round, misheard))
}

func (p *teller) Settled() { p.told = append(p.told, "settled") }

func semitones(n int) *int { return &n }

// planned rounds: bars of a second; the singer holds a tone through both takes, and one note is played.
type planTest struct {
	*testing.T
	e  *engine
	p  *teller
	at float64
}

const planRate = 16000

func planTestOf(t *testing.T, p *teller, change func(*Config)) *planTest {
	t.Helper()
	chart, err := music.ParseChart("Cm7")
	if err != nil {
		t.Fatal(err)
	}
	key, err := music.ParseKey("C minor")
	if err != nil {
		t.Fatal(err)
	}
	cfg := Config{
		Setup:   round.Setup{Key: &key, Chart: chart, Tempo: 240, TakeBars: 1, CountInBars: 1, VerdictBars: 2},
		Planner: p, Speaker: &speaker{}, Start: true,
	}
	if change != nil {
		change(&cfg)
	}
	e := drive(t, cfg, planRate, []string{"m"}, []string{"p"})
	e.planFirst(t.Context())
	return &planTest{t, e, p, 0}
}

// until gives sound until the part has begun, and for some seconds more.
func (t *planTest) until(part round.Part, more float64) {
	t.Helper()
	const step, limit = 0.01, 30 // s
	sung, silence := tone(step, 200, -20, planRate), make([]float32, planRate/100)
	over, played := -1.0, false
	for from := t.at; t.at < from+limit; t.at += step {
		if over < 0 && t.e.part == part {
			over = t.at + more
		}
		if over >= 0 && t.at >= over {
			return
		}
		sound := silence
		if t.e.part.Take() > 0 {
			sound = sung
		}
		if t.e.part == round.PartAnswer && !played {
			played = true
			t.e.message(0, midi(t.at, 0x90, 55, 70))
			t.e.message(0, midi(t.at+0.2, 0x80, 55, 0))
		}
		t.e.block(0, Block{Time: t.at, Samples: sound})
	}
	t.Fatalf("%s does not come; it is %s", part, t.e.part)
}

// await takes reports up to a plan.
func (t *planTest) await() {
	t.Helper()
	for {
		var r any
		if len(t.e.late) > 0 {
			r, t.e.late = t.e.late[0], t.e.late[1:]
		} else {
			select {
			case r = <-t.e.reports:
			case <-time.After(10 * time.Second):
				t.Fatal("no plan comes")
			}
		}
		t.e.heed(r)
		if _, ok := r.(planned); ok {
			return
		}
	}
}

func (t *planTest) press(a round.Action, amount int) {
	t.e.act(round.Event{Kind: round.Pressed, Action: a, Amount: amount})
}

// see holds the snapshot against part, key of the round, and the plan's text; "" for none.
func (t *planTest) see(part round.Part, key, text string) {
	t.Helper()
	s := t.e.snapshot()
	got := ""
	if s.Plan != nil {
		got = s.Plan.Text
	}
	if s.View.Part != part || s.View.Key.String() != key || got != text {
		t.Errorf("%s in %s, plan %q; want %s in %s, %q", s.View.Part, s.View.Key, got, part, key, text)
	}
}

func (t *planTest) starts() (charts []string) {
	for _, asked := range t.e.cfg.Speaker.(*speaker).asked {
		if rest, ok := strings.CutPrefix(asked, "start "); ok {
			chart, _, _ := strings.Cut(rest, " at ")
			charts = append(charts, chart)
		}
	}
	return charts
}

// told is what the planner was told so far.
func (t *planTest) told() string {
	done := make(chan struct{})
	t.e.onBench(func() { close(done) })
	<-done
	return strings.Join(t.p.told, ", ")
}

// TestPlannedKeys: the first round is in its planned key, the next ones follow by themselves after the verdict's bars, and the loop is started once for each key.
func TestPlannedKeys(t *testing.T) {
	p := &teller{shifts: []*int{semitones(5), semitones(7), nil}}
	r := planTestOf(t, p, nil)
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "F minor", " for  in C minor, +0, false")
	r.until(round.PartVerdict, 0.3)
	r.see(round.PartVerdict, "F minor", "")
	r.await()
	r.see(round.PartVerdict, "F minor", " for  in F minor, +0, false")
	if v := r.e.snapshot().View; v.NextKey.String() != "G minor" {
		t.Errorf("the next key is %s", v.NextKey)
	}
	r.until(round.PartTake1, 0.2)
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "G minor", " for  in G minor, +0, false") // the second verdict's plan left it
	if got := r.starts(); !slices.Equal(got, []string{"Fm7", "Gm7"}) {
		t.Errorf("the loop was started as %q", got)
	}
	if got := r.e.result; got == nil || got.Phrase != "Rain" || !slices.Contains(got.Judged.Remarks, "The planner was here.") {
		t.Errorf("result %+v", got)
	}
	if got, want := r.told(), "plan, settled, judged 1 in F minor, plan, settled, judged 2 in G minor, plan, settled"; got != want {
		t.Errorf("told %s, want %s", got, want)
	}
}

// TestPlanWhereTheVerdictStands: without bars of its own it stays until the player goes on, also where the microphone goes and comes back meanwhile.
func TestPlanWhereTheVerdictStands(t *testing.T) {
	p := &teller{shifts: []*int{nil, semitones(2)}}
	r := planTestOf(t, p, func(c *Config) { c.Setup.VerdictBars = 0 })
	r.until(round.PartVerdict, 4)
	r.await()
	r.see(round.PartVerdict, "C minor", " for  in C minor, +0, false")
	r.e.block(0, Block{Time: r.at, Status: Gone})
	r.press(round.GoOn, 0)
	r.see(round.PartIdle, "C minor", " for  in C minor, +0, false")
	r.at += 1
	r.e.block(0, Block{Time: r.at, Status: Back})
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "D minor", " for  in C minor, +0, false")
	if got := r.starts(); !slices.Equal(got, []string{"Cm7", "Dm7"}) {
		t.Errorf("the loop was started as %q", got)
	}
}

// TestSameAgain: Repeat at the verdict takes the key and the plan of the round that is repeated.
func TestSameAgain(t *testing.T) {
	p := &teller{shifts: []*int{semitones(5), semitones(7)}}
	r := planTestOf(t, p, nil)
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.press(round.Repeat, 0)
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "F minor", " for  in C minor, +0, false")
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "G minor", " for  in F minor, +0, false")
}

// TestAnotherKeyThanPlanned: the player's wish goes first, and the plan is made for it.
func TestAnotherKeyThanPlanned(t *testing.T) {
	p := &teller{shifts: []*int{nil, semitones(5)}}
	r := planTestOf(t, p, nil)
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.press(round.AnotherKey, 2) // above what was planned
	r.await()
	r.see(round.PartVerdict, "C minor", " for  in G minor, +0, true")
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "G minor", " for  in G minor, +0, true")
	r.press(round.AnotherKey, -3) // for the round after this one
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.see(round.PartVerdict, "G minor", " for  in E minor, +0, true")
	r.until(round.PartCountIn, 0.2)
	r.press(round.AnotherKey, 1)
	r.await()
	r.see(round.PartCountIn, "F minor", " for  in F minor, +0, true")
}

// TestLatePlan: a plan that comes when its round has begun changes no key; one for the key that sounds is asked for.
func TestLatePlan(t *testing.T) {
	p := &teller{shifts: []*int{nil, semitones(5)}}
	r := planTestOf(t, p, nil)
	r.until(round.PartTake1, 0.2)
	r.told()
	p.late = make(chan struct{})
	r.until(round.PartVerdict, 0.3)
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "C minor", "")
	close(p.late)
	r.await()
	r.see(round.PartTake1, "C minor", "")
	r.await()
	r.see(round.PartTake1, "C minor", " for  in C minor, +0, true")
	if got := r.starts(); len(got) != 1 {
		t.Errorf("the loop was started as %q", got)
	}
}

// TestResize: wishes add up until a round was played; the next one begins with none.
func TestResize(t *testing.T) {
	p := &teller{}
	r := planTestOf(t, p, nil)
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.e.resize(1)
	r.e.resize(1)
	r.await() // too old
	r.await()
	r.see(round.PartVerdict, "C minor", " for  in C minor, +2, false")
	r.until(round.PartTake1, 0.2)
	r.see(round.PartTake1, "C minor", " for  in C minor, +2, false")
	r.e.resize(-3)
	r.await()
	r.see(round.PartTake1, "C minor", " for  in C minor, -1, true")
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.see(round.PartVerdict, "C minor", " for  in C minor, +0, false")
}

// TestPlansOfACircle: a plan is for who is next; a turn that is passed on has it made anew, without what the other asked for.
func TestPlansOfACircle(t *testing.T) {
	p := &teller{}
	r := planTestOf(t, p, func(c *Config) { c.Setup.Players = []round.Person{{Name: "Sunnel"}, {Name: "Ilvane"}} })
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.see(round.PartVerdict, "C minor", "Ilvane for Sunnel in C minor, +0, false")
	r.e.resize(1)
	r.await()
	r.until(round.PartTake1, 0.2)
	r.press(round.Skip, 0)
	r.await()
	r.see(r.e.part, "C minor", "Sunnel for Ilvane in C minor, +0, true")
}

// TestMarkedRound: the planner hears of the mark after the verdict, and plans again.
func TestMarkedRound(t *testing.T) {
	p := &teller{}
	r := planTestOf(t, p, nil)
	r.until(round.PartVerdict, 0.3)
	r.await()
	r.press(round.Misheard, 0)
	r.await()
	if got, want := r.told(), "plan, settled, judged 1 in C minor, plan, marked 1 true, plan"; got != want {
		t.Errorf("told %s, want %s", got, want)
	}
}

// TestSettledAtTheEnd: a session that ends tells its planner so, after the last round; Resize may be called from anywhere and does not hang then.
func TestSettledAtTheEnd(t *testing.T) {
	d, p := theDemo(), &teller{shifts: []*int{semitones(5)}} // the last plan comes too late to be heeded
	files := d.onForm(d.setup, true)
	s, err := New(Config{
		Setup: d.setup, Folder: t.TempDir(), Start: true, Rounds: 1, Planner: p,
		Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()},
	})
	if err != nil {
		t.Fatal(err)
	}
	s.Resize(1)
	ended := make(chan error)
	go func() { ended <- s.Run(t.Context()) }()
	var last Snapshot
	for last = range s.Snapshots() {
	}
	if err := <-ended; err != nil {
		t.Error(err)
	}
	s.Resize(1)
	if got, want := strings.Join(p.told, ", "), "plan, plan, settled, judged 1 in F minor, plan, settled"; got != want {
		t.Errorf("told %s, want %s", got, want)
	}
	if last.Result == nil || last.Result.Phrase != "Rain" {
		t.Errorf("result %+v", last.Result)
	}
}
