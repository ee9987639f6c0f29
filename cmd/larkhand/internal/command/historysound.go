package command

import (
	"context"
	"fmt"
	"math"
	"sync/atomic"
	"time"

	"larkhand/internal/screen/past"
	"larkhand/internal/sound"
)

// historySpeaker is the speaker that rounds are played back by, or a sentence on why there is none.
func historySpeaker() (past.Speaker, string) {
	if !sound.Built {
		return nil, "This larkhand was built without a speaker; `make install` builds one that has it. \"larkhand journal where\" tells where the files are."
	}
	return speaker{}, ""
}

// speaker plays by the device that the system suggests. It is opened for each sound, so that it is nobody's while nothing sounds.
type speaker struct{}

// When a sound counts as over.
const (
	lookEvery  = 20 * time.Millisecond
	afterSound = 300 * time.Millisecond // what devices may still hold when the last sample has been asked for (own choice)
)

// Play plays a sound to its end.
func (speaker) Play(ctx context.Context, s past.Sound) error {
	defer sound.Hush()()
	r := &playback{sound: s}
	stream, err := sound.OpenStream(sound.StreamConfig{Microphone: sound.NoDevice, Speaker: sound.DefaultDevice, Play: r})
	if err != nil {
		return fmt.Errorf("the speaker cannot be opened: %w", err)
	}
	r.begin(stream.Rate())
	err = r.wait(ctx)
	if closed := stream.Close(); err == nil {
		err = closed
	}
	return err
}

// playback is the sound as a stream asks for it: nothing until its rate is known, then its samples, then nothing. It is a
// sound.Renderer.
type playback struct {
	sound past.Sound
	step  atomic.Uint64 // samples of the sound for each one of the stream, float64 bits; 0 until that is known
	over  atomic.Bool
	frame int64   // number of the next sample of the stream
	at    float64 // place in the sound, in its samples
	gain  float64
}

// begin tells the stream's rate, Hz.
func (p *playback) begin(rate int) {
	p.step.Store(math.Float64bits(float64(p.sound.Rate) / float64(rate)))
}

// wait waits until the sound is over or ctx ends.
func (p *playback) wait(ctx context.Context) error {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for !p.over.Load() {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(afterSound):
		return nil
	}
}

// gainStep is how far the gain moves in a sample: from silence to full in a fiftieth of a second at 50 kHz, so that nothing clicks.
const gainStep = 0.001

// Render gives the next samples of the stream.
func (p *playback) Render(dst []float32) {
	step := math.Float64frombits(p.step.Load())
	target := p.sound.Gain()
	for i := range dst {
		if step == 0 || p.at >= float64(len(p.sound.Samples)) {
			dst[i] = 0
			p.over.Store(step != 0)
			continue
		}
		p.gain += max(-gainStep, min(gainStep, target-p.gain))
		dst[i] = float32(p.gain * p.between())
		p.at += step
	}
	p.frame += int64(len(dst))
}

// between is the sound at the place that has been reached: on the curve through the four samples around it (Catmull and Rom 1974).
func (p *playback) between() float64 {
	k := int(p.at)
	x := p.at - float64(k)
	a, b, c, d := p.sample(k-1), p.sample(k), p.sample(k+1), p.sample(k+2)
	return b + x/2*(c-a+x*(2*a-5*b+4*c-d+x*(3*(b-c)+d-a)))
}

func (p *playback) sample(k int) float64 {
	if k < 0 || k >= len(p.sound.Samples) {
		return 0
	}
	return float64(p.sound.Samples[k])
}

// SkipTo goes on at a later sample of the stream; the sound goes on where it was.
func (p *playback) SkipTo(frame int64) { p.frame = max(p.frame, frame) }

// Position is the number of the next sample of the stream.
func (p *playback) Position() int64 { return p.frame }
