package practice

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"larkhand/internal/bleed"
	"larkhand/internal/round"
	"larkhand/internal/sound/synth"
	"larkhand/midiin"
	"larkhand/voice"
)

// settle is how far, in s, the machine is run behind the newest sound: MIDI messages and voice frames of the same moment are there by then.
const settle = 0.03

// longestStall is how long, in s, no sound may come before the clock alone drives the machine (own choice: the longest
// buffers that were measured are 0.2 s).
const longestStall = 0.5

const (
	noteOff = 0x80
	noteOn  = 0x90
)

// engine is the session's state. Its methods are called by the session's goroutine, but for what runs in jobs of the clerks.
type engine struct {
	cfg     Config
	setup   round.Setup
	machine *round.Machine
	ears    []*ear
	ports   []string // names
	now     float64  // s on the audio clock: the end of the newest sound, or the clock's time
	heardAt float64  // the end of the newest sound
	started bool
	part    round.Part

	queue     []playedMessage // that the machine is to be told yet, in order of time
	played    []playedMessage // of the last keepSeconds
	standings []standing      // by port, up to the oldest of played

	reference Reference // nil: what the speaker sends is not known
	player    Player    // nil: nothing can be heard again
	asked     int       // sounds that were asked for or ended
	looping   bool
	volume    float64              // dB below full
	ways      map[*ear]*bleed.Path // of the loop into the microphones; belongs to the bench

	kept      *recorded
	before    *recorded // the round that was handed over last; nil once another is recorded
	taking    *recordedTake
	answering *recordedAnswer
	unsynced  bool
	synced    float64

	frames     []voice.Frame
	pitch      Point
	trails     [2][]Point
	understood [2][]voice.Note
	shown      []midiin.Note
	notices    []Notice
	result     *Result
	judging    int
	over       int // rounds that were saved
	outlook    outlook

	disk, bench *clerk
	reports     chan any         // from the clerks: verdict, saved, trouble
	late        []any            // reports that were read while a clerk was busy
	verdicts    map[int]Finished // belongs to the bench
	handed      handed           // likewise
	broken      bool             // an error of the disk was told in this round
}

// playedMessage is a message with its port.
type playedMessage struct {
	time  float64
	port  string
	event midiin.Event
}

func newEngine(cfg Config) (*engine, error) {
	e := &engine{
		cfg: cfg, setup: cfg.Setup, machine: round.NewMachine(cfg.Setup), now: math.Inf(-1), heardAt: math.Inf(-1),
		standings: make([]standing, len(cfg.MIDIPorts)), reports: make(chan any, waiting), verdicts: map[int]Finished{},
		pitch: Point{Pitch: math.NaN(), Level: backgroundFloor}, ways: map[*ear]*bleed.Path{}, volume: cfg.Volume,
	}
	e.reference, _ = cfg.Speaker.(Reference)
	e.player, _ = cfg.Speaker.(Player)
	for _, mic := range cfg.Microphones {
		ear, err := newEar(mic.Name(), mic.Rate())
		if err != nil {
			return nil, fmt.Errorf("microphone %s: %w", mic.Name(), err)
		}
		e.ears = append(e.ears, ear)
	}
	for _, port := range cfg.MIDIPorts {
		e.ports = append(e.ports, port.Name())
	}
	return e, nil
}

func folderName(number int) string { return fmt.Sprintf(roundPrefix+"%04d", number) }

// people are the players, at least one.
func (e *engine) people() []round.Person {
	if len(e.setup.Players) == 0 {
		return []round.Person{{}}
	}
	return e.setup.Players
}

// earOf is the microphone of that name, or the first one.
func (e *engine) earOf(name string) *ear {
	for _, ear := range e.ears {
		if name == "" || ear.name == name {
			return ear
		}
	}
	return nil
}

// tell gives an event to the machine and does what it commands.
func (e *engine) tell(event round.Event) {
	for _, c := range e.machine.Handle(event) {
		e.obey(c)
	}
}

