package round

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/music"
)

// drawSetup draws a setup that can be played.
func drawSetup(t *rapid.T) Setup {
	charts := []string{"Cm7 | Fm7 | G7b9 | Cm7", "C7", "3/4: F | Bb7", "6/8: Dm7 | G7 | Cmaj7 A7"}
	chart, err := music.ParseChart(rapid.SampledFrom(charts).Draw(t, "chart"))
	if err != nil {
		t.Fatal(err)
	}
	s := Setup{
		Chart: chart, Tempo: rapid.Float64Range(60, 300).Draw(t, "tempo"),
		Timing:       rapid.SampledFrom([]Timing{OnForm, OnForm, Free, NoLoop}).Draw(t, "timing"),
		TakeBars:     rapid.IntRange(1, 4).Draw(t, "take bars"),
		ThinkingBars: rapid.IntRange(FreeThinking, 2).Draw(t, "thinking"),
		CountInBars:  rapid.IntRange(0, 2).Draw(t, "count-in"),
		LeadIn:       rapid.Bool().Draw(t, "lead-in"),
		FromTop:      rapid.Bool().Draw(t, "from top"),
		VerdictBars:  rapid.IntRange(0, 2).Draw(t, "verdict"),
		GoOnKey:      rapid.SampledFrom([]int{0, 36}).Draw(t, "key"),
		GoOnPedal:    rapid.Bool().Draw(t, "pedal"),
		Steps:        rapid.Bool().Draw(t, "steps"),
	}
	if rapid.Bool().Draw(t, "keyed") {
		key, err := music.ParseKey("C minor")
		if err != nil {
			t.Fatal(err)
		}
		s.Key = &key
	}
	switch rapid.IntRange(0, 2).Draw(t, "circle") {
	case 1:
		s.Players = []Person{{Name: "Alma"}, {Name: "Bero"}}
	case 2:
		s.Players = []Person{{"Alma", "left", "a"}, {"Bero", "right", "b"}, {"Cyra", "left", "b"}}
	}
	if err := s.Check(); err != nil {
		t.Fatal(err)
	}
	return s
}

// drawEvent draws any event, at any time; most follow one another as in life.
func drawEvent(t *rapid.T, now float64) Event {
	at := now
	switch rapid.IntRange(0, 60).Draw(t, "step") {
	case 0:
		at = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, now + 100, now - 1000}).Draw(t, "odd time")
	case 1:
		at -= rapid.Float64Range(0, 5).Draw(t, "back")
	default:
		at += rapid.Float64Range(0, 2).Draw(t, "on")
	}
	e := Event{
		Time: at, Since: at - rapid.Float64Range(-0.2, 2).Draw(t, "since"),
		Device: rapid.SampledFrom([]string{"", "", "left", "right", "a", "b"}).Draw(t, "device"),
		Key:    rapid.SampledFrom([]int{60, 60, 60, 62, 36, -1, 130}).Draw(t, "key"),
	}
	kinds := []EventKind{Tick, Tick, Tick, VoiceStarted, VoiceEnded, VoicePaused, NotePlayed, NotePlayed, NoteReleased, PedalDown, PedalUp, Pressed, Pressed, DeviceLost, DeviceBack, DeviceBack, Overrun, Level, VolumeChanged, CannotJudge, Wrote, Wrote, SoundBegan, KeyPlanned}
	e.Kind = rapid.SampledFrom(kinds).Draw(t, "kind")
	actions := []Action{GoOn, GoOn, GoOn, GoOn, Repeat, Skip, AnotherKey, Slower, Faster, Mute, Stop, Learn, Steps, HearTake, HearNotes, HearKey, HearChord, SingAgain, Pieces, Misheard, Misheard + 1}
	e.Action = rapid.SampledFrom(actions).Draw(t, "action")
	e.Amount = rapid.SampledFrom([]int{0, 0, 1, 2, 3, -1, 20, -20}).Draw(t, "amount")
	e.Text = rapid.SampledFrom([]string{"", " ", "1 2 b3", "c d eb", "x", "b b"}).Draw(t, "text")
	e.Lost = DeviceKind(rapid.IntRange(-1, 3).Draw(t, "lost"))
	e.Seconds = rapid.Float64Range(-1, 1).Draw(t, "seconds")
	e.Trouble = Warning(rapid.IntRange(-1, int(Care)).Draw(t, "trouble"))
	return e
}

