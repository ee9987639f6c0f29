package sound

import (
	"context"
	"errors"
	"math"

	"larkhand/internal/loop"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/sound/synth"
)

// Speaker plays loops on a stream by a synth.Player. It is a practice.Speaker.
type Speaker struct {
	stream  *Stream
	player  *synth.Player
	options loop.Options
	told    int64 // changes of the device that Status has told
}

var (
	_ practice.Speaker   = (*Speaker)(nil)
	_ practice.Reference = (*Speaker)(nil)
	_ practice.Player    = (*Speaker)(nil)
)

// Speaker gives the speaker of a stream, whose StreamConfig.Play must be the player; it may be asked for once. options hold for every loop but for its feel.
func (s *Stream) Speaker(player *synth.Player, options loop.Options) (*Speaker, error) {
	if s.cfg.Speaker == NoDevice || s.cfg.Play == nil || s.cfg.Play != Renderer(player) {
		return nil, errors.New("this stream has no speaker with that player; open it with both")
	}
	return &Speaker{stream: s, player: player, options: options}, nil
}

// Start plays a loop; its first bar sounds at l.Starts on the audio clock. A loop that cannot be arranged is silent: a loop of a round can be.
func (s *Speaker) Start(l loop.Loop, swing float64, muted round.Backing) {
	options := s.options
	options.Feel = loop.Feel{Ratio: swing}
	s.Mute(muted)
	backing, err := loop.Arrange(l, options)
	if err != nil {
		s.player.Play(nil, s.player.Position())
		return
	}
	s.player.Play(backing, s.player.Position())
}

// Stop ends the loop.
func (s *Speaker) Stop() { s.player.Play(nil, s.player.Position()) }

// partBits are the parts of the loop as rounds name them.
var partBits = [loop.Parts]round.Backing{loop.Click: round.Click, loop.HiHat: round.HiHat, loop.Comping: round.Comping, loop.Bass: round.Bass}

// Mute silences some parts of the loop and lets the others sound.
func (s *Speaker) Mute(muted round.Backing) {
	for part, bit := range partBits {
		s.player.Mute(loop.Part(part), muted&bit != 0)
	}
}

// SetVolume sets the volume, dB below full, as synth.Player has it: louder slowly, softer at once.
func (s *Speaker) SetVolume(db float64) { s.player.SetVolume(db) }

// Play lets samples be heard in place of the loop. It is a practice.Player.
func (s *Speaker) Play(samples []float32, rate int, at float64) {
	own := s.stream.Rate()
	s.player.PlayAside(atRate(samples, rate, own), int64(math.Round(at*float64(own))))
}

// Hush ends what Play lets be heard.
func (s *Speaker) Hush() { s.player.PlayAside(nil, 0) }

// atRate gives samples at another rate, by straight lines between them: for a microphone that is not of the speaker's stream.
func atRate(samples []float32, rate, wanted int) []float32 {
	if rate == wanted || len(samples) == 0 {
		return samples
	}
	out := make([]float32, int64(len(samples))*int64(wanted)/int64(rate))
	for i := range out {
		place := float64(i) * float64(rate) / float64(wanted)
		k := min(int(place), len(samples)-1)
		next := samples[min(k+1, len(samples)-1)]
		out[i] = samples[k] + (next-samples[k])*float32(place-float64(k))
	}
	return out
}

// Sent copies what was sent from sample number `from` on, which lies from/rate s on the audio clock. It is a practice.Reference.
func (s *Speaker) Sent(dst []float32, from int64) error { return s.player.Sent(dst, from) }

// Status waits until the device goes away or comes back. A stream that is closed gives the error ErrClosed.
func (s *Speaker) Status(ctx context.Context) (practice.Status, error) {
	status, err := s.stream.change(ctx, s.told)
	if err == nil {
		s.told++
	}
	return status, err
}
