package practice

import (
	"context"
	"io"
	"math"
	"slices"
	"sync"
	"time"

	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

// fileBlock is the length of the blocks that a file gives, s: what a small device buffer holds.
const fileBlock = 0.01

// Files stands in for a microphone and a MIDI port with a sound and with messages, in real time or as fast as the session
// goes. Both tell the same time: the sound's first sample lies at 0 s. Fast or not, the session sees the same in the same order.
type Files struct {
	sound    []float32
	rate     int
	spans    [][2]int // samples from and to which there is sound
	messages []Message
	end      float64 // s; silence follows the sound until then
	times    int     // that sound and messages come
	period   float64 // s from one time to the next
	fast     bool

	mu      sync.Mutex
	changed *sync.Cond
	given   float64   // s: the end of the sound that was given out
	taking  bool      // a block was given out and is not yet taken
	nextAt  float64   // when the message comes that the port waits for; -Inf while one is being taken, +Inf after the last
	began   time.Time // when the first block was asked for; only in real time
}

// Placed is a sound that begins at a time.
type Placed struct {
	At      float64 // s
	Samples []float32
}

// NewFiles lays sounds, all at one rate in Hz, and messages out in time. Where sounds overlap they add up. After the last of them silence follows for
// rest seconds; then the microphone ends.
func NewFiles(sounds []Placed, rate int, messages []Message, rest float64, fast bool) *Files {
	f := &Files{rate: rate, fast: fast, messages: slices.Clone(messages), times: 1, nextAt: math.Inf(1)}
	for _, s := range sounds {
		from := max(0, int(math.Round(s.At*float64(rate))))
		if more := from + len(s.Samples) - len(f.sound); more > 0 {
			f.sound = append(f.sound, make([]float32, more)...)
		}
		for i, x := range s.Samples {
			f.sound[from+i] += x
		}
		f.spans = append(f.spans, [2]int{from, from + len(s.Samples)})
	}
	f.end = float64(len(f.sound)) / float64(rate)
	slices.SortStableFunc(f.messages, func(a, b Message) int {
		switch {
		case a.Time < b.Time:
			return -1
		case a.Time > b.Time:
			return 1
		}
		return 0
	})
	if n := len(f.messages); n > 0 {
		f.end = math.Max(f.end, f.messages[n-1].Time)
	}
	f.end += rest
	f.changed = sync.NewCond(&f.mu)
	return f
}

// Repeat lets sound and messages come so many times, each period s after the one before. What does not fit into a period is
// left out, but for the last time. It must be called before anything is read.
func (f *Files) Repeat(times int, period float64) {
	f.times, f.period = max(1, times), period
	f.end += float64(f.times-1) * period
}

// copyAt fills dst with the sound from a sample on. filler is true where there is none.
func (f *Files) copyAt(dst []float32, at int) (filler bool) {
	period := int(math.Round(f.period * float64(f.rate)))
	filler = true
	for i := range dst {
		place := at + i
		if f.times > 1 {
			place -= min(place/period, f.times-1) * period
		}
		dst[i] = 0
		if place < len(f.sound) {
			dst[i] = f.sound[place]
			filler = filler && !f.covered(place)
		}
	}
	return filler
}

func (f *Files) covered(place int) bool {
	for _, span := range f.spans {
		if place >= span[0] && place < span[1] {
			return true
		}
	}
	return false
}

// message is a message by its number, counted over all times; ok is false after the last.
func (f *Files) message(number int) (m Message, ok bool) {
	if number >= f.times*len(f.messages) {
		return m, false
	}
	m = f.messages[number%len(f.messages)]
	m.Time += float64(number/len(f.messages)) * f.period
	return m, true
}

// OpenFiles reads a sound file and a MIDI file whose beginnings lie at 0 s. midi may be empty.
func OpenFiles(sound, midi string, rest float64, fast bool) (*Files, error) {
	s, err := soundfile.Read(sound)
	if err != nil {
		return nil, err
	}
	var messages []Message
	if midi != "" {
		if messages, err = ReadMessages(midi); err != nil {
			return nil, err
		}
	}
	return NewFiles([]Placed{{Samples: s.Samples}}, s.Rate, messages, rest, fast), nil
}

// ReadMessages reads the channel messages of a MIDI file.
func ReadMessages(path string) ([]Message, error) {
	file, err := midiin.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return Messages(file.Events, 0), nil
}

// Messages are the events of a MIDI file, by seconds later.
func Messages(events []midiin.Event, by float64) []Message {
	out := make([]Message, len(events))
	for i, e := range events {
		m := Message{Time: e.Time + by}
		m.Size = copy(m.Bytes[:], e.Append(nil))
		out[i] = m
	}
	return out
}

// Microphone gives the sound. It may be read by one session.
func (f *Files) Microphone() *FileMicrophone { return &FileMicrophone{files: f} }

// MIDIPort gives the messages. It may be read by one session, which must read the microphone too: that moves the time on.
func (f *Files) MIDIPort() *FileMIDI {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.nextAt = math.Inf(-1) // it is going to ask
	return &FileMIDI{files: f}
}

// wait waits, with the lock held, until ready or until ctx ends.
func (f *Files) wait(ctx context.Context, ready func() bool) error {
	defer context.AfterFunc(ctx, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.changed.Broadcast()
	})()
	for !ready() && ctx.Err() == nil {
		f.changed.Wait()
	}
	return ctx.Err()
}

