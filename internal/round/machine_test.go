package round

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"larkhand/internal/loop"
	"larkhand/internal/music"
)

// form is a setup on the form: 4 bars of 2 s each, so that every time is easily reckoned.
func form(t *testing.T) Setup {
	t.Helper()
	chart, err := music.ParseChart("Cm7 | Fm7 | G7b9 | Cm7")
	if err != nil {
		t.Fatal(err)
	}
	key, err := music.ParseKey("C minor")
	if err != nil {
		t.Fatal(err)
	}
	return Setup{Key: &key, Chart: chart, Tempo: 120, TakeBars: 2, ThinkingBars: 1, CountInBars: 1, VerdictBars: 2}
}

// run gives events to a machine and returns the commands.
func run(m *Machine, events ...Event) (commands []Command) {
	for _, e := range events {
		commands = append(commands, m.Handle(e)...)
	}
	return commands
}

// line writes a command down: time, kind and what matters of it.
func line(c Command) string {
	text := fmt.Sprintf("%.2f %s", c.At, c.Kind)
	switch c.Kind {
	case ShowPart:
		text += ": " + c.Part.String()
	case StartLoop:
		text += fmt.Sprintf(" at %.2f, %g, %s", c.Loop.Starts, c.Loop.Tempo, c.Loop.Chart)
	case BeginTake, EndTake:
		text += fmt.Sprintf(" %d, cut %.2f, player %d", c.Take, c.Cut, c.Player)
	case BeginAnswer, EndAnswer:
		text += fmt.Sprintf(", cut %.2f, player %d", c.Cut, c.Player)
	case MuteParts:
		text += fmt.Sprintf(" %04b", c.Muted)
	case Discard:
		text += ": " + c.Part.String()
	case JudgeRound:
		text += fmt.Sprintf(" %d", c.Facts.Round)
	case SaveRound:
		text += fmt.Sprintf(" %d, complete %v, %d takes", c.Facts.Round, c.Facts.Complete, len(c.Facts.Takes))
		if more := gathered(c.Facts); more != "" {
			text += "; " + more
		}
	case Warn:
		text += ": " + c.Warning.String()
	case PlaySound:
		text += ": " + cmp.Or(c.Sound.String(), "nothing")
	case MarkRound:
		text += fmt.Sprintf(" %d: %v", c.Round, c.Misheard)
	case NoteDown:
		text += ": " + gathered(c.Facts)
	}
	if c.Short {
		text += ", short"
	}
	return text
}

// gathered writes down what facts hold besides recordings.
func gathered(f Facts) string {
	var list []string
	if w := f.Written; w != nil {
		for _, step := range []struct {
			text    string
			seconds *float64
		}{{w.Numbers, w.NumbersSeconds}, {w.Letters, w.LettersSeconds}} {
			if step.seconds != nil {
				list = append(list, fmt.Sprintf("%q in %.2f s", step.text, *step.seconds))
			}
		}
	}
	if words := f.Helped.Words(); words != "" {
		list = append(list, words)
	}
	if len(f.Pieces) > 0 {
		list = append(list, fmt.Sprintf("pieces from %.2f", f.Pieces))
	}
	if f.Misheard {
		list = append(list, "misheard")
	}
	return strings.Join(list, "; ")
}

func write(at float64, text string) Event { return Event{Kind: Wrote, Time: at, Text: text} }
func began(at, seconds float64) Event     { return Event{Kind: SoundBegan, Time: at, Seconds: seconds} }

func press(at float64, a Action) Event     { return Event{Kind: Pressed, Time: at, Action: a} }
func tick(at float64) Event                { return Event{Kind: Tick, Time: at} }
func sing(at float64) Event                { return Event{Kind: VoiceStarted, Time: at, Since: at} }
func rest(at float64) Event                { return Event{Kind: VoiceEnded, Time: at, Since: at} }
func play(at float64, key int) Event       { return Event{Kind: NotePlayed, Time: at, Key: key} }
func let(at float64, key int) Event        { return Event{Kind: NoteReleased, Time: at, Key: key} }
func lost(at float64, k DeviceKind) Event  { return Event{Kind: DeviceLost, Time: at, Lost: k} }
func found(at float64, k DeviceKind) Event { return Event{Kind: DeviceBack, Time: at, Lost: k} }