func (e *engine) obey(c round.Command) {
	switch c.Kind {
	case round.ShowPart:
		e.part = c.Part
		e.planAt(c.Part)
	case round.StartLoop:
		e.looping = true
		e.forgetLoop()
		if e.cfg.Speaker != nil {
			e.cfg.Speaker.Start(c.Loop, c.Swing, c.Muted)
		}
	case round.StopLoop:
		e.looping = false
		if e.cfg.Speaker != nil {
			e.cfg.Speaker.Stop()
		}
	case round.MuteParts:
		if e.cfg.Speaker != nil {
			e.cfg.Speaker.Mute(c.Muted)
		}
	case round.BeginTake:
		if c.Take == 1 {
			e.learn(c.Cut)
		}
		e.beginTake(c)
	case round.EndTake:
		e.endTake(c)
	case round.BeginAnswer:
		e.beginAnswer(c)
	case round.EndAnswer:
		e.endAnswer(c)
	case round.Discard:
		e.discard(c)
	case round.JudgeRound:
		e.judging++
		e.outlook.complete = true
		e.judge(c)
	case round.SaveRound:
		e.save(c)
	case round.Warn:
		e.notice(c.Warning, c.Text)
	case round.NoteDown:
		if e.kept != nil {
			e.writeSheet(c.Facts)
		}
	case round.PlaySound:
		e.letHear(c.Sound)
	case round.MarkRound:
		e.mark(c)
		e.planMarked(c.Round, c.Misheard)
	}
}

// begin starts the session when the first time is known, and tells the machine which devices are not there.
func (e *engine) begin(at float64) {
	if e.started {
		return
	}
	e.started, e.now = true, at
	if len(e.ears) == 0 {
		e.tell(round.Event{Kind: round.DeviceLost, Time: at, Lost: round.Microphone})
	}
	for i, port := range e.cfg.MIDIPorts {
		if p, ok := port.(interface{ Absent() bool }); ok && p.Absent() {
			e.tell(round.Event{Kind: round.DeviceLost, Time: at, Lost: round.Keyboard, Device: e.ports[i], Text: awaited(e.ports[i])})
		}
	}
	if len(e.ports) == 0 {
		e.tell(round.Event{Kind: round.DeviceLost, Time: at, Lost: round.Keyboard, Text: noPort})
	}
	if p := e.outlook.first; p != nil {
		e.takePlan(*p)
	}
	if e.cfg.Start {
		e.tell(round.Event{Kind: round.Pressed, Time: at, Action: round.GoOn})
	}
}

// noPort is said where no MIDI port is used.
const noPort = "No MIDI port is chosen: choose one in the settings, since the answer is played on it."

// awaited is said of a MIDI port that is not there at first; name is "" where any will do.
func awaited(name string) string {
	if name == "" {
		return "No MIDI port is there yet: plug the instrument in; the round waits for it."
	}
	return "The MIDI port " + name + " is not there yet: plug it in; the round waits for it."
}

// block takes sound of a microphone.
func (e *engine) block(index int, b Block) {
	mic := e.ears[index]
	switch b.Status {
	case Gone:
		e.tell(round.Event{Kind: round.DeviceLost, Time: e.now, Lost: round.Microphone, Device: mic.name}) // with all of its sound
		mic.rest()
		return
	case Back:
		if e.started {
			e.tick(b.Time)
		}
		mic.loop = loopback{} // it may stand elsewhere now
		e.tell(round.Event{Kind: round.DeviceBack, Time: e.now - settle, Lost: round.Microphone, Device: mic.name})
	}
	if len(b.Samples) == 0 {
		return
	}
	e.begin(b.Time)
	missing := mic.begin(b.Time)
	if lost := max(b.Lost, missing); lost > 0 && b.Status == Fine {
		e.tell(round.Event{Kind: round.Overrun, Time: e.now - settle, Device: mic.name, Seconds: float64(lost) / float64(mic.rate)})
	}
	silence := make([]float32, min(missing, mic.chunk))
	for missing > 0 {
		n := min(missing, mic.chunk)
		e.sound(mic, silence[:n], true)
		missing -= n
	}
	e.sound(mic, b.Samples, b.Filler)
}

