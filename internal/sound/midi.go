package sound

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"larkhand/internal/practice"
)

const (
	// pollEvery is how often the names of the MIDI ports are looked at: nothing else tells that one has gone. Asking took 10 to 40 ms.
	pollEvery = time.Second
	// midiRoom is how many messages wait to be read; more are counted and dropped (own choice: 2 s of the fastest that a MIDI cable carries).
	midiRoom = 2048
)

// midiSystem opens MIDI inputs: RtMidi, or what a test puts in its place.
type midiSystem interface {
	// names lists the ports.
	names() ([]string, error)
	// open opens the port at an index of names. back is called with every message, by one thread at a time; the bytes are only valid during the call.
	open(index int, back func(bytes []byte)) (shut func(), err error)
	// end gives back what listing holds.
	end()
}

// MIDIInput is an open MIDI port. It is a practice.MIDIPort. A port that goes away is opened again when one of that name comes back.
type MIDIInput struct {
	name    string
	stream  *Stream
	begin   func() (midiSystem, error)
	system  midiSystem // nil until there is one
	absent  bool       // it was not there at first
	delay   float64    // s
	arrived chan arrival
	dropped atomic.Int64
	end     chan struct{}
	ended   chan struct{}
	once    sync.Once
}

var _ practice.MIDIPort = (*MIDIInput)(nil)

// arrival is a message, or a change of the port.
type arrival struct {
	mono   time.Time // when it came; its monotonic clock counts
	bytes  [3]byte
	size   int
	status practice.Status
}

// OpenMIDI opens a MIDI port by its name in List, or the first one for DefaultDevice, on the audio clock of a stream. In a program without devices the error
// is ErrNoDevices.
func OpenMIDI(name string, stream *Stream) (*MIDIInput, error) {
	if newMIDISystem == nil {
		return nil, ErrNoDevices
	}
	system, err := newMIDISystem()
	if err != nil {
		return nil, err
	}
	p, err := openMIDI(name, stream, system)
	if err != nil {
		system.end()
	}
	return p, err
}

func openMIDI(name string, stream *Stream, system midiSystem) (*MIDIInput, error) {
	names, err := system.names()
	if err != nil {
		return nil, err
	}
	index := portNamed(names, name)
	if index < 0 {
		return nil, fmt.Errorf("there is no MIDI port %q; plug the keyboard in, or name one of those that `larkhand devices` lists", name)
	}
	p := newMIDIInput(names[index], stream)
	p.system = system
	shut, err := system.open(index, p.take)
	if err != nil {
		return nil, err
	}
	go p.watch(shut)
	return p, nil
}

func newMIDIInput(name string, stream *Stream) *MIDIInput {
	return &MIDIInput{name: name, stream: stream, begin: newMIDISystem, arrived: make(chan arrival, midiRoom), end: make(chan struct{}), ended: make(chan struct{})}
}

// WaitForMIDI is OpenMIDI for a port that need not be there yet: it is opened as soon as it comes. For DefaultDevice any port will do. In a program without
// devices the error is ErrNoDevices.
func WaitForMIDI(name string, stream *Stream) (*MIDIInput, error) {
	if newMIDISystem == nil {
		return nil, ErrNoDevices
	}
	return waitForMIDI(name, stream, newMIDISystem), nil
}

func waitForMIDI(name string, stream *Stream, begin func() (midiSystem, error)) *MIDIInput {
	p := newMIDIInput(name, stream)
	p.begin = begin
	shut, _ := p.look(nil)
	p.absent = shut == nil
	go p.watch(shut)
	return p
}

// Absent says whether the port was not there when it was asked for; Read then says Back when it comes.
func (p *MIDIInput) Absent() bool { return p.absent }

// SetDelay says how long a message is on its way, s: it is subtracted from the times of messages. It must be called before the first Read.
func (p *MIDIInput) SetDelay(seconds float64) { p.delay = seconds }

// numbers are the client and port numbers that ALSA puts behind a name; they are others each time that the port comes.
var numbers = regexp.MustCompile(` \d+:\d+$`)

