package practice

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/loop"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

// flaky is a microphone that is unplugged for a while; its sound goes on unheard.
type flaky struct {
	Microphone
	from, to float64
	state    Status
}

func (m *flaky) Read(ctx context.Context) (Block, error) {
	for {
		b, err := m.Microphone.Read(ctx)
		if err != nil {
			return b, err
		}
		switch away := b.Time >= m.from && b.Time < m.to; {
		case away && m.state == Fine:
			m.state = Gone
			return Block{Status: Gone}, nil
		case away:
			continue
		case m.state == Gone:
			m.state = Fine
			b.Status = Back
		}
		return b, nil
	}
}

// unplugged is a port that is unplugged at one of its messages and comes back with a later one.
type unplugged struct {
	MIDIPort
	at, back int // numbers of messages
	count    int
}

func (p *unplugged) Read(ctx context.Context) (Message, error) {
	m, err := p.MIDIPort.Read(ctx)
	for p.count++; err == nil && p.count > p.at && p.count < p.back; p.count++ {
		if p.count == p.at+1 {
			return Message{Time: m.Time, Status: Gone}, nil
		}
		m, err = p.MIDIPort.Read(ctx)
	}
	if p.count == p.back {
		m.Status = Back
	}
	return m, err
}

// speaker writes down what it is asked for, and goes away and comes back as the test says.
type speaker struct {
	asked    []string
	statuses chan Status
}

func (s *speaker) Start(l loop.Loop, swing float64, muted round.Backing) {
	s.asked = append(s.asked, fmt.Sprintf("start %s at %.2f, swing %g, muted %d", l.Chart, l.Starts, swing, muted))
}
func (s *speaker) Stop()                    { s.asked = append(s.asked, "stop") }
func (s *speaker) Mute(muted round.Backing) { s.asked = append(s.asked, fmt.Sprintf("mute %d", muted)) }
func (s *speaker) SetVolume(db float64)     { s.asked = append(s.asked, fmt.Sprintf("volume %g", db)) }
func (s *speaker) Status(ctx context.Context) (Status, error) {
	select {
	case status, ok := <-s.statuses:
		if !ok {
			return Fine, io.EOF
		}
		return status, nil
	case <-ctx.Done():
		return Fine, ctx.Err()
	}
}

// run practises with these devices and returns the last snapshot.
func run(t testing.TB, cfg Config) Snapshot {
	t.Helper()
	if cfg.Folder == "" {
		cfg.Folder = t.TempDir()
	}
	s, err := New(cfg)
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
	if err := s.Run(t.Context()); err != nil {
		t.Error(err)
	}
	<-seen
	return last
}

func warnings(s Snapshot) (out []round.Warning) {
	for _, n := range s.Notices {
		out = append(out, n.Warning)
	}
	return out
}