// sound takes samples that follow the ones before; filler says nothing of the microphone's level.
func (e *engine) sound(mic *ear, samples []float32, filler bool) {
	for len(samples) > 0 {
		var chunk []float32
		chunk, samples = mic.add(samples)
		if t := e.taking; t != nil && t.ear == mic {
			t.samples = append(t.samples, chunk...)
			e.writeTake()
		}
		if !filler {
			e.weigh(mic, chunk)
		}
		e.listen(mic, chunk)
		e.heardAt = math.Max(e.heardAt, mic.time(mic.end))
		e.tick(e.heardAt)
	}
}

// weigh makes of a chunk what the machine is to know of its level.
func (e *engine) weigh(mic *ear, chunk []float32) {
	mic.watch.others = e.looping && e.part.Take() == 0
	for _, f := range mic.watch.next(chunk, mic.detector.on) {
		e.tell(round.Event{Kind: round.Level, Time: e.now - settle, Device: mic.name, Trouble: f.trouble, Text: f.text})
	}
}

// listen makes of a chunk what the machine is to know of the voice.
func (e *engine) listen(mic *ear, chunk []float32) {
	e.hearAlone(mic, chunk)
	alone := e.part == round.PartLoopAlone
	sings := alone || e.part == round.PartCountIn || e.part.Take() > 0
	if !sings || e.singerEar() != mic {
		mic.rest()
		mic.detector.stop(e.now) // the machine takes it for granted
		return
	}
	e.follow(mic, chunk, func(f voice.Frame) {
		e.see(f)
		change, at := mic.detector.next(f, alone)
		if change != nothing {
			e.tell(round.Event{Kind: turnEvents[change], Time: e.now - settle, Since: at, Device: mic.name})
		}
	})
}

// turnEvents are what the machine is told of the voice.
var turnEvents = [...]round.EventKind{began: round.VoiceStarted, paused: round.VoicePaused, ended: round.VoiceEnded}

// message takes a MIDI message.
func (e *engine) message(index int, m Message) {
	port := e.ports[index]
	switch m.Status {
	case Gone:
		e.tell(round.Event{Kind: round.DeviceLost, Time: e.now, Lost: round.Keyboard, Device: port})
		return
	case Back:
		e.tell(round.Event{Kind: round.DeviceBack, Time: e.now - settle, Lost: round.Keyboard, Device: port})
	}
	if m.Size < 2 || m.Size > 3 || m.Bytes[0] < noteOff || m.Bytes[0] >= 0xF0 || math.IsNaN(m.Time) {
		return
	}
	p := playedMessage{time: m.Time, port: port, event: midiin.Event{Status: m.Bytes[0], Data1: m.Bytes[1], Data2: m.Bytes[2]}}
	if m.Size == 2 {
		p.event.Data2 = 0
	}
	at, _ := slices.BinarySearchFunc(e.queue, m.Time, func(q playedMessage, t float64) int {
		if q.time <= t {
			return -1
		}
		return 1
	})
	e.queue = slices.Insert(e.queue, at, p)
}

// act takes what a player asks for.
func (e *engine) act(event round.Event) {
	event.Time = math.Max(e.now-settle, 0)
	if event.Kind == round.Pressed {
		e.ask(event)
		return
	}
	e.tell(event)
}

// tick lets time go on: the machine is told, in order, what happened until a settling time ago.
func (e *engine) tick(now float64) {
	e.begin(now)
	e.now = math.Max(e.now, now)
	until := e.now - settle
	for len(e.queue) > 0 && e.queue[0].time <= until {
		p := e.queue[0]
		e.queue = slices.Delete(e.queue, 0, 1)
		e.play(p)
	}
	e.tell(round.Event{Kind: round.Tick, Time: until})
	e.forget(until - keepSeconds)
	e.syncAnswer()
}

// stalled lets the clock go on alone where no sound has come for a while.
func (e *engine) stalled() {
	now := e.cfg.Clock.Now()
	if now-e.heardAt > longestStall {
		e.tick(now)
	}
}

