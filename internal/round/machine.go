package round

import (
	"math"

	"larkhand/internal/loop"
	"larkhand/internal/music"
)

// Machine is a live practice session as a state machine: events with their times in, commands out. It has no device,
// goroutine or clock of its own and must not be used from two goroutines at once. Make one with NewMachine.
//
// What it promises, whatever events come in whatever order:
//
//   - Command.At never goes back, and neither does Command.Cut of those that begin or end a recording.
//   - Each BeginTake has one EndTake and each BeginAnswer one EndAnswer before anything else is recorded, and in a round
//     each take and the answer is recorded once, unless it was thrown away in between.
//   - The parts of a round come in order, none left out that the Setup has, unless a player asks for it (Repeat, Skip,
//     Stop, Quit, SingAgain), a device that the part needs is gone, or nobody is there. GoOn and an early first note shorten a part; a
//     first note while the phrase is worked out begins the answer.
//   - What was recorded when a device went away is saved. Only Repeat and SingAgain throw a finished take away.
//   - Nothing that a player asked to hear sounds while a microphone records.
//   - Quit ends it from every part; after that no command comes.
type Machine struct {
	setup Setup
	now   float64   // latest time of any event
	gave  float64   // At of the latest command
	out   []Command // of the Handle under way

	part     Part
	began    float64 // when the part began
	deadline float64 // when the part ends by itself; +Inf where it waits
	take1    float64 // when take 1 begins, from loop alone and count-in on
	waits    bool    // idle until lost devices are back

	loop    *loop.Loop // that is running; nil for none
	stale   bool       // it must be started anew before the next round: its speaker was gone
	tempo   float64    // of this round
	shift   int        // semitones above Setup.Key and Setup.Chart of this round
	next    change     // what the next round is to have
	planned *int       // semitones above Setup.Key that are planned for the next round; nil for none
	muted   Backing
	leadIn  bool // the loop is to play alone before the next round
	started float64
	rested  float64 // when the player was last told to rest

	steps bool // numbers and letters are written down
	sound soundState

	learning bool // the next key or pedal is to go on from then on

	turn  int // of the circle
	round int
	redo  bool // the next round keeps the number
	open  bool // a round is under way: facts are gathered
	facts Facts

	recording Part    // take or answer being recorded; PartIdle for none
	cut       float64 // latest Cut
	short     bool    // something in the round was cut short
	heard     [3]bool // by take number: a voice was heard
	hold      bool    // the take's bars are over, and its last note still sounds
	again     bool    // the count-in is that of take 2, which is sung again
	unbound   bool    // the thinking room of this round has no bars
	inPieces  bool    // the answer is played in pieces
	newPiece  bool    // the next note begins a piece
	barLine   float64 // on the form: where the part ends, hold and extensions apart

	voice voiceState
	hands handState
	lost  [3]map[string]string // by DeviceKind: what is said of the devices that are gone, by name; "" for the usual sentence
	said  map[Warning]float64
	gap   float64 // s of sound lost since the last warning about it
}

// change is what a player asked for under way.
type change struct {
	tempo float64
	shift int
}

// voiceState is what is known of the singer's voice.
type voiceState struct {
	on           bool
	since, until float64 // when it last began and ended; -Inf before
	paused       float64 // when it last paused shortly; -Inf before
}

// handState is what is known of the player's hands.
type handState struct {
	down   [128]bool // keys
	count  int       // of keys down
	notes  int       // struck in the answer
	struck float64   // when a key was last struck
	latest float64   // when a key was last struck or let go
	early  float64   // first note struck since the voice was last heard in take 2; +Inf for none
}

// Own choices of time, in s.
const (
	startDelay    = 0.25  // from StartLoop to the loop's first bar, so that a speaker's buffers (up to 150 ms, measured on PulseAudio) are filled
	takeSilence   = 1.5   // after which a take in free time is over: a breath inside a phrase takes less than 1 s
	pieceSilence  = 1.5   // without a key down, after which the next note begins a piece: shorter pauses are part of playing
	pieceHeld     = 3.0   // since the last key was struck, after which the next note begins a piece even where it is held: no note of a phrase is that long
	playSilence   = 3.0   // after which an answer in free time is over: pauses of searching of more than 1 s are common
	longestTake   = 120.0 // after which a take ends in any case: well under what voice takes in
	longestAnswer = 240.0 // after which an answer ends in any case: an answer that is searched for may take several times as long as the phrase
	longestPieces = 900.0 // after which an answer in pieces ends in any case: somebody has forgotten it
	longestSound  = 600.0 // that can be heard again: far more than a take
	longestWait   = 20.0  // of a take in free time without a voice, after which its recording starts anew
	longestGap    = 60.0  // between two events; a longer one means that the machine slept
	bounce        = 0.25  // after a part began "go on" is not taken: one press must not be two
	onsetRoom     = 0.3   // before its bar line, from which on a take is recorded where nothing else sounds: voices come in early and are noticed late
	upbeatMargin  = 0.15  // before a voice that sings an upbeat; a plosive or breath comes before the pitch
	longestBeat   = 1.5   // of an upbeat or of a held last note
	latestTime    = 4e9   // beyond, a float64 tells moments less than half a microsecond apart no longer from one another
	sameMoment    = 1e-6  // two bar lines that were reckoned on different ways are one
	restAfter     = 1800  // of practice after which the player is told to rest
)

// Upbeats, in beats: how far before its bar line a take may begin.
const (
	upbeatAfterCount = 2 // nothing else is sung in the count-in
	upbeatAfterTake  = 1 // longer ago it is the end of take 1
)

