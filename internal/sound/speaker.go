package sound

import (
	"context"
	"errors"

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
