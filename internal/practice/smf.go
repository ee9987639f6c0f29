package practice

import (
	"encoding/binary"
	"math"

	"larkhand/midiin"
)

// ticksPerQuarter of the MIDI files: at 96 quarters a minute a tick is 65 microseconds, a tenth of what MIDI's own cable
// takes for a note (960 microseconds).
const ticksPerQuarter = 9600

// tempoWithoutLoop, quarters a minute, is written where no loop gave one: the default of Standard MIDI Files.
const tempoWithoutLoop = 120.0

// answerFile writes a Standard MIDI File of format 0 (MIDI Manufacturers Association, 1996). Times are s since its zero; it
// ends at end. tempo is in quarters a minute.
func answerFile(messages []midiin.Event, end, tempo float64) []byte {
	if !(tempo > 0) {
		tempo = tempoWithoutLoop
	}
	micros := math.Round(60e6 / tempo)
	ticks := func(t float64) uint32 { return uint32(math.Round(math.Max(0, t) * 1e6 / micros * ticksPerQuarter)) }
	track := []byte{0, 0xFF, 0x51, 3, byte(int(micros) >> 16), byte(int(micros) >> 8), byte(int(micros))}
	now := uint32(0)
	for _, e := range messages {
		at := max(now, ticks(e.Time))
		track = e.Append(appendVariable(track, at-now))
		now = at
	}
	track = append(appendVariable(track, max(now, ticks(end))-now), 0xFF, 0x2F, 0)
	out := append([]byte("MThd"), 0, 0, 0, 6, 0, 0, 0, 1, ticksPerQuarter>>8, ticksPerQuarter&0xFF)
	out = binary.BigEndian.AppendUint32(append(out, "MTrk"...), uint32(len(track)))
	return append(out, track...)
}

// appendVariable writes a number in groups of seven bits, the highest first.
func appendVariable(dst []byte, n uint32) []byte {
	n = min(n, 1<<28-1)
	for shift := 21; shift > 0; shift -= 7 {
		if n>>shift > 0 {
			dst = append(dst, byte(n>>shift)|0x80)
		}
	}
	return append(dst, byte(n&0x7F))
}