// FileMicrophone is a sound that stands in for a microphone.
type FileMicrophone struct {
	files  *Files
	at     int // samples
	buffer []float32
}

// Name is "file".
func (m *FileMicrophone) Name() string { return "file" }

// Rate is the rate of the sound, Hz.
func (m *FileMicrophone) Rate() int { return m.files.rate }

// Read gives the next block: in real time when it is over, fast when all messages before it have been taken.
func (m *FileMicrophone) Read(ctx context.Context) (Block, error) {
	f := m.files
	n := max(1, int(fileBlock*float64(f.rate)))
	from, to := float64(m.at)/float64(f.rate), float64(m.at+n)/float64(f.rate)
	if from >= f.end {
		return Block{}, io.EOF
	}
	if err := f.pace(ctx, to); err != nil {
		return Block{}, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.taking = false
	f.changed.Broadcast()
	if err := f.wait(ctx, func() bool { return f.nextAt > f.given }); err != nil {
		return Block{}, err
	}
	if m.buffer == nil {
		m.buffer = make([]float32, n)
	}
	filler := f.copyAt(m.buffer, m.at)
	m.at += n
	f.given, f.taking = to, true
	f.changed.Broadcast()
	return Block{Time: from, Samples: m.buffer, Filler: filler}, nil
}

// pace waits, in real time, until a time of the sound has come.
func (f *Files) pace(ctx context.Context, until float64) error {
	if f.fast {
		return ctx.Err()
	}
	if f.began.IsZero() {
		f.began = time.Now()
	}
	timer := time.NewTimer(time.Until(f.began.Add(time.Duration(until * float64(time.Second)))))
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// FileMIDI is a list of messages that stands in for a MIDI port.
type FileMIDI struct {
	files *Files
	next  int
}

// Name is "file".
func (p *FileMIDI) Name() string { return "file" }

// Read gives the next message as soon as the sound of its time has been taken.
func (p *FileMIDI) Read(ctx context.Context) (Message, error) {
	f := p.files
	f.mu.Lock()
	defer f.mu.Unlock()
	m, ok := f.message(p.next)
	if !ok {
		f.nextAt = math.Inf(1)
		f.changed.Broadcast()
		return Message{}, io.EOF
	}
	f.nextAt = m.Time
	f.changed.Broadcast()
	if err := f.wait(ctx, func() bool { return f.given >= m.Time && !f.taking }); err != nil {
		return Message{}, err
	}
	p.next++
	f.nextAt = math.Inf(-1)
	return m, nil
}

// FirstRound tells, in s, when the parts of the first round begin in a session that begins at 0 s by itself (Config.Start): the bar lines of
// take 1, take 2 and the answer, for laying out files in time. It needs a setup on the form; with free thinking, or with
// numbers and letters, answer is when these begin.
func FirstRound(setup round.Setup) (take1, take2, answer float64) {
	const step, limit = 1.0, 1e4 // s
	m := round.NewMachine(setup)
	commands := m.Handle(round.Event{Kind: round.Pressed, Action: round.GoOn})
	begins := map[round.Part]float64{}
	for t := 0.0; t < limit; t += step {
		for _, c := range commands {
			if _, ok := begins[c.Part]; c.Kind == round.ShowPart && !ok {
				begins[c.Part] = c.At
			}
		}
		answer, ok := begins[round.PartAnswer]
		switch {
		case setup.Steps:
			answer, ok = begins[round.PartNumbers]
		case setup.ThinkingBars == round.FreeThinking:
			answer, ok = begins[round.PartThinking]
		}
		if ok {
			return begins[round.PartTake1], begins[round.PartTake2], answer
		}
		commands = m.Handle(round.Event{Kind: round.Tick, Time: t})
	}
	panic("practice: a setup that is not on the form has no bar lines to tell")
}
