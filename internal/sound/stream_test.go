package sound

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"
	"time"

	"larkhand/internal/practice"
)

const testRate = 48000

// feed calls a line back as a sound card does that keeps time by itself: n samples a callback, each late by what late says.
type card struct {
	line    *line
	started float64 // s on the monotonic clock of the first sample
	sent    int64   // samples so far
	n       int
	value   func(int64) float32
	in      []float32
	out     []float32
}

func newCard(l *line, n int) *card {
	return &card{line: l, n: n, in: make([]float32, n), out: make([]float32, n*l.channels), value: func(i int64) float32 { return float32(i) }}
}

func (c *card) call(late float64, overrun bool) {
	for i := range c.in {
		c.in[i] = c.value(c.sent + int64(i))
	}
	delay := float64(c.n) / testRate
	c.sent += int64(c.n)
	c.line.call(call{mono: c.started + float64(c.sent)/testRate + late, inDelay: delay, outDelay: delay, overrun: overrun, in: c.in, out: c.out, frames: c.n})
}

// take reads all slots.
func take(l *line) (samples []float32, lost int, next int64) {
	for s := l.in.first(); s != nil; s = l.in.first() {
		samples = append(samples, s.samples[:s.n]...)
		lost += s.lost
		next = s.frame + int64(s.n)
		l.in.release()
	}
	return samples, lost, next
}

func TestLineRecordsEverySample(t *testing.T) {
	for _, n := range []int{1, 64, 128, slotFrames, 1000} {
		l := newLine(testRate, true, nil, 1, 0)
		c := newCard(l, n)
		var got []float32
		for range 300 {
			c.call(0, false)
			part, lost, _ := take(l)
			got = append(got, part...)
			if lost != 0 {
				t.Fatalf("%d a callback: %d lost", n, lost)
			}
		}
		if len(got) != 300*n {
			t.Fatalf("%d a callback: %d samples, want %d", n, len(got), 300*n)
		}
		for i, x := range got {
			if x != float32(i) {
				t.Fatalf("%d a callback: sample %d is %g", n, i, x)
			}
		}
	}
}

func TestLineCountsWhatNobodyReads(t *testing.T) {
	l := newLine(testRate, true, nil, 1, 0)
	c := newCard(l, slotFrames)
	const over = 10
	for range slots + over {
		c.call(0, false)
	}
	got, lost, _ := take(l)
	if len(got) != slots*slotFrames || lost != 0 || l.dropped.Load() != over*slotFrames {
		t.Fatalf("%d samples, %d lost, %d dropped", len(got), lost, l.dropped.Load())
	}
	c.call(0, false)
	got, lost, next := take(l)
	if len(got) != slotFrames || lost != over*slotFrames || next != (slots+over+1)*slotFrames {
		t.Errorf("after the gap: %d samples, %d lost, next %d", len(got), lost, next)
	}
}

// The callback must neither allocate nor wait for the reader, whatever the reader is doing: here it holds a slot for ever.
func TestCallbackAllocatesAndWaitsForNothing(t *testing.T) {
	l := newLine(testRate, true, &tape{}, 2, 0)
	c := newCard(l, 128)
	c.call(0, false)
	if l.in.first() == nil {
		t.Fatal("nothing recorded")
	}
	calls := 0
	if n := testing.AllocsPerRun(2*slots, func() { calls++; c.call(0, calls%100 == 0) }); n != 0 {
		t.Errorf("%g allocations a callback", n)
	}
	if l.dropped.Load() == 0 {
		t.Error("the ring was never full")
	}
}

func TestRingBetweenTwoGoroutines(t *testing.T) {
	r := newRing(8)
	const count = 20000
	go func() {
		for i := int64(0); i < count; {
			if s := r.free(0); s != nil {
				s.frame, s.n = i, int(i%slotFrames)
				r.push(1)
				i++
			} else {
				runtime.Gosched()
			}
		}
	}()
	for i := int64(0); i < count; {
		s := r.first()
		if s == nil {
			runtime.Gosched()
			continue
		}
		if s.frame != i || s.n != int(i%slotFrames) {
			t.Fatalf("slot %d holds %d, %d", i, s.frame, s.n)
		}
		r.release()
		i++
	}
}