// throughPort begins the name of a port of ALSA that nobody plays on: it gives back what is sent to it.
const throughPort = "Midi Through"

// portNamed finds a port by its name, with or without numbers; the first one that can be played on for DefaultDevice; -1 where there is none.
func portNamed(names []string, name string) int {
	for i, n := range names {
		if name == DefaultDevice && !strings.HasPrefix(n, throughPort) || n == name && name != DefaultDevice {
			return i
		}
	}
	for i, n := range names {
		if name != DefaultDevice && numbers.ReplaceAllString(n, "") == numbers.ReplaceAllString(name, "") {
			return i
		}
	}
	return -1
}

// take is the callback of the port.
func (p *MIDIInput) take(bytes []byte) {
	a := arrival{mono: time.Now()}
	if !channelMessage(bytes) {
		return
	}
	a.size = copy(a.bytes[:], bytes)
	select {
	case p.arrived <- a:
	default:
		p.dropped.Add(1)
	}
}

// channelMessage says whether the bytes are one whole channel message of MIDI 1.0.
func channelMessage(b []byte) bool {
	const noteOff, system, programChange, pitchBend = 0x80, 0xF0, 0xC0, 0xE0
	if len(b) == 0 || b[0] < noteOff || b[0] >= system {
		return false
	}
	if kind := b[0] & 0xF0; kind >= programChange && kind < pitchBend { // program change and channel pressure
		return len(b) == 2
	}
	return len(b) == 3
}

// watch sees to it that the port is open, until it is closed.
func (p *MIDIInput) watch(shut func()) {
	defer close(p.ended)
	defer func() {
		if shut != nil {
			shut()
		}
		if p.system != nil {
			p.system.end()
		}
	}()
	tick := time.NewTicker(pollEvery)
	defer tick.Stop()
	for {
		select {
		case <-p.end:
			return
		case <-tick.C:
		}
		before := shut
		var known bool
		if shut, known = p.look(shut); !known {
			continue
		}
		switch {
		case before != nil && shut == nil:
			p.change(practice.Gone)
		case before == nil && shut != nil:
			p.change(practice.Back)
		}
	}
}

// look opens the port where it has come, and closes it where it has gone; shut closes it, nil where it is not open. known is false where
// the ports could not be listed, which says nothing about this one.
func (p *MIDIInput) look(shut func()) (now func(), known bool) {
	if p.system == nil {
		system, err := p.begin()
		if err != nil {
			return nil, true
		}
		p.system = system
	}
	names, err := p.system.names()
	if err != nil {
		return shut, false
	}
	switch index := portNamed(names, p.name); {
	case index < 0 && shut != nil:
		shut()
		return nil, true
	case index >= 0 && shut == nil:
		if shut, err = p.system.open(index, p.take); err != nil {
			return nil, true
		}
	}
	return shut, true
}

// change tells the reader of the port.
func (p *MIDIInput) change(status practice.Status) {
	select {
	case p.arrived <- arrival{mono: time.Now(), status: status}:
	case <-p.end:
	}
}

// Name is the port's name.
func (p *MIDIInput) Name() string { return p.name }

// Dropped is how many messages found no room because nobody read.
func (p *MIDIInput) Dropped() int64 { return p.dropped.Load() }

// Read waits for the next message, as practice.MIDIPort has it. A port that is closed gives the error ErrClosed.
func (p *MIDIInput) Read(ctx context.Context) (practice.Message, error) {
	select {
	case a := <-p.arrived:
		return practice.Message{Time: p.stream.At(a.mono) - p.delay, Bytes: a.bytes, Size: a.size, Status: a.status}, nil
	case <-ctx.Done():
		return practice.Message{}, ctx.Err()
	case <-p.end:
		return practice.Message{}, ErrClosed
	}
}

// Close closes the port.
func (p *MIDIInput) Close() {
	p.once.Do(func() {
		close(p.end)
		select {
		case <-p.ended:
		case <-time.After(hangLimit):
		}
	})
}
