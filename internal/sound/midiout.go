package sound

import (
	"context"
	"fmt"
	"math"
	"sync"
	"time"

	"larkhand/internal/loop"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/sound/synth"
)

// sendEvery is how often it is looked whether messages are due (own choice: a sixth of the 20 ms from which two strokes are heard apart, common practice, no source).
const sendEvery = 3 * time.Millisecond

// midiOutSystem opens MIDI outputs: RtMidi, or what a test puts in its place.
type midiOutSystem interface {
	names() ([]string, error)
	// open opens the port at an index of names.
	open(index int) (send func([]byte) error, shut func(), err error)
	end()
}

// MIDISpeaker plays loops by sending their notes to a MIDI output, in the time of a stream. It is a practice.Speaker. A port that goes away is opened
// again when one of that name comes back; the loop then goes on where it would be.
type MIDISpeaker struct {
	name    string
	stream  *Stream
	options loop.Options
	system  midiOutSystem
	changes chan practice.Status
	end     chan struct{}
	ended   chan struct{}
	once    sync.Once

	mu      sync.Mutex
	backing *loop.Backing // that plays; nil for silence
	fresh   bool          // what the loop before left sounding is to be ended first
	muted   [loop.Parts]bool
	volume  float64 // dB below full
	louder  bool    // the volume is to be sent
}

var _ practice.Speaker = (*MIDISpeaker)(nil)

// OpenMIDISpeaker opens a MIDI output by its name in List, in the time of a stream. options hold for every loop but for its feel. In a program without devices the
// error is ErrNoDevices.
func OpenMIDISpeaker(name string, stream *Stream, options loop.Options) (*MIDISpeaker, error) {
	if newMIDIOutSystem == nil {
		return nil, ErrNoDevices
	}
	system, err := newMIDIOutSystem()
	if err != nil {
		return nil, err
	}
	s, err := openMIDISpeaker(name, stream, options, system)
	if err != nil {
		system.end()
	}
	return s, err
}

func openMIDISpeaker(name string, stream *Stream, options loop.Options, system midiOutSystem) (*MIDISpeaker, error) {
	s := &MIDISpeaker{
		name: name, stream: stream, options: options, system: system, volume: synth.StartVolume, louder: true,
		changes: make(chan practice.Status, 1), end: make(chan struct{}), ended: make(chan struct{}),
	}
	out, err := s.look(outlet{})
	if err != nil {
		return nil, err
	}
	if out.send == nil {
		return nil, fmt.Errorf("there is no MIDI output %q; plug it in, or name one of those that `larkhand devices` lists", name)
	}
	go s.run(out)
	return s, nil
}

// outlet is an open port; its zero value is none.
type outlet struct {
	send func([]byte) error
	shut func()
}

// look opens the port where it has come, and lets it go where it has gone.
func (s *MIDISpeaker) look(out outlet) (outlet, error) {
	names, err := s.system.names()
	if err != nil {
		return out, err
	}
	switch index := portNamed(names, s.name); {
	case index < 0 && out.send != nil:
		out.shut()
		return outlet{}, nil
	case index >= 0 && out.send == nil:
		send, shut, err := s.system.open(index)
		if err != nil {
			return outlet{}, err
		}
		return outlet{send, shut}, nil
	}
	return out, nil
}

// run sends what is due, until the speaker is closed.
func (s *MIDISpeaker) run(out outlet) {
	defer close(s.ended)
	defer s.system.end()
	s.sendAll(out, synth.Setup())
	tick := time.NewTicker(sendEvery)
	defer tick.Stop()
	looked := time.Now()
	sent := s.stream.Now()
	for {
		select {
		case <-s.end:
			s.sendAll(out, synth.Silence())
			if out.send != nil {
				out.shut()
			}
			return
		case <-tick.C:
		}
		now := math.Max(sent, s.stream.Now()) // the audio clock is found anew now and then, and may step back a little
		s.sendDue(out, sent, now)
		sent = now
		if time.Since(looked) < pollEvery {
			continue
		}
		looked = time.Now()
		before := out
		out, _ = s.look(out) // ports that cannot be listed say nothing about this one
		s.tell(before, out)
	}
}

// tell tells whoever asks Status that the port has gone or come, and prepares one that has come.
func (s *MIDISpeaker) tell(before, now outlet) {
	switch {
	case before.send != nil && now.send == nil:
		s.change(practice.Gone)
	case before.send == nil && now.send != nil:
		s.sendAll(now, synth.Setup())
		s.mu.Lock()
		s.louder = true
		s.mu.Unlock()
		s.change(practice.Back)
	}
}

func (s *MIDISpeaker) change(status practice.Status) {
	select {
	case s.changes <- status:
	case <-s.end:
	}
}

// sendDue sends what lies between two times, s on the audio clock.
func (s *MIDISpeaker) sendDue(out outlet, from, to float64) {
	s.mu.Lock()
	backing, fresh, muted, louder, volume := s.backing, s.fresh, s.muted, s.louder, s.volume
	s.fresh, s.louder = false, false
	s.mu.Unlock()
	if fresh {
		s.sendAll(out, synth.Silence())
	}
	if louder {
		s.sendAll(out, synth.Volume(volume))
	}
	if backing != nil && to > from {
		s.sendAll(out, synth.Messages(backing, from, to, muted))
	}
}

// sendAll sends messages. One that cannot be sent is lost with the port, which look finds out.
func (s *MIDISpeaker) sendAll(out outlet, messages []synth.Message) {
	if out.send == nil {
		return
	}
	for i := range messages {
		_ = out.send(messages[i].Data())
	}
}

// Start plays a loop; its first bar sounds at l.Starts on the audio clock. A loop that cannot be arranged is silent: a loop of a round can be.
func (s *MIDISpeaker) Start(l loop.Loop, swing float64, muted round.Backing) {
	options := s.options
	options.Feel = loop.Feel{Ratio: swing}
	backing, _ := loop.Arrange(l, options)
	s.Mute(muted)
	s.play(backing)
}

// Stop ends the loop.
func (s *MIDISpeaker) Stop() { s.play(nil) }

func (s *MIDISpeaker) play(backing *loop.Backing) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.backing, s.fresh = backing, true
}

// Mute silences some parts of the loop and lets the others sound.
func (s *MIDISpeaker) Mute(muted round.Backing) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for part, bit := range partBits {
		s.muted[part] = muted&bit != 0
	}
}

// SetVolume sets the volume of the instrument behind the port, dB below full.
func (s *MIDISpeaker) SetVolume(db float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.volume, s.louder = db, true
}

// Status waits until the port goes away or comes back. A speaker that is closed gives the error ErrClosed.
func (s *MIDISpeaker) Status(ctx context.Context) (practice.Status, error) {
	select {
	case status := <-s.changes:
		return status, nil
	case <-ctx.Done():
		return practice.Fine, ctx.Err()
	case <-s.end:
		return practice.Fine, ErrClosed
	}
}

// Close ends what sounds and closes the port.
func (s *MIDISpeaker) Close() {
	s.once.Do(func() {
		close(s.end)
		select {
		case <-s.ended:
		case <-time.After(hangLimit):
		}
	})
}