// The clock is right within 0.1 ms although most callbacks are late, some by 20 ms, and the card is 100 ppm slow.
func TestTimelineFindsTheFloor(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	tl := newTimeline(testRate, 0)
	const n, skew, started = 128, 1 + 100e-6, 7.0
	delay := n / float64(testRate)
	for i := range int64(10000) {
		late := random.ExpFloat64() * 0.001
		if random.IntN(50) == 0 {
			late += 0.02
		}
		taken := started + skew*float64(i*n)/testRate
		if lost := tl.add(taken+delay+late, i*n, delay, false); lost != 0 {
			t.Fatalf("callback %d: %d lost", i, lost)
		}
		if want := float64(i*n) / testRate; i > 100 && math.Abs(tl.at(taken)-want) > 0.00025 { // 2 s at 100 ppm, and the least lateness
			t.Fatalf("callback %d: %g s, want %g", i, tl.at(taken), want)
		}
	}
}

func TestTimelineFindsLostSamples(t *testing.T) {
	for name, c := range map[string]struct {
		missing int
		told    bool
		within  int // callbacks until it is known
	}{
		"overrun of 10 ms":        {480, true, 40},
		"overrun of 100 ms":       {4800, true, 40},
		"overrun without loss":    {0, true, 40},
		"10 ms that nobody tells": {480, false, 300},
		"300 ms, nobody tells":    {14400, false, 300},
	} {
		t.Run(name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(3, 4))
			l := newLine(testRate, true, nil, 1, 0)
			d := newCard(l, 128)
			for range 2000 {
				d.call(random.ExpFloat64()*0.0003, false)
			}
			d.started += float64(c.missing) / testRate
			d.call(0, c.told)
			for range c.within {
				d.call(random.ExpFloat64()*0.0003, false)
			}
			const tolerance = 15 // samples, 0.3 ms: the least lateness of few callbacks
			if got := int(l.lost.Load()); got < c.missing-tolerance || got > c.missing+tolerance {
				t.Errorf("%d lost, want %d", got, c.missing)
			}
			if want := d.sent + int64(c.missing); math.Abs(float64(l.frame-want)) > tolerance {
				t.Errorf("at sample %d, want %d", l.frame, want)
			}
		})
	}
}

// What an overrun lost lies just before the samples with which it was reported.
func TestLossLiesAtTheOverrun(t *testing.T) {
	l := newLine(testRate, true, nil, 1, 0)
	d := newCard(l, 128)
	for range 100 {
		d.call(0, false)
	}
	before, _, next := take(l)
	d.started += 0.01
	d.call(0, true)
	if l.in.first() != nil {
		t.Fatal("samples were handed over before it is known where they belong")
	}
	for range 20 {
		d.call(0, false)
	}
	const missing = 480
	first := l.in.first()
	if first == nil || first.lost != missing || first.frame != next+missing || first.samples[0] != float32(len(before)) {
		t.Fatalf("got %+v", first)
	}
	if got, lost, end := take(l); len(got) != 21*128 || lost != missing || end != next+missing+21*128 {
		t.Errorf("%d samples, %d lost, up to %d", len(got), lost, end)
	}
}

// tape is a renderer whose samples are their own numbers.
type tape struct{ at int64 }

func (p *tape) Render(dst []float32) {
	for i := range dst {
		dst[i] = float32(p.at)
		p.at++
	}
}
func (p *tape) SkipTo(to int64) { p.at = max(p.at, to) }
func (p *tape) Position() int64 { return p.at }

func TestSpeakerIsGivenItsSamplesEarly(t *testing.T) {
	for _, c := range []struct{ roundTrip, want float64 }{{0, 2 * 128}, {0.010, 480}} { // both delays of the card are one callback
		p := &tape{}
		l := newLine(testRate, true, p, 2, c.roundTrip)
		d := newCard(l, 128)
		for range 3 {
			before := l.frame
			d.call(0, false)
			if before == 0 {
				before = l.frame - 128
			}
			for i := 0; i < len(d.out); i += 2 {
				if want := float32(float64(before) + c.want + float64(i/2)); d.out[i] != want || d.out[i+1] != want {
					t.Fatalf("round trip %g: sample %d is %g, want %g", c.roundTrip, i/2, d.out[i], want)
				}
			}
		}
	}
}

func TestSpeakerSoundsOnAfterASmallGap(t *testing.T) {
	p := &tape{}
	l := newLine(testRate, true, p, 1, 0)
	d := newCard(l, 128)
	for range 500 {
		d.call(0, false)
	}
	d.started += 0.1
	d.call(0, true)
	for range 30 {
		d.call(0, false)
	}
	if l.lost.Load() != 4800 {
		t.Fatalf("%d lost, want 4800", l.lost.Load())
	}
	if want := l.frame + l.ahead; p.at != want {
		t.Errorf("the speaker is at %d, want %d", p.at, want)
	}
}

