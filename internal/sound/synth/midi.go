package synth

import (
	"cmp"
	"math"
	"slices"

	"larkhand/internal/loop"
)

// Message is a MIDI message with the moment at which it is to be sent.
type Message struct {
	Time  float64 // s on the clock of the source
	Bytes [3]byte
	Size  int // how many of the bytes count, 2 or 3
}

// Data is the bytes to send.
func (m *Message) Data() []byte {
	return m.Bytes[:m.Size]
}

// Status bytes and controllers of MIDI 1.0 (from memory).
const (
	noteOff       = 0x80
	noteOn        = 0x90
	control       = 0xB0
	program       = 0xC0
	channelVolume = 7
	allNotesOff   = 123

	releaseVelocity = 64
	mostData        = 127
)

// channels holds the MIDI channels of the backing.
var channels = []byte{loop.BassChannel, loop.CompingChannel, loop.PercussionChannel}

// Setup is the messages that choose the programs of the backing, to be sent once before any note.
func Setup() []Message {
	return []Message{
		{Bytes: [3]byte{program | loop.BassChannel, loop.BassProgram}, Size: 2},
		{Bytes: [3]byte{program | loop.CompingChannel, loop.CompingProgram}, Size: 2},
	}
}

// Silence is the messages that end whatever sounds, to be sent when the backing stops.
func Silence() []Message {
	return onAllChannels(allNotesOff, 0)
}

// Volume is the messages that set the volume to so many dB below full, MinVolume to MaxVolume. General MIDI level 2 (from memory) gives a channel volume v
// the level 40 log10(v/127) dB.
func Volume(db float64) []Message {
	const dbPerDecade = 40
	value := 0.0
	if db > MinVolume {
		value = math.Round(mostData * math.Pow(10, min(db, MaxVolume)/dbPerDecade))
	}
	return onAllChannels(channelVolume, byte(value))
}

func onAllChannels(controller, value byte) (out []Message) {
	for _, c := range channels {
		out = append(out, Message{Bytes: [3]byte{control | c, controller, value}, Size: 3})
	}
	return out
}

// rounding is how much earlier than need be notes are looked for whose ends may lie in a window, s: far above what adding two times rounds.
const rounding = 1e-3

// Messages is what is to be sent to a MIDI port from `from` up to but not including `to`, in s on the clock, in the order of time; of one moment the ends of
// notes first. Windows that touch give together what one window over both gives. Muted parts start no notes, but end those that they have started. Two notes of one
// key that overlap end when the first one does.
func Messages(s Source, from, to float64, muted [loop.Parts]bool) []Message {
	var out []Message
	for _, e := range s.AppendEvents(nil, from-s.Longest()-rounding, to) {
		channel := byte(e.Channel)
		if e.Time >= from && !muted[e.Part] {
			out = append(out, Message{Time: e.Time, Bytes: [3]byte{noteOn | channel, byte(e.Key), byte(e.Velocity)}, Size: 3})
		}
		if end := e.Time + e.Duration; end >= from && end < to {
			out = append(out, Message{Time: end, Bytes: [3]byte{noteOff | channel, byte(e.Key), releaseVelocity}, Size: 3})
		}
	}
	slices.SortStableFunc(out, func(a, b Message) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(a.Bytes[0]&noteOn, b.Bytes[0]&noteOn))
	})
	return out
}