func TestFactsOfARound(t *testing.T) {
	setup := form(t)
	setup.Players = []Person{{Name: "Alma"}, {Name: "Bero"}}
	commands := run(NewMachine(setup), press(0, GoOn), sing(3), rest(5), Event{Kind: Level, Time: 5.5, Trouble: MicrophoneHum}, sing(7), rest(8.5),
		play(13, 60), let(13.5, 60), tick(17))
	var facts []Facts
	for _, c := range commands {
		if c.Kind == JudgeRound || c.Kind == SaveRound {
			facts = append(facts, c.Facts)
		}
	}
	if len(facts) != 2 || !reflect.DeepEqual(facts[0], facts[1]) {
		t.Fatalf("%d sets of facts, or different ones: %+v", len(facts), facts)
	}
	f := facts[0]
	want := Facts{
		Round: 1, Singer: 0, Player: 1, Key: f.Key, Loop: f.Loop, Timing: OnForm,
		Takes: []Span{{1.95, 5.95}, {5.95, 10.25}}, Answer: Span{12.25, 16.25}, Awaited: 12.25, Complete: true,
		Troubles: []string{usualText[MicrophoneHum]},
	}
	if !reflect.DeepEqual(f, want) {
		t.Errorf("%+v, want %+v", f, want)
	}
	if f.Key.String() != "C minor" || f.Loop.Starts != 0.25 {
		t.Errorf("key %s, loop from %g", f.Key, f.Loop.Starts)
	}
}

func TestView(t *testing.T) {
	setup := form(t)
	setup.Players = []Person{{Name: "Alma"}, {Name: "Bero"}}
	m := NewMachine(setup)
	if v := m.View(0); v.Part != PartIdle || v.HasLoop || !v.Open || !slices.Contains(v.Can, GoOn) || slices.Contains(v.Can, Stop) {
		t.Errorf("before the start: %+v", v)
	}
	run(m, press(0, GoOn), tick(3), sing(3.2))
	v := m.View(3.3) // 1.05 s into take 1, that is bar 2, beat 3.1; a beat is 0.5 s
	if v.PartName != "take 1" || v.Bar != 2 || v.Beat != 3 || math.Abs(v.Through-0.1) > 1e-9 || v.Chorus != 1 || v.Bars != 4 || v.Beats != 4 {
		t.Errorf("place: %+v", v)
	}
	if v.BarsLeft != 1 || v.BeatsLeft != 2 || math.Abs(v.SecondsLeft-2.95) > 1e-9 || math.Abs(v.Elapsed-1.05) > 1e-9 || v.Open {
		t.Errorf("left: %+v", v)
	}
	if v.Chord.String() != "Fm7" || v.Next.String() != "G7b9" || math.Abs(v.NextIn-0.95) > 1e-9 {
		t.Errorf("chords: %s, %s in %g", v.Chord, v.Next, v.NextIn)
	}
	if !v.Singing || v.Turn.Name != "Alma" || v.Player.Name != "Bero" || v.Round != 1 || v.Prompt != "Alma: Sing a short phrase." {
		t.Errorf("people: %+v", v)
	}
	run(m, rest(5), sing(7), rest(8), press(9, AnotherKey), tick(11))
	if v := m.View(11); v.Turn.Name != "Bero" || v.Key.String() != "C minor" || v.NextKey.String() != "F minor" || v.Part != PartThinking {
		t.Errorf("thinking: %+v", v)
	}
	run(m, play(13, 60))
	if v := m.View(13.1); !v.Playing || v.Part != PartAnswer {
		t.Errorf("answer: %+v", v)
	}
	run(m, let(14, 60), tick(17), press(17.5, Quit))
	if v := m.View(18); v.Part != PartOver || v.Can != nil {
		t.Errorf("over: %+v", v)
	}
}