// promises watches the commands of one machine.
type promises struct {
	t     *rapid.T
	setup Setup

	at, cut   float64
	part      Part
	recording Part
	span      Span
	kept      map[Part]Span // of this round, not thrown away
	saved     map[int]bool
	looping   bool
	judged    bool
	steps     bool    // are on
	again     bool    // take 2 is to be sung again
	sounding  bool    // something that was asked for was not ended
	ends      float64 // when it ends by itself
	noted     Facts   // written down last
}

func (p *promises) check(e Event, commands []Command, excused bool) {
	for i, c := range commands {
		if math.IsNaN(c.At) || c.At < p.at {
			p.t.Fatalf("%s at %v after %v", c.Kind, c.At, p.at)
		}
		p.at = c.At
		if p.judged && c.Kind != SaveRound {
			p.t.Fatalf("%s between judging and saving", c.Kind)
		}
		switch c.Kind {
		case NoteDown:
			p.noted = c.Facts
		case PlaySound:
			p.sound(c.Sound)
		case MarkRound:
			if p.part != PartVerdict || !p.saved[c.Round] {
				p.t.Fatalf("round %d is marked in %s", c.Round, p.part)
			}
		case ShowPart:
			p.follow(e, c.Part, excused || slices.ContainsFunc(commands, func(c Command) bool { return c.Warning == NobodyThere && c.Kind == Warn }))
		case BeginTake, BeginAnswer:
			p.begin(c)
		case EndTake, EndAnswer:
			p.end(c)
		case Discard:
			p.discard(e, c, commands[i:])
		case JudgeRound:
			p.judged = true
			if !c.Facts.Complete {
				p.t.Fatal("an incomplete round is judged")
			}
		case SaveRound:
			p.save(c)
		case StartLoop, StopLoop:
			if p.looping == (c.Kind == StartLoop) {
				p.t.Fatalf("%s while looping is %v", c.Kind, p.looping)
			}
			p.looping = !p.looping
			if p.looping && !(c.Loop.Starts > c.At-c.Loop.Length()) {
				p.t.Fatalf("a loop starts at %v, asked for at %v", c.Loop.Starts, c.At)
			}
		case Warn:
			if c.Text == "" && c.Warning != Unjudged {
				p.t.Fatalf("warning %s has no sentence", c.Warning)
			}
		}
	}
}

// followers are the parts that may come after a part of a round; none before the round and after its verdict.
func (p *promises) followers(was Part, e Event) []Part {
	singAgain := e.Kind == Pressed && e.Action == SingAgain
	switch was {
	case PartCountIn:
		if p.again {
			return []Part{PartTake2}
		}
		return []Part{PartTake1}
	case PartTake1:
		return []Part{PartTake2}
	case PartTake2:
		if p.steps {
			return []Part{PartNumbers}
		}
		if p.setup.Timing == OnForm && p.setup.ThinkingBars == 0 {
			return []Part{PartAnswer}
		}
		return []Part{PartThinking}
	case PartNumbers, PartLetters, PartThinking:
		parts := []Part{PartAnswer}
		if was != PartThinking {
			parts = append(parts, was+1)
		}
		if singAgain && p.setup.Timing == OnForm {
			parts = append(parts, PartCountIn)
		} else if singAgain {
			parts = append(parts, PartTake2)
		}
		return parts
	case PartAnswer:
		return []Part{PartVerdict}
	}
	return nil
}

func (p *promises) follow(e Event, next Part, excused bool) {
	was := p.part
	p.part = next
	if p.recording != PartIdle && next != p.recording {
		p.t.Fatalf("%s is shown while %s is recorded", next, p.recording)
	}
	if p.sounding && p.at < p.ends && next != PartLetters && next != PartThinking {
		p.t.Fatalf("%s begins while something sounds", next)
	}
	allowed := p.followers(was, e)
	p.again = next == PartCountIn && was >= PartNumbers && was <= PartThinking && e.Action == SingAgain && e.Kind == Pressed
	if len(allowed) == 0 {
		first := []Part{PartIdle, PartLoopAlone, PartCountIn, PartOver}
		if p.setup.Timing == NoLoop || p.setup.CountInBars == 0 {
			first = append(first, PartTake1)
		}
		if !slices.Contains(first, next) {
			p.t.Fatalf("a round begins with %s", next)
		}
		return
	}
	if !slices.Contains(allowed, next) && !excused {
		p.t.Fatalf("%s follows %s on %+v", next, was, e)
	}
}

