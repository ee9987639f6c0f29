package sound

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"larkhand/internal/practice"
)

// Names in place of a device's.
const (
	DefaultDevice = ""     // the one that the system suggests
	NoDevice      = "none" // none at all
)

// StreamConfig says what a stream is to be. At least one of Microphone and Speaker must be a device.
type StreamConfig struct {
	Microphone string   // name as in List, DefaultDevice or NoDevice
	Channels   int      // of the microphone, up to Device.Channels; 0: 1
	Speaker    string   // name as in List, DefaultDevice or NoDevice
	Rate       int      // Hz; 0: the device's own
	Latency    float64  // s that the sound system may buffer each way; 0: what works with that system
	RoundTrip  float64  // measured delay from speaker to microphone, s; 0: what the sound system claims
	Play       Renderer // for the speaker; nil: silence
}

// Stats counts what went wrong in a stream.
type Stats struct {
	Overruns int64 // callbacks with which the sound system reported lost samples
	Lost     int64 // samples that the clocks show to be missing
	Dropped  int64 // samples for which there was no room because nobody read
	Gone     int64 // times that the device went away
}

const (
	// silence is how long no callback may come until a device counts as gone (nothing else tells it: the libraries report no end).
	silence = 500 * time.Millisecond
	// watchEvery is how often that is looked at.
	watchEvery = 50 * time.Millisecond
	// retryEvery is the time between two tries to open a device that has gone (own choice).
	retryEvery = 500 * time.Millisecond
	// hangLimit is how long closing may take before the stream is left to itself: with a JACK server gone it never ends.
	hangLimit = 2 * time.Second
	// readEvery is how often the ring is looked at: the callback may wake nobody, because that takes a lock (own choice).
	readEvery = 4 * time.Millisecond
)

// ErrHangs is what Close gives when the sound system does not let the device go. The program can still end; another stream cannot be opened.
var ErrHangs = errors.New("the sound system does not let the device go; end the program and start it again")

var errNothingToDo = errors.New("a stream needs a microphone or a speaker; name at least one")

// shut ends an open stream of the sound system; it may hang.
type shut func() error

// system opens streams: PortAudio, or what a test puts in its place.
type system interface {
	// format finds the rate in Hz and the channels of the speaker (0 without) for a configuration.
	format(cfg StreamConfig) (rate, channels int, err error)
	// open opens and starts: back is called, always by one thread at a time, with times in s since born.
	open(cfg StreamConfig, rate, channels int, back func(call), born time.Time) (shut, error)
}

// Stream is an open microphone, speaker or both, with the one audio clock. Devices that go away are opened again when they come back.
type Stream struct {
	cfg    StreamConfig
	system system
	line   *line
	gone   atomic.Int64 // odd while the device is away
	end    chan struct{}
	ended  chan struct{}
	once   sync.Once
	err    error // of closing; for reading after ended
}

// OpenStream opens the devices and starts. In a program without devices the error is ErrNoDevices.
func OpenStream(cfg StreamConfig) (*Stream, error) {
	if soundSystem == nil {
		return nil, ErrNoDevices
	}
	return openStream(cfg, soundSystem)
}

func openStream(cfg StreamConfig, sys system) (*Stream, error) {
	if cfg.Microphone == NoDevice && cfg.Speaker == NoDevice {
		return nil, errNothingToDo
	}
	rate, channels, err := sys.format(cfg)
	if err != nil {
		return nil, err
	}
	s := &Stream{cfg: cfg, system: sys, end: make(chan struct{}), ended: make(chan struct{})}
	s.line = newLine(rate, cfg.Microphone != NoDevice, cfg.Play, max(channels, 1), cfg.RoundTrip)
	if cfg.Microphone != NoDevice {
		s.line.hear(max(1, cfg.Channels))
	}
	letGo, err := s.open()
	if err != nil {
		return nil, err
	}
	go s.watch(letGo)
	return s, nil
}

func (s *Stream) open() (shut, error) {
	channels := s.line.channels
	if s.cfg.Speaker == NoDevice {
		channels = 0
	}
	s.line.last.Store(int64(time.Since(s.line.born)))
	return s.system.open(s.cfg, s.line.rate, channels, s.line.call, s.line.born)
}

// watch sees to it that the devices are open, until the stream is closed.
func (s *Stream) watch(letGo shut) {
	defer close(s.ended)
	for letGo != nil {
		again := s.untilSilent()
		if again {
			s.gone.Add(1)
		}
		s.line.stale.Store(true)
		if !s.shut(letGo, again) || !again {
			return
		}
		letGo = s.reopen()
	}
}

// untilSilent waits until no callbacks come any more (true) or the stream is closed (false).
func (s *Stream) untilSilent() bool {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		select {
		case <-s.end:
			return false
		case <-tick.C:
			if s.line.silentFor() > silence {
				return true
			}
		}
	}
}

// shut closes and says whether that worked. While the stream is to go on it waits for as long as that takes: the libraries stand nothing else meanwhile.
func (s *Stream) shut(letGo shut, goOn bool) bool {
	result := make(chan error, 1)
	go func() { result <- letGo() }()
	end := s.end
	var limit <-chan time.Time
	if !goOn {
		end, limit = nil, time.After(hangLimit)
	}
	for {
		select {
		case err := <-result:
			if !goOn {
				s.err = err
			}
			return true
		case <-end:
			end, limit = nil, time.After(hangLimit)
		case <-limit:
			s.err = ErrHangs
			return false
		}
	}
}

