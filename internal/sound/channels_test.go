package sound

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
)

// Two channels come interleaved; each ring gets its own, with the same times, over a block that is longer than a slot and over a loss.
func TestLineKeepsChannelsApart(t *testing.T) {
	l := newLine(testRate, true, nil, 1, 0)
	l.hear(2)
	in := make([]float32, 2*600)
	for i := range in {
		in[i] = float32(i)
	}
	l.call(call{mono: 0.1, in: in, frames: 600})
	l.miss(48)
	l.call(call{mono: 0.2, in: in[:200], frames: 100})
	for c, r := range l.rings {
		var got []float32
		lost, next := 0, int64(-1)
		for s := r.first(); s != nil; s = r.first() {
			if next >= 0 && s.frame != next+int64(s.lost) {
				t.Errorf("channel %d: a slot at %d, want %d", c, s.frame, next+int64(s.lost))
			}
			got, lost, next = append(got, s.samples[:s.n]...), lost+s.lost, s.frame+int64(s.n)
			r.release()
		}
		if len(got) != 700 || lost != 48 {
			t.Fatalf("channel %d: %d samples, %d lost", c, len(got), lost)
		}
		for i, x := range got {
			if want := float32(2*(i%600) + c); x != want {
				t.Fatalf("channel %d: sample %d is %g, want %g", c, i, x, want)
			}
		}
	}
}

func TestChannelsOfAStream(t *testing.T) {
	s := newTestStream(t, StreamConfig{Channels: 2})
	if _, err := s.Channel(3, "Ann"); err == nil || !strings.Contains(err.Error(), "open with 2 channels") {
		t.Errorf("channel 3: %v", err)
	}
	second, err := s.Channel(2, "channel 2")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	if b, err := second.Read(ctx); err != nil || len(b.Samples) == 0 || second.Name() != "channel 2" {
		t.Errorf("%d samples, %v", len(b.Samples), err)
	}
}

// A session begins without a port, which comes later; a through port is nothing to play on.
func TestMIDIPortIsWaitedFor(t *testing.T) {
	s := newTestStream(t, StreamConfig{})
	f := &fakeMIDI{}
	f.set("Midi Through:Midi Through Port-0 14:0")
	p := waitForMIDI(DefaultDevice, s, func() (midiSystem, error) { return f, nil })
	defer p.Close()
	if !p.Absent() {
		t.Fatal("a through port was taken for a keyboard")
	}
	f.set("Midi Through:Midi Through Port-0 14:0", "Keys 20:0")
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	if m, err := p.Read(ctx); err != nil || m.Status != practice.Back {
		t.Fatalf("got %+v, %v", m, err)
	}
	p.SetDelay(5)
	f.back([]byte{0x90, 60, 100})
	if m, err := p.Read(ctx); err != nil || m.Size != 3 || math.Abs(m.Time+5-s.Now()) > 1 {
		t.Errorf("got %+v, %v at %g", m, err, s.Now())
	}
}

// A machine whose MIDI system does not start is one without a port, until it does.
func TestMIDISystemComesLater(t *testing.T) {
	s := newTestStream(t, StreamConfig{})
	f := &fakeMIDI{}
	f.set("Keys 20:0")
	var mu sync.Mutex
	asked := 0
	p := waitForMIDI("Keys", s, func() (midiSystem, error) {
		mu.Lock()
		defer mu.Unlock()
		if asked++; asked == 1 {
			return nil, errors.New("no sequencer")
		}
		return f, nil
	})
	defer p.Close()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	if m, err := p.Read(ctx); !p.Absent() || err != nil || m.Status != practice.Back {
		t.Errorf("absent %v, got %+v, %v", p.Absent(), m, err)
	}
}

// fakeOut is a MIDI system with one output.
type fakeOut struct {
	mu   sync.Mutex
	here bool
	sent [][]byte
	shut int
}

func (f *fakeOut) names() ([]string, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if !f.here {
		return nil, nil
	}
	return []string{"Synth 20:0"}, nil
}

func (f *fakeOut) open(int) (func([]byte) error, func(), error) {
	send := func(b []byte) error {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.sent = append(f.sent, slices.Clone(b))
		return nil
	}
	return send, func() { f.mu.Lock(); f.shut++; f.mu.Unlock() }, nil
}

func (f *fakeOut) end() {}

func (f *fakeOut) set(here bool) { f.mu.Lock(); defer f.mu.Unlock(); f.here = here }

// count is how often a status byte was sent.
func (f *fakeOut) count(status byte) (n int) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, b := range f.sent {
		if b[0] == status {
			n++
		}
	}
	return n
}

// until waits until something holds.
func until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for range 2000 {
		if holds() {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal(what)
}

func TestLoopByMIDI(t *testing.T) {
	s := newTestStream(t, StreamConfig{})
	f := &fakeOut{here: true}
	if _, err := openMIDISpeaker("Other", s, loop.Options{}, f); err == nil || !strings.Contains(err.Error(), `no MIDI output "Other"`) {
		t.Errorf("a port that is not there: %v", err)
	}
	speaker, err := openMIDISpeaker("Synth", s, loop.Options{}, f)
	if err != nil {
		t.Fatal(err)
	}
	chart, err := music.ParseChart("Cm7 | Fm7")
	if err != nil {
		t.Fatal(err)
	}
	const bass, percussion = 0x90, 0x99
	speaker.Start(loop.Loop{Chart: chart, Tempo: 400, Starts: s.Now()}, 1, round.Bass)
	until(t, "no click is sent", func() bool { return f.count(percussion) > 3 })
	if n := f.count(bass); n > 0 {
		t.Errorf("%d notes of the muted bass", n)
	}
	speaker.Mute(0)
	until(t, "no bass is sent", func() bool { return f.count(bass) > 0 })
	f.set(false)
	if status, err := speaker.Status(t.Context()); err != nil || status != practice.Gone {
		t.Errorf("gone: %v, %v", status, err)
	}
	f.set(true)
	if status, err := speaker.Status(t.Context()); err != nil || status != practice.Back {
		t.Errorf("back: %v, %v", status, err)
	}
	speaker.SetVolume(-6)
	speaker.Stop()
	speaker.Close()
	f.mu.Lock()
	defer f.mu.Unlock()
	last := f.sent[len(f.sent)-1]
	if last[0]&0xF0 != 0xB0 || last[1] != 123 || f.shut != 2 {
		t.Errorf("the last message is % x, closed %d times", last, f.shut)
	}
}