// Where the last chord of the chart is the first one too, and where there is but one chord.
func TestViewOfTheNextChord(t *testing.T) {
	for chartText, want := range map[string]string{"Cm7 | Fm7 | G7b9 | Cm7": "Cm7, Fm7 in 4", "C7": "C7, C7 in 2", "Dm7 G7 | C": "C, Dm7 in 2"} {
		setup := form(t)
		chart, err := music.ParseChart(chartText)
		if err != nil {
			t.Fatal(err)
		}
		setup.Chart = chart
		m := NewMachine(setup)
		last := 0.25 + 2*float64(len(chart.Bars)-1) // the last bar's beginning
		run(m, press(0, GoOn), tick(last))
		v := m.View(last)
		if got := fmt.Sprintf("%s, %s in %g", v.Chord, v.Next, v.NextIn); got != want {
			t.Errorf("%s: %s, want %s", chartText, got, want)
		}
	}
}

func TestSetupsThatCannotBePlayed(t *testing.T) {
	for want, change := range map[string]func(*Setup){
		"chart of at least one bar": func(s *Setup) { s.Chart = music.Chart{} },
		"tempo of 5":                func(s *Setup) { s.Tempo = 5 },
		"take of 0 bars":            func(s *Setup) { s.TakeBars = 0 },
		"longer than 120 s":         func(s *Setup) { s.TakeBars, s.Tempo = 64, 60 },
		"thinking room of -2":       func(s *Setup) { s.ThinkingBars = -2 },
		"count-in of 9":             func(s *Setup) { s.CountInBars = 9 },
		"swing of 0.5":              func(s *Setup) { s.Swing = 0.5 },
		"stand for -1":              func(s *Setup) { s.VerdictBars = -1 },
		"MIDI key 128":              func(s *Setup) { s.GoOnKey = 128 },
		"timing is unknown":         func(s *Setup) { s.Timing = 3 },
		"circle of 13":              func(s *Setup) { s.Players = make([]Person, 13) },
	} {
		s := form(t)
		if err := s.Check(); err != nil {
			t.Fatal(err)
		}
		change(&s)
		if err := s.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q in it", err, want)
		}
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", want)
				}
			}()
			NewMachine(s)
		}()
	}
	for _, timing := range []Timing{OnForm, Free, NoLoop} {
		if got, err := ParseTiming(timing.String()); err != nil || got != timing {
			t.Errorf("%s is read as %s, %v", timing, got, err)
		}
	}
	if _, err := ParseTiming("slow"); err == nil {
		t.Error("slow is a timing")
	}
}

// Half an hour of practice, told off once.
func TestRestIsAdvised(t *testing.T) {
	m := NewMachine(form(t))
	run(m, press(0, GoOn))
	told := 0
	for at := 0.5; at < 3000; at += 0.5 {
		events := []Event{tick(at)}
		if p := m.View(at).Part; p.Take() > 0 || p == PartAnswer {
			events = append(events, sing(at), rest(at+0.1), play(at+0.2, 60), let(at+0.3, 60))
		}
		for _, c := range run(m, events...) {
			if c.Kind == Warn && c.Text == careOfRest {
				told++
				if at < restAfter || at > restAfter+30 {
					t.Errorf("told at %g s", at)
				}
			}
		}
	}
	if told != 1 {
		t.Errorf("told %d times", told)
	}
}

