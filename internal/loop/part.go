package loop

import (
	"fmt"
	"strings"
)

// Part is a voice of the backing.
type Part uint8

// The parts of the backing.
const (
	Click Part = iota
	HiHat
	Comping
	Bass
	Parts // how many there are
)

var partNames = [Parts]string{Click: "click", HiHat: "hi-hat", Comping: "comping", Bass: "bass"}

// String is the name of the part.
func (p Part) String() string {
	if p >= Parts {
		return fmt.Sprintf("Part(%d)", uint8(p))
	}
	return partNames[p]
}

// ParsePart reads the name of a part.
func ParsePart(s string) (Part, error) {
	text := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "hihat", "hi-hat")
	for p, name := range partNames {
		if text == name {
			return Part(p), nil
		}
	}
	return 0, fmt.Errorf("%q is no part of the backing; there are %s", s, strings.Join(partNames[:], ", "))
}

// Event is one note of the backing.
type Event struct {
	Time     float64 // s on the round's clock
	Duration float64 // s, above 0
	Key      int     // MIDI note number, 0 to 127; on the percussion channel it chooses the instrument
	Velocity int     // 1 to 127
	Part     Part
	Channel  int // MIDI channel counted from 0
	Program  int // General MIDI program counted from 0; without meaning on the percussion channel
}

// Channels, programs and percussion keys of the parts, by General MIDI level 1 (from memory), counted from 0.
const (
	BassChannel       = 0
	CompingChannel    = 1
	PercussionChannel = 9

	BassProgram    = 32 // acoustic bass
	CompingProgram = 4  // electric piano 1

	closedHiHat   = 42
	pedalHiHat    = 44
	highWoodBlock = 76
	lowWoodBlock  = 77
)

// voices holds channel and program of each part.
var voices = [Parts]struct{ channel, program int }{
	Click:   {channel: PercussionChannel},
	HiHat:   {channel: PercussionChannel},
	Comping: {CompingChannel, CompingProgram},
	Bass:    {BassChannel, BassProgram},
}