// fakeSystem is a sound system whose device can be taken away.
type fakeSystem struct {
	mu      sync.Mutex
	away    bool
	hangs   chan struct{} // closing waits for it
	opened  int
	shut    int
	present error
}

func (f *fakeSystem) format(cfg StreamConfig) (int, int, error) { return testRate, 1, f.present }

var errAway = errors.New("away")

func (f *fakeSystem) set(away bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.away = away
}

func (f *fakeSystem) isAway() bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.away
}

func (f *fakeSystem) open(_ StreamConfig, _, channels int, back func(call), born time.Time) (shut, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.away {
		return nil, errAway
	}
	f.opened++
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		in, out := make([]float32, 480), make([]float32, 480*channels)
		for {
			select {
			case <-end:
				return
			case <-time.After(10 * time.Millisecond):
			}
			if !f.isAway() {
				back(call{mono: time.Since(born).Seconds(), inDelay: 0.01, in: in, out: out, frames: 480})
			}
		}
	}()
	return func() error {
		close(end)
		<-ended
		f.mu.Lock()
		f.shut++
		f.mu.Unlock()
		if f.hangs != nil {
			<-f.hangs
		}
		return nil
	}, nil
}

func TestStreamComesBack(t *testing.T) {
	f := &fakeSystem{}
	s, err := openStream(StreamConfig{}, f)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	mic, err := s.Microphone("test")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	var next float64
	read := func(want practice.Status) practice.Block {
		for {
			b, err := mic.Read(ctx)
			if err != nil {
				t.Fatal(err)
			}
			if len(b.Samples) > 0 {
				if next != 0 && math.Abs(b.Time-float64(b.Lost)/testRate-next) > 1e-9 {
					t.Fatalf("block at %g with %d lost after %g", b.Time, b.Lost, next)
				}
				next = b.Time + float64(len(b.Samples))/testRate
			}
			if b.Status == want {
				return b
			}
			if b.Status != practice.Fine {
				t.Fatalf("status %d, want %d", b.Status, want)
			}
		}
	}
	read(practice.Fine)
	for range 2 {
		f.set(true)
		wentAt := s.Now()
		read(practice.Gone)
		if status, err := s.change(ctx, 2*(s.Stats().Gone-1)); status != practice.Gone || err != nil {
			t.Errorf("the speaker's side says %d, %v", status, err)
		}
		f.set(false)
		b := read(practice.Back)
		if away := float64(b.Lost) / testRate; math.Abs(away-(b.Time-wentAt)) > 0.1 || away < silence.Seconds() {
			t.Errorf("%g s lost, of %g", away, b.Time-wentAt)
		}
	}
	if got := s.Stats(); got.Gone != 2 {
		t.Errorf("got %+v", got)
	}
}

func TestCloseOfAStream(t *testing.T) {
	f := &fakeSystem{}
	s, err := openStream(StreamConfig{Speaker: NoDevice}, f)
	if err != nil {
		t.Fatal(err)
	}
	mic, _ := s.Microphone("test")
	if err := s.Close(); err != nil || f.shut != 1 {
		t.Errorf("%v, %d closed", err, f.shut)
	}
	for err == nil {
		_, err = mic.Read(t.Context())
	}
	if !errors.Is(err, ErrClosed) {
		t.Errorf("reading after Close: %v", err)
	}
}

func TestCloseWhereTheSoundSystemHangs(t *testing.T) {
	f := &fakeSystem{hangs: make(chan struct{})}
	defer close(f.hangs)
	s, err := openStream(StreamConfig{}, f)
	if err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	if err := s.Close(); !errors.Is(err, ErrHangs) {
		t.Errorf("got %v", err)
	}
	if took := time.Since(begun); took > hangLimit+time.Second {
		t.Errorf("took %v", took)
	}
}

func TestStreamsThatCannotBe(t *testing.T) {
	if _, err := openStream(StreamConfig{Microphone: NoDevice, Speaker: NoDevice}, &fakeSystem{}); !errors.Is(err, errNothingToDo) {
		t.Errorf("nothing: %v", err)
	}
	if _, err := openStream(StreamConfig{}, &fakeSystem{present: errAway}); !errors.Is(err, errAway) {
		t.Errorf("no device: %v", err)
	}
	if _, err := openStream(StreamConfig{}, &fakeSystem{away: true}); !errors.Is(err, errAway) {
		t.Errorf("taken device: %v", err)
	}
}