func TestResponse(t *testing.T) {
	chart, err := music.ParseChart("C7 | F7")
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, 120, 0) // bars at 0, 2, 4 ... s
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name                  string
		end, first, awaited   float64
		loop                  *loop.Loop
		seconds, beats, waits float64
	}{
		{"no loop", 3, 4.5, 0, nil, 1.5, 0, 0},
		{"after the bar line", 3, 4.5, 0, &l, 1.5, 3, 1},
		{"before the bar line", 3, 3.5, 0, &l, 0.5, 1, 0},
		{"an eighth before the bar line", 3, 3.75, 0, &l, 0.75, 1.5, 0.75},
		{"on the form", 3, 8.25, 8, &l, 5.25, 10.5, 5},
		{"before the form lets it", 3, 6, 8, &l, 3, 6, 0},
		{"the phrase rang beyond the bar line", 8.5, 9, 8, &l, 0.5, 1, 0},
	} {
		r, ok := ResponseOf(c.end, c.first, c.loop, c.awaited)
		if !ok || r != (Response{Seconds: c.seconds, Beats: c.beats, Wait: c.waits, NetSeconds: c.seconds - c.waits}) {
			t.Errorf("%s: %+v %v", c.name, r, ok)
		}
	}
	if _, ok := ResponseOf(3, 2.9, nil, 0); ok {
		t.Error("an answer before the end has a response time")
	}
}

func TestTransposed(t *testing.T) {
	for _, c := range []struct {
		key, chart string
		semitones  int
		wantKey    string
		wantChart  string
	}{
		{"C minor", "Cm7 | Fm7 Ab7 | G7b9 | N.C.", 5, "F minor", "Fm7 | Bbm7 Db7 | C7b9 | N.C."},
		{"C major", "C6/9 | Dm7/G | F#m7b5", 1, "Db major", "Db6/9 | Ebm7/Ab | Gm7b5"},
		{"C major", "C | Bb13", 6, "F# major", "F# | E13"},
		{"C minor", "Cm7 | D7alt", 8, "G# minor", "G#m7 | A#7alt"},
		{"F dorian", "Fm7", -5, "C dorian", "Cm7"},
		{"Eb blues", "Eb7 | Ab7", 0, "Eb blues", "Eb7 | Ab7"},
	} {
		key, err := music.ParseKey(c.key)
		if err != nil {
			t.Fatal(err)
		}
		chart, err := music.ParseChart(c.chart)
		if err != nil {
			t.Fatal(err)
		}
		moved := TransposedKey(key, c.semitones)
		if got := moved.String(); got != c.wantKey {
			t.Errorf("%s %+d: %s, want %s", c.key, c.semitones, got, c.wantKey)
		}
		if got := TransposedChart(chart, &moved, c.semitones).String(); got != c.wantChart {
			t.Errorf("%s %+d: %s, want %s", c.chart, c.semitones, got, c.wantChart)
		}
	}
}

// Every chord can be moved to every root, with a key and without, and twelve half steps change no pitch class.
func TestTransposedChordsKeepTheirNotes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		root := rapid.SampledFrom(tonics).Draw(t, "root")
		symbol := rapid.SampledFrom([]string{"", "m7", "7b9", "maj7#11", "m7b5", "6/9", "sus4", "dim7", "7alt", "13#11", "m(maj7)"}).Draw(t, "symbol")
		over := rapid.SampledFrom([]string{"", "/G", "/Bb"}).Draw(t, "bass")
		chord, err := music.ParseChord(root + symbol + over)
		if err != nil {
			t.Fatal(err)
		}
		semitones := rapid.IntRange(-24, 24).Draw(t, "semitones")
		var key *music.Key
		if rapid.Bool().Draw(t, "keyed") {
			k, err := music.ParseKey(rapid.SampledFrom(tonics).Draw(t, "tonic") + rapid.SampledFrom([]string{" major", " minor", " dorian"}).Draw(t, "scale"))
			if err != nil {
				t.Fatal(err)
			}
			key = &k
		}
		moved := transposedChord(chord, key, semitones)
		before, after := chord.Notes(), moved.Notes()
		if len(before) != len(after) {
			t.Fatalf("%s becomes %s", chord, moved)
		}
		for i := range before {
			if mod12(before[i].PitchClass+semitones) != after[i].PitchClass || before[i].Degree != after[i].Degree {
				t.Fatalf("%s %+d becomes %s", chord, semitones, moved)
			}
		}
		_, low, _ := chord.Bass()
		if _, moved, _ := moved.Bass(); moved != mod12(low+semitones) {
			t.Fatalf("%s %+d has bass %d", chord, semitones, moved)
		}
	})
}