// MaxCutBack is how far Command.Cut may lie before Command.At, s: so much sound must be kept outside of takes.
const MaxCutBack = longestBeat + upbeatMargin

// NewMachine prepares a session in PartIdle; the action GoOn starts it. It panics where setup.Check has something to say.
func NewMachine(setup Setup) *Machine {
	if err := setup.Check(); err != nil {
		panic("round: setup: " + err.Error())
	}
	m := &Machine{setup: setup, tempo: setup.Tempo, next: change{tempo: setup.Tempo}, leadIn: setup.LeadIn, muted: setup.Muted, steps: setup.Steps, said: map[Warning]float64{}}
	m.gave, m.now, m.cut = math.Inf(-1), math.Inf(-1), math.Inf(-1)
	m.started, m.rested = math.Inf(1), math.Inf(1)
	for i := range m.lost {
		m.lost[i] = map[string]string{}
	}
	m.voice = voiceState{since: math.Inf(-1), until: math.Inf(-1), paused: math.Inf(-1)}
	m.deadline = math.Inf(1)
	return m
}

// Handle takes one event and returns what is to be done, in order; nil for nothing. What became due before the event
// comes first, each command at its own time.
func (m *Machine) Handle(e Event) []Command {
	m.out = nil
	if m.part == PartOver {
		return nil
	}
	e.Time = m.clean(e.Time)
	m.advance(e.Time)
	m.take(e)
	return m.out
}

// clean gives a time that can be worked with: finite, and not long ago.
func (m *Machine) clean(t float64) float64 {
	switch {
	case math.IsNaN(t) || math.Abs(t) > latestTime:
		if math.IsInf(m.now, -1) {
			return 0
		}
		return m.now
	case t < m.now-longestGap:
		return m.now
	}
	return t
}

// advance lets time go on to t.
func (m *Machine) advance(t float64) {
	if m.part != PartIdle && t-m.now > longestGap {
		m.sleep(t)
	}
	for m.deadline <= t {
		due := m.deadline
		m.now = math.Max(m.now, due)
		m.deadline = math.Inf(1)
		m.expire(due)
	}
	m.now = math.Max(m.now, t)
}

// take does what an event itself asks for.
func (m *Machine) take(e Event) {
	switch e.Kind {
	case VoiceStarted, VoiceEnded, VoicePaused:
		m.hear(e)
	case NotePlayed, NoteReleased:
		m.feel(e)
	case PedalDown:
		if m.learning && m.mine(Keyboard, e.Device) {
			m.learning, m.setup.GoOnKey, m.setup.GoOnPedal = false, 0, true
			return
		}
		if m.setup.GoOnPedal && m.part != PartAnswer {
			m.act(GoOn, 0)
		}
	case Pressed:
		m.act(e.Action, e.Amount)
	case DeviceLost:
		m.lose(e)
	case DeviceBack:
		m.regain(e)
	case Overrun:
		m.overrun(e)
	case Level:
		m.level(e)
	case VolumeChanged:
		m.leadIn = m.setup.LeadIn
	case CannotJudge:
		m.warn(Unjudged, m.now, e.Text)
	case KeyPlanned:
		m.takePlan(e.Amount)
	case Wrote:
		m.write(e.Text, e.Time)
	case SoundBegan:
		m.soundBegan(e.Seconds)
	}
}

// emit gives a command.
func (m *Machine) emit(c Command) {
	c.At = math.Max(c.At, m.gave)
	c.Round = m.round
	m.gave = c.At
	m.out = append(m.out, c)
}

// enter begins a part that lasts until deadline. What sounds goes on only while the phrase is worked out.
func (m *Machine) enter(p Part, at, deadline float64) {
	if p != PartLetters && p != PartThinking {
		m.hush(at)
	}
	m.again = m.again && p == PartCountIn
	if !p.listens() && m.voice.on {
		m.voice.on, m.voice.until = false, at
	}
	m.part, m.began, m.deadline, m.barLine, m.hold = p, at, deadline, deadline, false
	m.waits = false
	m.emit(Command{Kind: ShowPart, At: at, Part: p})
}

// GoOnKey is the MIDI key that goes on and is no note of an answer: that of the setup, or one that was learned; 0 for none.
func (m *Machine) GoOnKey() int { return m.setup.GoOnKey }

// singer and player are who sings and who plays at this turn of the circle.
func (m *Machine) singer() int { return m.turn % len(m.setup.people()) }
func (m *Machine) player() int { return (m.turn + 1) % len(m.setup.people()) }

// Turn tells who sings and who plays, as indices into Setup.Players: in the round under way or at its verdict, else in the next one.
func (m *Machine) Turn() (singer, player int) {
	if m.part == PartVerdict {
		return m.facts.Singer, m.facts.Player
	}
	return m.singer(), m.player()
}

// bar and beat are lengths in s at the tempo of the loop that runs; 0 without one.
func (m *Machine) bar() float64 {
	if m.loop == nil {
		return 0
	}
	return m.loop.BarLength()
}

func (m *Machine) beat() float64 {
	if m.loop == nil {
		return 0
	}
	return m.loop.BarLength() / float64(m.loop.Chart.Meter.Beats)
}

// onForm is true where parts have bars.
func (m *Machine) onForm() bool { return m.setup.Timing == OnForm }

// key is the key of the phrase, shift semitones above the one that was set.
func (m *Machine) key(shift int) *music.Key {
	if m.setup.Key == nil {
		return nil
	}
	k := TransposedKey(*m.setup.Key, shift)
	return &k
}
