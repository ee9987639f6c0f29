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
	"larkhand/internal/sound/synth"
)

// fakeMIDI is a MIDI system with ports that can be taken away.
type fakeMIDI struct {
	mu    sync.Mutex
	ports []string
	back  func([]byte)
	shut  int
	over  bool
}

func (f *fakeMIDI) set(ports ...string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.ports = ports
}

func (f *fakeMIDI) names() ([]string, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.ports), nil
}

func (f *fakeMIDI) open(index int, back func([]byte)) (func(), error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.back = back
	return func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.shut++
	}, nil
}

func (f *fakeMIDI) end() { f.over = true }

func newTestStream(t *testing.T, cfg StreamConfig) *Stream {
	t.Helper()
	s, err := openStream(cfg, &fakeSystem{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestMIDIPortGoesAndComesUnderAnotherNumber(t *testing.T) {
	s := newTestStream(t, StreamConfig{})
	f := &fakeMIDI{}
	f.set("Through 14:0", "Keys 20:0")
	p, err := openMIDI("Keys", s, f)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	f.back([]byte{0xF8})
	f.back([]byte{0x90, 60, 100})
	f.back([]byte{0xC3, 7})
	for _, want := range []practice.Message{{Bytes: [3]byte{0x90, 60, 100}, Size: 3}, {Bytes: [3]byte{0xC3, 7}, Size: 2}} {
		m, err := p.Read(ctx)
		if away := math.Abs(m.Time - s.Now()); err != nil || m.Bytes != want.Bytes || m.Size != want.Size || away > 1 {
			t.Fatalf("got %+v, %v, %g s away; want %+v", m, err, away, want)
		}
	}
	f.set("Through 14:0")
	if m, err := p.Read(ctx); err != nil || m.Status != practice.Gone || m.Size != 0 || f.shut != 1 {
		t.Fatalf("got %+v, %v, closed %d times", m, err, f.shut)
	}
	f.set("Through 14:0", "Keys 24:0")
	if m, err := p.Read(ctx); err != nil || m.Status != practice.Back || m.Size != 0 {
		t.Fatalf("got %+v, %v", m, err)
	}
	f.back([]byte{0x80, 60, 0})
	if m, err := p.Read(ctx); err != nil || m.Bytes[0] != 0x80 {
		t.Fatalf("got %+v, %v", m, err)
	}
	p.Close()
	if _, err := p.Read(ctx); !errors.Is(err, ErrClosed) || f.shut != 2 || !f.over {
		t.Errorf("after Close: %v, closed %d times", err, f.shut)
	}
}

func TestMIDIPortThatIsNotThere(t *testing.T) {
	f := &fakeMIDI{}
	f.set("Through 14:0")
	if _, err := openMIDI("Keys", newTestStream(t, StreamConfig{}), f); err == nil || !strings.Contains(err.Error(), `there is no MIDI port "Keys"`) {
		t.Errorf("got %v", err)
	}
}

func TestPortNamed(t *testing.T) {
	names := []string{"Through 14:0", "Keys 20:0", "Keys 24:0", "Guitar"}
	for _, c := range []struct {
		name string
		want int
	}{{"", 0}, {"Keys 24:0", 2}, {"Keys 99:1", 1}, {"Keys", 1}, {"Guitar", 3}, {"Drums", -1}, {"Key", -1}} {
		if got := portNamed(names, c.name); got != c.want {
			t.Errorf("%q: %d, want %d", c.name, got, c.want)
		}
	}
	if portNamed(nil, DefaultDevice) != -1 {
		t.Error("a port where there is none")
	}
}

// The lengths are those of the MIDI 1.0 specification, table 1.
func TestChannelMessage(t *testing.T) {
	for _, c := range []struct {
		bytes []byte
		want  bool
	}{
		{[]byte{0x80, 1, 2}, true}, {[]byte{0x9F, 1, 2}, true}, {[]byte{0xA0, 1, 2}, true}, {[]byte{0xB0, 64, 127}, true}, {[]byte{0xC0, 1}, true},
		{[]byte{0xD0, 1}, true}, {[]byte{0xE0, 0, 64}, true}, {[]byte{0x90, 1}, false}, {[]byte{0xC0, 1, 2}, false}, {[]byte{0xF0, 1, 0xF7}, false},
		{[]byte{0xFE}, false}, {[]byte{60, 100}, false}, {nil, false},
	} {
		if got := channelMessage(c.bytes); got != c.want {
			t.Errorf("% X: %v", c.bytes, got)
		}
	}
}

// The loop's first bar must be in the samples that are sent for its time, and Stop and Mute must reach the player.
func TestSpeakerPlaysALoopAtItsTime(t *testing.T) {
	plain, err := synth.Plain(testRate)
	if err != nil {
		t.Fatal(err)
	}
	player, err := synth.NewPlayer(plain, testRate, 10)
	if err != nil {
		t.Fatal(err)
	}
	l := newLine(testRate, true, player, 1, 0)
	speaker := &Speaker{stream: &Stream{line: l}, player: player}
	chart, err := loop.Named(loop.Names()[0], music.Key{})
	if err != nil {
		t.Fatal(err)
	}
	const starts = 0.5
	bars, err := loop.New(chart, 120, starts)
	if err != nil {
		t.Fatal(err)
	}
	player.SetVolume(synth.MaxVolume)
	c := newCard(l, 128)
	speaker.Start(bars, 1, 0)
	for l.frame < testRate {
		c.call(0, false)
		take(l)
	}
	power := func(from, to float64) (sum float64) {
		samples, err := player.Mono(from, to)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range samples {
			sum += float64(x * x)
		}
		return sum
	}
	if before, after := power(0, starts-0.001), power(starts, starts+0.1); before != 0 || after == 0 {
		t.Errorf("power %g before the loop and %g in it", before, after)
	}
	speaker.Mute(round.Bass | round.Comping | round.HiHat | round.Click)
	for l.frame < 2*testRate {
		c.call(0, false)
		take(l)
	}
	if p := power(1.5, 1.9); p != 0 {
		t.Errorf("power %g though everything is muted", p)
	}
	speaker.Mute(0)
	speaker.Stop()
	for l.frame < 3*testRate {
		c.call(0, false)
		take(l)
	}
	if p := power(2.5, 2.9); p != 0 {
		t.Errorf("power %g after Stop", p)
	}
}

func TestSpeakerNeedsItsPlayer(t *testing.T) {
	if _, err := newTestStream(t, StreamConfig{Speaker: NoDevice}).Speaker(nil, loop.Options{}); err == nil {
		t.Error("a speaker without device")
	}
	if _, err := newTestStream(t, StreamConfig{Microphone: NoDevice}).Microphone("x"); err == nil {
		t.Error("a microphone without device")
	}
}