// reopen tries until the devices are there again; nil where the stream is closed.
func (s *Stream) reopen() shut {
	for {
		select {
		case <-s.end:
			return nil
		case <-time.After(retryEvery):
		}
		s.line.resume()
		if letGo := s.tryOpen(); letGo != nil {
			s.gone.Add(1)
			return letGo
		}
	}
}

// tryOpen opens the devices; nil where that fails, or where the stream is closed and opening does not end.
func (s *Stream) tryOpen() shut {
	opened := make(chan shut, 1)
	go func() {
		letGo, _ := s.open() // a failure is a device that is still away
		opened <- letGo
	}()
	select {
	case letGo := <-opened:
		return letGo
	case <-s.end:
	}
	select {
	case letGo := <-opened:
		return letGo
	case <-time.After(hangLimit):
		s.err = ErrHangs
		go func() {
			if letGo := <-opened; letGo != nil {
				letGo()
			}
		}()
		return nil
	}
}

// Close ends the stream, within about two seconds whatever the sound system does. The error is ErrHangs where that does not let go.
func (s *Stream) Close() error {
	s.once.Do(func() {
		close(s.end)
		<-s.ended
	})
	return s.err
}

// Rate is the sampling rate in Hz.
func (s *Stream) Rate() int { return s.line.rate }

// Began is the moment at which the audio clock was 0.
func (s *Stream) Began() time.Time { return s.line.born }

// Stats gives the counts so far.
func (s *Stream) Stats() Stats {
	l := s.line
	return Stats{Overruns: l.overruns.Load(), Lost: l.lost.Load(), Dropped: l.dropped.Load(), Gone: (s.gone.Load() + 1) / 2}
}

// Now is the time on the audio clock in s. It goes on while a device is away. A Stream is a practice.Clock.
func (s *Stream) Now() float64 { return s.line.time.at(s.line.mono()) }

// At is the time on the audio clock, in s, of a moment of the last seconds.
func (s *Stream) At(moment time.Time) float64 {
	return s.line.time.at(moment.Sub(s.line.born).Seconds())
}

var _ practice.Clock = (*Stream)(nil)

// Microphone reads what a stream records. It is a practice.Microphone.
type Microphone struct {
	stream *Stream
	ring   *ring
	name   string
	held   bool  // the first slot of the ring is lent out
	gone   bool  // Gone was said, Back not yet
	next   int64 // number of the sample after the last block
}

var _ practice.Microphone = (*Microphone)(nil)

// Microphone gives the first channel of the stream's microphone under a name; it may be asked for once.
func (s *Stream) Microphone(name string) (*Microphone, error) { return s.Channel(1, name) }

// Channel gives a channel of the stream's microphone, counted from 1, under a name; each may be asked for once, and each that the stream was
// opened with must be read: where one is not, none goes on.
func (s *Stream) Channel(number int, name string) (*Microphone, error) {
	switch {
	case s.line.in == nil:
		return nil, errors.New("this stream has no microphone; open it with one")
	case number < 1 || number > len(s.line.rings):
		return nil, fmt.Errorf("the microphone is open with %d channels, so there is no channel %d; open it with more", len(s.line.rings), number)
	}
	return &Microphone{stream: s, ring: s.line.rings[number-1], name: name}, nil
}

// Name is the name that it was given.
func (m *Microphone) Name() string { return m.name }

// Rate is the sampling rate in Hz.
func (m *Microphone) Rate() int { return m.stream.Rate() }

// Read waits for the next block, as practice.Microphone has it. A stream that is closed gives the error ErrClosed.
func (m *Microphone) Read(ctx context.Context) (practice.Block, error) {
	if m.held {
		m.ring.release()
		m.held = false
	}
	for {
		if err := ctx.Err(); err != nil {
			return practice.Block{}, err
		}
		away := m.stream.gone.Load()%2 == 1 // before the ring is looked at: what was recorded comes first
		if s := m.ring.first(); s != nil {
			return m.lend(s), nil
		}
		if away && !m.gone {
			return m.away(), nil
		}
		select {
		case <-m.stream.end:
			return practice.Block{}, ErrClosed
		case <-ctx.Done():
		case <-time.After(readEvery):
		}
	}
}

// ErrClosed is what reading from a closed stream or port gives.
var ErrClosed = errors.New("the device was closed; open it again to read on")

// lend gives the samples of a slot, or first says that the device was gone.
func (m *Microphone) lend(s *slot) practice.Block {
	if s.resumed && !m.gone {
		return m.away()
	}
	b := practice.Block{Time: float64(s.frame) / float64(m.Rate()), Samples: s.samples[:s.n], Lost: s.lost}
	if s.resumed {
		b.Status, m.gone = practice.Back, false
	}
	m.held, m.next = true, s.frame+int64(s.n)
	return b
}

// away says that the device has gone.
func (m *Microphone) away() practice.Block {
	m.gone = true
	return practice.Block{Time: float64(m.next) / float64(m.Rate()), Status: practice.Gone}
}

// change waits until the device has gone or come back more often than told, and gives the next such change.
func (s *Stream) change(ctx context.Context, told int64) (practice.Status, error) {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for s.gone.Load() <= told {
		select {
		case <-tick.C:
		case <-ctx.Done():
			return practice.Fine, ctx.Err()
		case <-s.end:
			return practice.Fine, ErrClosed
		}
	}
	if told%2 == 0 {
		return practice.Gone, nil
	}
	return practice.Back, nil
}