// sound holds the machine to sounding only what is there, and never while a microphone records.
func (p *promises) sound(s Sound) {
	p.sounding, p.ends = s.What != NoSound, math.Inf(1)
	_, there := p.kept[Part(int(PartTake1)+s.Take-1)]
	if p.sounding && (p.recording.Take() > 0 || (s.What == TakeSound || s.What == NotesSound) && !there && p.part != PartVerdict) {
		p.t.Fatalf("%s sounds in %s while %s is recorded", s, p.part, p.recording)
	}
}

func (p *promises) cutAt(c Command) {
	if !(c.Cut >= p.cut && c.Cut <= c.At && c.Cut >= c.At-MaxCutBack-1e-6) {
		p.t.Fatalf("%s at %v with cut %v after cut %v", c.Kind, c.At, c.Cut, p.cut)
	}
	p.cut = c.Cut
}

func (p *promises) begin(c Command) {
	p.cutAt(c)
	if p.recording != PartIdle || c.Part != p.part {
		p.t.Fatalf("%s in %s while %s is recorded", c.Part, p.part, p.recording)
	}
	if old, ok := p.kept[c.Part]; ok {
		p.t.Fatalf("%s is recorded twice, first %v", c.Part, old)
	}
	p.recording, p.span = c.Part, Span{c.Cut, c.Cut}
}

func (p *promises) end(c Command) {
	p.cutAt(c)
	if p.recording != c.Part {
		p.t.Fatalf("end of %s while %s is recorded", c.Part, p.recording)
	}
	p.recording, p.span.To = PartIdle, c.Cut
	p.kept[c.Part] = p.span
}

// discard holds the machine to throwing away only silence, and what Repeat or nobody's absence asks for.
func (p *promises) discard(e Event, c Command, rest []Command) {
	asked := e.Kind == Pressed && (e.Action == Repeat || e.Action == AnotherKey || e.Action == Slower || e.Action == Faster)
	if e.Kind == Pressed && e.Action == SingAgain && c.Part == PartTake2 {
		delete(p.kept, c.Part)
		return
	}
	if c.Part == PartIdle {
		for part, span := range p.kept {
			if !span.Empty() && !asked && p.part != PartAnswer {
				p.t.Fatalf("%s %v is thrown away on %+v", part, span, e)
			}
		}
		clear(p.kept)
		return
	}
	if p.setup.Timing == OnForm || len(rest) < 2 || rest[1].Kind != BeginTake {
		p.t.Fatalf("%s is thrown away", c.Part)
	}
	delete(p.kept, c.Part)
}

func (p *promises) save(c Command) {
	p.judged = false
	if p.recording != PartIdle {
		p.t.Fatalf("a round is saved while %s is recorded", p.recording)
	}
	if p.saved[c.Round] || c.Facts.Round != c.Round {
		p.t.Fatalf("round %d (facts %d) is saved twice: %v", c.Round, c.Facts.Round, p.saved)
	}
	p.saved[c.Round] = true
	var takes []Span
	for _, part := range []Part{PartTake1, PartTake2} {
		if span, ok := p.kept[part]; ok {
			takes = append(takes, span)
		}
	}
	if !slices.Equal(takes, c.Facts.Takes) || p.kept[PartAnswer] != c.Facts.Answer {
		p.t.Fatalf("saved %v %v, recorded %v", c.Facts.Takes, c.Facts.Answer, p.kept)
	}
	if f := c.Facts; f.Helped != (Helped{}) || f.Written != nil || f.Misheard || len(f.Pieces) > 0 {
		if f.Helped != p.noted.Helped || !reflect.DeepEqual(f.Written, p.noted.Written) || f.Misheard != p.noted.Misheard || !slices.Equal(f.Pieces, p.noted.Pieces) {
			p.t.Fatalf("saved %+v, written down before %+v", f, p.noted)
		}
	}
	if !slices.IsSorted(c.Facts.Pieces) {
		p.t.Fatalf("pieces begin at %v", c.Facts.Pieces)
	}
	if len(p.kept) == 0 {
		p.t.Fatal("a round without recordings is saved")
	}
	clear(p.kept)
}

