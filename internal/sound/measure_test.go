package sound

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

	"larkhand/internal/delay"
	"larkhand/internal/practice"
)

// loopCard is a sound system whose speaker is heard by its microphone. It runs ten times as fast as real time.
type loopCard struct {
	delay   func(opened int) int // samples from the speaker to the microphone, for each time that it is opened
	gain    float32
	noise   float64
	goes    int // callbacks until the device goes away; 0: never
	opened  int
	present error
}

func (c *loopCard) format(StreamConfig) (int, int, error) { return testRate, 1, c.present }

func (c *loopCard) open(_ StreamConfig, _, _ int, back func(call), born time.Time) (shut, error) {
	c.opened++
	const frames = 480
	wire := make([]float32, c.delay(c.opened), testRate*60)
	random := rand.New(rand.NewPCG(uint64(c.opened), 8))
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		in, out := make([]float32, frames), make([]float32, frames)
		for n := 0; ; n++ {
			select {
			case <-end:
				return
			case <-tick.C:
			}
			if c.goes > 0 && n >= c.goes || len(wire) > cap(wire)-frames {
				continue
			}
			for i := range in {
				in[i] = float32(c.noise * random.NormFloat64())
				if at := n*frames + i; at < len(wire) {
					in[i] += c.gain * wire[at]
				}
			}
			back(call{mono: 1 + float64((n+1)*frames)/testRate, inDelay: 0.01, outDelay: 0.02, in: in, out: out, frames: frames})
			wire = append(wire, out...)
		}
	}()
	return func() error {
		close(end)
		<-ended
		return nil
	}, nil
}

// always is the same delay, in samples beyond the callback in which the speaker is given its sound.
func always(samples int) func(int) int { return func(int) int { return samples } }

func TestRoundTripOfALoopIsMeasured(t *testing.T) {
	for _, samples := range []int{480, 2000, 20000} {
		card := &loopCard{delay: always(samples), gain: -0.3, noise: 0.001}
		told := 0
		r, err := measureRoundTrip(t.Context(), StreamConfig{RoundTrip: allowsNothing}, card, func(delay.Series) { told++ })
		if want := float64(samples) / testRate; err != nil || math.Abs(r.Seconds-want) > 0.0001 || told != r.Series || card.opened != r.Series {
			t.Errorf("%+v, %v, want %g s; told of %d series, opened %d times", r, err, want, told, card.opened)
		}
	}
}

func TestRoundTripThatCannotBeMeasured(t *testing.T) {
	for name, c := range map[string]struct {
		card loopCard
		want string
	}{
		"silent":       {loopCard{delay: always(480)}, "the microphone is silent"},
		"only noise":   {loopCard{delay: always(480), noise: 0.01}, "only 0 of 6 clicks were heard"},
		"other delays": {loopCard{delay: func(opened int) int { return 480 * opened }, gain: 0.3}, "did not stay the same within 2 ms"},
		"goes away":    {loopCard{delay: always(480), gain: 0.3, goes: 200}, errMicrophoneWent.Error()},
		"not there":    {loopCard{present: errAway}, errAway.Error()},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if r, err := measureRoundTrip(t.Context(), StreamConfig{RoundTrip: allowsNothing}, &c.card, nil); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%+v, %v, want %q", r, err, c.want)
			}
		})
	}
}

func TestMeasuringEndsWhenItIsTold(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if _, err := measureRoundTrip(ctx, StreamConfig{RoundTrip: allowsNothing}, &loopCard{delay: always(480)}, nil); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v", err)
	}
}

// struck is a microphone that hears keys being struck, once a second from 0.5 s on, and the port of their keyboard. It takes no time.
type struck struct {
	at     int     // samples
	late   float64 // s that messages come after the sound
	most   int     // strikes
	block  []float32
	random *rand.Rand
	sent   chan practice.Message
	status practice.Status
}

func newStruck(late float64, most int) *struck {
	return &struck{late: late, most: most, block: make([]float32, 480), random: rand.New(rand.NewPCG(9, 9)), sent: make(chan practice.Message, 1000)}
}

func (s *struck) Name() string { return "struck" }
func (s *struck) Rate() int    { return testRate }

func (s *struck) Read(context.Context) (practice.Block, error) {
	from := s.at
	for i := range s.block {
		since := float64(s.at%testRate)/testRate - 0.5
		s.block[i] = float32(1e-4 * s.random.NormFloat64())
		if since >= 0 && s.at/testRate < s.most {
			s.block[i] += float32(0.05 * s.random.NormFloat64() * math.Exp(-since/0.03))
		}
		if s.at%testRate == testRate/2+int(s.late*testRate) && s.at/testRate < s.most {
			s.sent <- practice.Message{Time: float64(s.at) / testRate, Bytes: [3]byte{0x90, 60, 100}, Size: 3}
		}
		s.at++
	}
	if s.status != practice.Fine && s.at > 2*testRate {
		return practice.Block{Status: s.status}, nil
	}
	return practice.Block{Time: float64(from) / testRate, Samples: s.block}, nil
}

// cable is the port that hands the messages over.
type cable struct {
	from *struck
	goes practice.Status
}

func (c cable) Name() string { return "cable" }
func (c cable) Read(ctx context.Context) (practice.Message, error) {
	if c.goes != practice.Fine {
		return practice.Message{Status: c.goes}, nil
	}
	select {
	case m, ok := <-c.from.sent:
		if !ok {
			return m, io.EOF
		}
		return m, nil
	case <-ctx.Done():
		return practice.Message{}, ctx.Err()
	}
}

// paced reads a microphone no faster than its port is read.
type paced struct{ *struck }

func (p paced) Read(ctx context.Context) (practice.Block, error) {
	for len(p.sent) > 0 {
		time.Sleep(100 * time.Microsecond)
	}
	runtime.Gosched()
	return p.struck.Read(ctx)
}

func TestKeyboardIsMeasured(t *testing.T) {
	s := newStruck(0.012, 1000)
	var strikes, series int
	r, err := measureKeyboard(t.Context(), cable{from: s}, paced{s}, func(k Strike) {
		if k.Series != nil {
			series++
		} else {
			strikes++
		}
	})
	if err != nil || math.Abs(r.Seconds-0.012) > 0.001 || series != r.Series || strikes != series*SeriesStrikes {
		t.Errorf("%+v, %v, after %d strikes in %d series", r, err, strikes, series)
	}
}

func TestKeyboardThatCannotBeMeasured(t *testing.T) {
	for name, c := range map[string]struct {
		most int
		mic  practice.Status
		port practice.Status
		want error
	}{
		"no strike":       {most: 0, want: errNoStrike},
		"too few":         {most: 3, want: errNoStrike},
		"keyboard goes":   {most: 99, port: practice.Gone, want: errKeyboardWent},
		"microphone goes": {most: 99, mic: practice.Gone, want: errMicrophoneWent},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStruck(0, c.most)
			s.status = c.mic
			if r, err := measureKeyboard(t.Context(), cable{s, c.port}, paced{s}, nil); !errors.Is(err, c.want) {
				t.Errorf("%+v, %v, want %v", r, err, c.want)
			}
		})
	}
}