// The microphone goes away in the middle of take 1: what was sung is kept, and when it is back the round begins anew.
func TestMicrophoneGoneInATake(t *testing.T) {
	d := theDemo()
	at1, _, _ := FirstRound(d.setup)
	files := d.onForm(d.setup, true)
	k := &keeper{}
	last := run(t, Config{Setup: d.setup, Saver: k, Start: true, Rounds: 2, Microphones: []Microphone{&flaky{Microphone: files.Microphone(), from: at1 + 5, to: at1 + 6.1}}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if got := warnings(last); !slices.Contains(got, round.MicrophoneGone) || !slices.Contains(got, round.MicrophoneBack) || slices.Contains(got, round.SoundLost) {
		t.Errorf("warnings %v", got)
	}
	first := k.rounds[0]
	if len(first.Facts.Takes) != 1 || math.Abs(first.Facts.Takes[0].To-(at1+5)) > 0.05 || first.Facts.Complete || first.Judged != nil || first.Reason == "" {
		t.Errorf("kept %+v", first.Facts)
	}
	// Back at 8.85 s, on the bar line at 10.25 s the count-in begins again and on the next one take 1.
	if second := k.rounds[1]; math.Abs(second.Facts.Takes[0].From-(12.75-0.3)) > 0.001 {
		t.Errorf("begun again %+v", second.Facts)
	}
}

// absent is a MIDI port that is not there at first.
type absent struct{ MIDIPort }

func (absent) Absent() bool { return true }

func TestMIDIPortThatIsNotThereIsAwaited(t *testing.T) {
	const rate = 16000
	for name, want := range map[string]string{"Keys": "The MIDI port Keys is not there yet: plug it in; the round waits for it.", "": "No MIDI port is there yet: plug the instrument in; the round waits for it."} {
		e := drive(t, Config{Setup: theDemo().setup, MIDIPorts: []MIDIPort{absent{namedPort(name)}}}, rate, []string{"m"}, nil)
		e.block(0, Block{Time: 0, Samples: make([]float32, 160)})
		if n := e.notices; len(n) != 1 || n[0].Warning != round.KeyboardGone || n[0].Text != want {
			t.Errorf("before: %+v", n)
		}
		e.act(round.Event{Kind: round.Pressed, Action: round.GoOn})
		if n := e.notices; n[len(n)-1].Text != want {
			t.Errorf("at a start that has to wait: %+v", n)
		}
		e.message(0, Message{Status: Back})
		e.message(0, Message{Status: Gone})
		if n := e.notices; !strings.HasPrefix(n[len(n)-1].Text, "The MIDI port is gone: ") {
			t.Errorf("once it has been there: %+v", n)
		}
	}
}

func TestMIDIPortGoneInTheAnswer(t *testing.T) {
	d := theDemo()
	files := d.onForm(d.setup, true)
	k := &keeper{}
	last := run(t, Config{Setup: d.setup, Saver: k, Start: true, Rounds: 1, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{&unplugged{MIDIPort: files.MIDIPort(), at: 6, back: 9}}})
	if got := warnings(last); !slices.Contains(got, round.KeyboardGone) {
		t.Errorf("warnings %v", got)
	}
	f := k.rounds[0]
	file, err := midiin.ReadFile(f.Answer)
	if err == nil {
		t.Errorf("%s is left although it was saved", f.Answer)
	}
	if len(f.Takes) != 2 || f.Facts.Complete || f.Facts.Answer.Empty() || last.Result.Judged != nil || len(file.Events) > 0 {
		t.Errorf("kept %+v", f.Facts)
	}
}

func TestSpeakerIsAskedAndGoes(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.Swing = 2
	files := d.onForm(setup, true)
	sp := &speaker{statuses: make(chan Status)}
	close(sp.statuses)
	run(t, Config{Setup: setup, Speaker: sp, Start: true, Rounds: 1, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if want := []string{"start Cm7 | Fm7 | G7b9 | Cm7 at 0.25, swing 2, muted 0", "stop"}; !slices.Equal(sp.asked, want) {
		t.Errorf("%q, want %q", sp.asked, want)
	}

	sp = &speaker{statuses: make(chan Status, 2)}
	sp.statuses <- Gone
	sp.statuses <- Back
	files = d.onForm(setup, true)
	last := run(t, Config{Setup: setup, Speaker: sp, Start: true, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if got := warnings(last); !slices.Contains(got, round.SpeakerGone) || !slices.Contains(got, round.SpeakerBack) {
		t.Errorf("warnings %v, asked %q", got, sp.asked)
	}
}

// Without any device a session waits, says for what, and ends when it is asked to.
func TestNoDevices(t *testing.T) {
	d := theDemo()
	s, err := New(Config{Setup: d.setup, Folder: t.TempDir(), Start: true, Clock: stillClock{}})
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error)
	go func() { done <- s.Run(t.Context()) }()
	asked := false
	for snapshot := range s.Snapshots() {
		if snapshot.View.WaitsFor == "microphone" && !asked {
			asked = true
			s.Do(round.Quit, 0)
		}
	}
	if err := <-done; err != nil || !asked {
		t.Errorf("%v, waited: %v", err, asked)
	}
}

type stillClock struct{}

func (stillClock) Now() float64 { return 3 }

// broken is a microphone that cannot be read.
type brokenMicrophone struct{ Microphone }

var errBroken = errors.New("the driver gave up")

func (brokenMicrophone) Read(context.Context) (Block, error) { return Block{}, errBroken }

func TestMicrophoneThatCannotBeRead(t *testing.T) {
	d := theDemo()
	files := d.onForm(d.setup, true)
	s, err := New(Config{Setup: d.setup, Folder: t.TempDir(), Microphones: []Microphone{brokenMicrophone{files.Microphone()}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Run(t.Context()); !errors.Is(err, errBroken) {
		t.Errorf("%v", err)
	}
}

func TestConfigsThatCannotWork(t *testing.T) {
	d := theDemo()
	if _, err := New(Config{Folder: t.TempDir()}); err == nil {
		t.Error("a setup without a chart works")
	}
	if _, err := New(Config{Setup: d.setup}); err == nil {
		t.Error("a session without a folder works")
	}
	slow := NewFiles([]Placed{{0, make([]float32, 8000)}}, 8000, nil, 1, true)
	if _, err := New(Config{Setup: d.setup, Folder: t.TempDir(), Microphones: []Microphone{slow.Microphone()}}); err == nil || !strings.Contains(err.Error(), "8000 Hz") {
		t.Errorf("8000 Hz: %v", err)
	}
}

// drive is an engine without goroutines but its clerks', for exact tests: the test itself gives blocks and messages.
func drive(t *testing.T, cfg Config, rate int, microphones, ports []string) *engine {
	t.Helper()
	for _, name := range microphones {
		cfg.Microphones = append(cfg.Microphones, named{name, rate})
	}
	for _, name := range ports {
		cfg.MIDIPorts = append(cfg.MIDIPorts, namedPort(name))
	}
	cfg.Folder = t.TempDir()
	s, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	e := s.engine
	e.disk, e.bench = newClerk(), newClerk()
	t.Cleanup(func() {
		e.act(round.Event{Kind: round.Pressed, Action: round.Quit})
		e.disk.close()
		e.bench.close()
	})
	return e
}

type named struct {
	name string
	rate int
}

func (m named) Name() string                        { return m.name }
func (m named) Rate() int                           { return m.rate }
func (m named) Read(context.Context) (Block, error) { return Block{}, io.EOF }

type namedPort string

func (p namedPort) Name() string                          { return string(p) }
func (p namedPort) Read(context.Context) (Message, error) { return Message{}, io.EOF }

func midi(at float64, bytes ...byte) Message {
	m := Message{Time: at}
	m.Size = copy(m.Bytes[:], bytes)
	return m
}

// Two players with microphones and keyboards of their own: only the singer's sound and the player's notes are recorded.
func TestOwnDevicesInACircle(t *testing.T) {
	d := theDemo()
	setup := d.setup
	setup.Players = []round.Person{{Name: "Alma", Microphone: "left", Keyboard: "a"}, {Name: "Bero", Microphone: "right", Keyboard: "b"}}
	const rate = 16000
	e := drive(t, Config{Setup: setup, Start: true}, rate, []string{"left", "right"}, []string{"a", "b"})
	_, _, answer := FirstRound(setup)
	left, right := tone(0.01, 200, -20, rate), noise(0.01, -30, rate)
	for at := 0.0; at < answer+2; at += 0.01 {
		e.block(0, Block{Time: at, Samples: left})
		e.block(1, Block{Time: at, Samples: right})
		if math.Abs(at-answer-0.5) < 0.005 {
			e.message(0, midi(at, 0x90, 60, 70))
			e.message(1, midi(at, 0x90, 72, 70))
			e.message(1, midi(at, 0xF8, 0)) // no channel message
		}
	}
	if e.answering == nil || len(e.answering.events) != 1 || e.answering.events[0].Data1 != 72 {
		t.Fatalf("answer %+v", e.answering)
	}
	if n := len(e.kept.takes); n != 2 || e.kept.takes[0].ear.name != "left" {
		t.Errorf("%d takes", n)
	}
	<-e.kept.takes[0].done
	if e.ears[1].analyser != nil {
		t.Error("who does not sing is listened to")
	}
}

// Bends and pedals from before the answer stand at its beginning, and the key that goes on is not in it.
func TestAnswerBeginsWithWhatStands(t *testing.T) {
	setup := round.Setup{Timing: round.NoLoop, GoOnKey: 36}
	const rate = 16000
	e := drive(t, Config{Setup: setup}, rate, []string{"m"}, []string{"p"})
	at := 0.0
	until := func(t float64) {
		for ; at < t; at += 0.01 {
			e.block(0, Block{Time: at, Samples: make([]float32, rate/100)})
		}
	}
	until(0.5)
	for _, m := range []Message{midi(0.5, 0xB0, 101, 0), midi(0.5, 0xB0, 100, 0), midi(0.5, 0xB0, 6, 12), midi(0.5, 0xE0, 0, 127), midi(0.5, 0xE0, 0, 80), midi(0.5, 0x90, 50, 70), midi(0.6, 0x80, 50, 0)} {
		e.message(0, m)
	}
	for i := range 4 { // start, take 1, take 2, thinking
		until(float64(1 + i))
		e.message(0, midi(at, 0x90, 36, 70))
		e.message(0, midi(at+0.05, 0x80, 36, 0))
	}
	until(8)
	e.message(0, midi(8, 0x90, 62, 70))
	e.message(0, midi(8.5, 0x90, 62, 0))
	e.message(0, midi(8.6, 0x90, 36, 70))
	until(8.9)
	if e.kept != nil || e.part != round.PartVerdict {
		t.Fatalf("still in %s", e.part)
	}
	var f Finished
	for report := range e.reports {
		if v, ok := report.(verdict); ok {
			f = v.finished
		}
		if _, ok := report.(saved); ok {
			break
		}
	}
	file, err := midiin.ReadFile(f.Answer)
	if err != nil {
		t.Fatal(err)
	}
	notes, _ := midiin.Notes(file, midiin.Options{})
	bent := 62 + 12*(80*128-8192)/8192.0
	if len(notes) != 1 || notes[0].Key != 62 || math.Abs(notes[0].Pitch-bent) > 1e-9 || math.Abs(notes[0].Onset-(8-f.Facts.Answer.From)) > 1e-4 {
		t.Errorf("notes %+v of %+v", notes, f.Facts)
	}
	if f.Judged != nil || !strings.Contains(f.Reason, "silent") {
		t.Errorf("silent takes are judged: %q", f.Reason)
	}
}

// Lost sound becomes silence, so that the time of what follows is right, and it is told how much it was.
func TestOverrunKeepsTheTime(t *testing.T) {
	const rate = 16000
	e := drive(t, Config{Setup: round.Setup{Timing: round.NoLoop}, Start: true}, rate, []string{"m"}, []string{"p"})
	block := tone(0.01, 200, -20, rate)
	for at := 0.0; at < 1; at += 0.01 {
		e.block(0, Block{Time: at, Samples: block})
	}
	e.block(0, Block{Time: 1.128, Samples: block, Lost: 0.128 * rate})
	e.block(0, Block{Time: 1.138, Samples: block})
	s := e.snapshot()
	if last := s.Notices[len(s.Notices)-1]; last.Warning != round.SoundLost || !strings.Contains(last.Text, "128 ms") {
		t.Errorf("notices %+v", s.Notices)
	}
	samples := e.taking.samples
	if len(samples) != int(1.148*rate) {
		t.Errorf("%d samples", len(samples))
	}
	for i, x := range samples[rate:][:int(0.128*rate)] {
		if x != 0 {
			t.Fatalf("lost sample %d is %g", i, x)
		}
	}
	if !slices.Equal(samples[int(1.128*rate):][:len(block)], rounding(block)) {
		t.Error("the sound after the hole is not where it belongs")
	}
}

func rounding(samples []float32) []float32 {
	out := make([]float32, len(samples))
	for i, x := range samples {
		out[i] = rounded(x)
	}
	return out
}

// Messages of two ports, late ones too, reach the machine in the order of their times.
func TestMessagesAreTakenInOrder(t *testing.T) {
	e := drive(t, Config{Setup: round.Setup{Timing: round.NoLoop}}, 16000, []string{"m"}, []string{"p", "q"})
	e.block(0, Block{Samples: make([]float32, 160)})
	for i, at := range []float64{0.03, 0.01, 0.02, 0.01, 0.04} {
		e.message(i%2, midi(at, 0x90, byte(60+i), 70))
	}
	var keys []byte
	for _, p := range e.queue {
		keys = append(keys, p.event.Data1)
	}
	if want := []byte{61, 63, 62, 60, 64}; !slices.Equal(keys, want) {
		t.Errorf("%v, want %v", keys, want)
	}
	e.tick(0.055)
	if len(e.queue) != 2 || len(e.played) != 3 {
		t.Errorf("%d wait, %d were told", len(e.queue), len(e.played))
	}
}

// handClock is a clock that the test sets.
type handClock struct{ now float64 }

func (c *handClock) Now() float64 { return c.now }

// A microphone that stops to give sound without saying so does not stop the time: the clock takes over after a while.
func TestClockGoesOnWithoutSound(t *testing.T) {
	clock := &handClock{}
	e := drive(t, Config{Setup: theDemo().setup, Start: true, Clock: clock}, 16000, []string{"m"}, []string{"p"})
	for at := 0.0; at < 3; at += 0.01 {
		e.block(0, Block{Time: at, Samples: noise(0.01, -60, 16000)})
	}
	clock.now = 3.3
	if e.stalled(); math.Abs(e.now-3) > 0.02 {
		t.Errorf("after a short pause it is %g s", e.now)
	}
	clock.now = 4
	if e.stalled(); e.now != 4 {
		t.Errorf("without sound it is %g s", e.now)
	}
	e.block(0, Block{Time: 4, Samples: noise(0.01, -60, 16000)})
	if end := e.taking.from + int64(len(e.taking.samples)); end != 4.01*16000 { // the missing second is silence
		t.Errorf("the take reaches to sample %d", end)
	}
}

// However the sound is cut into blocks, the same is recorded and the machine does the same.
func TestBlocksOfAnySize(t *testing.T) {
	const rate = 16000
	sound := join(noise(1, -60, rate), tone(1, 220, -20, rate), noise(3, -60, rate), tone(1, 247, -20, rate), noise(3, -60, rate))
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(seed, 0))
		e := drive(t, Config{Setup: round.Setup{Timing: round.NoLoop}, Start: true}, rate, []string{"m"}, []string{"p"})
		for at := 0; at < len(sound); {
			sizes := []int{1, 64, 128, 160, 441, 480, 1024, 4096}
			n := min(sizes[rng.IntN(len(sizes))], len(sound)-at)
			e.block(0, Block{Time: float64(at) / rate, Samples: sound[at : at+n]})
			at += n
		}
		if e.part != round.PartThinking || len(e.kept.takes) != 2 {
			t.Fatalf("in %s with %d takes", e.part, len(e.kept.takes))
		}
		for i, take := range e.kept.takes {
			<-take.done
			recorded, err := soundfile.Read(take.path)
			if err != nil {
				t.Fatal(err)
			}
			if want := rounding(sound[take.from:][:take.length]); !slices.Equal(recorded.Samples, want) {
				t.Fatalf("take %d differs from what was sung", i+1)
			}
		}
		// Take 1 ends 1.5 s after its voice, take 2 begins there, less the room for an early voice.
		if first, second := e.kept.takes[0], e.kept.takes[1]; first.from+int64(first.length) != second.from || math.Abs(float64(second.from)/rate-3.2) > 0.05 {
			t.Fatalf("take 1 from %d, %d long, take 2 from %d", first.from, first.length, second.from)
		}
	}
}