func checkView(t *rapid.T, v View) {
	bad := math.IsNaN(v.SecondsLeft) || v.SecondsLeft < 0 || v.BarsLeft < 0 || v.BeatsLeft < 0 || v.Elapsed < 0 ||
		v.HasLoop && (v.Bar < 1 || v.Bar > v.Bars || v.Beat < 1 || v.Beat > v.Beats || v.NextIn <= 0 || v.Beats > 0 && v.BeatsLeft >= v.Beats) ||
		v.PartName == "" || v.SoundFor < 0 || v.Sounding == "" && v.SoundFor > 0 || v.InPieces != (v.Piece > 0) || v.Part != PartOver && (len(v.Can) == 0 || v.Prompt == "")
	if bad {
		t.Fatalf("odd view %+v", v)
	}
}

func TestMachineKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		setup := drawSetup(t)
		m := NewMachine(setup)
		p := &promises{t: t, setup: setup, at: math.Inf(-1), cut: math.Inf(-1), kept: map[Part]Span{}, saved: map[int]bool{}, steps: setup.Steps}
		now := 0.0
		for range rapid.IntRange(1, 120).Draw(t, "events") {
			e := drawEvent(t, now)
			gap := e.Time-m.now > longestGap
			if !math.IsNaN(e.Time) && math.Abs(e.Time) < latestTime {
				now = max(now, e.Time)
			}
			leaves := e.Kind == Pressed && slices.Contains([]Action{Repeat, Skip, AnotherKey, Slower, Faster, Stop}, e.Action)
			anyLost := e.Kind == DeviceLost
			for _, names := range m.lost {
				anyLost = anyLost || len(names) > 0
			}
			p.check(e, m.Handle(e), gap || leaves || anyLost)
			if e.Kind == Pressed && e.Action == Steps {
				p.steps = !p.steps
			}
			if p.sounding && e.Kind == SoundBegan {
				p.ends = m.sound.ends
			}
			checkView(t, m.View(now+rapid.Float64Range(-1, 1).Draw(t, "look")))
		}
		p.check(Event{}, m.Handle(Event{Kind: Pressed, Time: now, Action: Quit}), true)
		if p.part != PartOver || p.recording != PartIdle || p.looping || len(p.kept) > 0 {
			t.Fatalf("after the end: %s, recording %s, looping %v, kept %v", p.part, p.recording, p.looping, p.kept)
		}
		if late := m.Handle(Event{Kind: Pressed, Time: now + 1, Action: GoOn}); late != nil {
			t.Fatalf("commands after the end: %v", fmt.Sprint(late))
		}
	})
}

// The same events give the same commands, and looking changes nothing.
func TestMachineIsDeterministic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		setup := drawSetup(t)
		a, b := NewMachine(setup), NewMachine(setup)
		now := 0.0
		for range rapid.IntRange(1, 60).Draw(t, "events") {
			e := drawEvent(t, now)
			if !math.IsNaN(e.Time) && math.Abs(e.Time) < latestTime {
				now = max(now, e.Time)
			}
			first := a.Handle(e)
			b.View(now + 3)
			second := b.Handle(e)
			if len(first) != len(second) {
				t.Fatalf("%v and %v", first, second)
			}
			for i := range first {
				if line(first[i]) != line(second[i]) {
					t.Fatalf("%s and %s", line(first[i]), line(second[i]))
				}
			}
		}
	})
}

// On the form with one tick in a while or with many, the same commands come at the same times.
func TestMachineDoesNotDependOnTicks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		setup := drawSetup(t)
		coarse, fine := NewMachine(setup), NewMachine(setup)
		var a, b []string
		collect := func(list *[]string, m *Machine, e Event) {
			for _, c := range m.Handle(e) {
				*list = append(*list, line(c))
			}
		}
		now := 0.0
		for range rapid.IntRange(1, 30).Draw(t, "events") {
			e := drawEvent(t, now)
			if math.IsNaN(e.Time) || e.Time < now || e.Time > now+2 {
				continue
			}
			steps := rapid.IntRange(1, 10).Draw(t, "ticks")
			for k := range steps {
				collect(&b, fine, tick(now+(e.Time-now)*float64(k)/float64(steps)))
			}
			now = e.Time
			collect(&a, coarse, e)
			collect(&b, fine, e)
		}
		if !slices.Equal(a, b) {
			t.Fatalf("%q\n%q", a, b)
		}
	})
}