// play tells the machine of a message and records it.
func (e *engine) play(p playedMessage) {
	goOnKey := e.machine.GoOnKey() != 0 && int(p.event.Data1) == e.machine.GoOnKey() && p.event.Status&0xF0 <= noteOn
	event := round.Event{Kind: round.Tick, Time: p.time, Device: p.port, Key: int(p.event.Data1)}
	switch p.event.Status & 0xF0 {
	case noteOn:
		event.Kind = round.NotePlayed
		if p.event.Data2 == 0 {
			event.Kind = round.NoteReleased
		}
	case noteOff:
		event.Kind = round.NoteReleased
	case controlChange:
		const pedalDown = 64 // MIDI 1.0
		if p.event.Data1 == sustain {
			event.Kind = round.PedalUp
			if p.event.Data2 >= pedalDown {
				event.Kind = round.PedalDown
			}
		}
	}
	if goOnKey {
		e.tell(event)
		return
	}
	before := e.answering
	e.played = append(e.played, p)
	e.tell(event)
	if a := e.answering; a != nil && a == before && a.takes(p.port) { // one that has just begun took it from e.played
		e.answer(a.placed(p))
	}
}

// forget lets go of messages that are too old for an answer to begin with; what they leave standing is kept.
func (e *engine) forget(before float64) {
	n := 0
	for n < len(e.played) && e.played[n].time < before {
		e.standings[slices.Index(e.ports, e.played[n].port)].take(e.played[n].event)
		n++
	}
	if n > 0 {
		e.played = slices.Delete(e.played, 0, n)
	}
}

// forgetLoop begins anew to learn how the loop comes back.
func (e *engine) forgetLoop() {
	for _, mic := range e.ears {
		mic.loop.forget()
	}
}

// changeVolume plays the loop louder or softer.
func (e *engine) changeVolume(db float64) {
	if e.cfg.Speaker == nil {
		return
	}
	e.volume = math.Max(synth.MinVolume, math.Min(synth.MaxVolume, e.volume+db))
	e.cfg.Speaker.SetVolume(e.volume)
	e.forgetLoop()
	e.act(round.Event{Kind: round.VolumeChanged})
}

// singerEar is the microphone of who sings.
func (e *engine) singerEar() *ear {
	singer, _ := e.machine.Turn()
	return e.earOf(e.people()[singer].Microphone)
}

// heed takes a report of a clerk.
func (e *engine) heed(report any) {
	switch r := report.(type) {
	case verdict:
		e.conclude(r)
	case saved:
		e.keep(r)
	case learned:
		e.know(r)
	case understood:
		e.hear(r)
	case marked:
		e.markSet(r)
	case planned:
		e.takePlan(r)
	case trouble:
		if !e.broken { // the others follow from it
			e.broken = true
			e.notice(round.NotKept, "The recording cannot be written: "+r.err.Error())
		}
	}
}

// conclude shows a verdict.
func (e *engine) conclude(v verdict) {
	people := e.people()
	e.result = &Result{Finished: v.finished, Took: v.took, Singer: people[v.finished.Facts.Singer], Player: people[v.finished.Facts.Player]}
	if !v.finished.Facts.Complete {
		return
	}
	e.judging--
	if v.finished.Judged == nil {
		e.tell(round.Event{Kind: round.CannotJudge, Time: e.now - settle, Text: "This round cannot be judged: " + v.finished.Reason + "."})
	}
}

// keep notes that a round was saved.
func (e *engine) keep(s saved) {
	if e.result == nil || e.result.Facts.Round != s.round {
		return
	}
	r := *e.result
	r.Saved, r.Journal = s.err == nil, s.told
	switch {
	case errors.Is(s.err, ErrLeft):
	case s.err != nil:
		r.SaveError = s.err.Error()
		e.notice(round.NotKept, "The round could not be saved and is kept in "+r.Folder+": "+r.SaveError)
	}
	e.result = &r
}

// onDisk and onBench give a job to a clerk. Reports are read meanwhile, so that neither waits for the other.
func (e *engine) onDisk(job func())  { e.give(e.disk, job) }
func (e *engine) onBench(job func()) { e.give(e.bench, job) }

func (e *engine) give(c *clerk, job func()) {
	for {
		select {
		case c.jobs <- job:
			return
		case r := <-e.reports:
			e.late = append(e.late, r)
		}
	}
}

// report is called in a clerk's job.
func (e *engine) report(r any) { e.reports <- r }
