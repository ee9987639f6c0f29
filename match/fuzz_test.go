package match

import (
	"encoding/binary"
	"math"
	"testing"
)

// numbers reads any bytes as floats, NaN and infinities included.
type numbers struct{ data []byte }

func (n *numbers) next() float64 {
	var b [8]byte
	n.data = n.data[copy(b[:], n.data):]
	return math.Float64frombits(binary.LittleEndian.Uint64(b[:]))
}

// fuzzNotes bounds the lists, so that each run is short.
const fuzzNotes = 24

func (n *numbers) sung() []Sung {
	var notes []Sung
	for len(n.data) > 0 && len(notes) < fuzzNotes {
		flags := n.next()
		notes = append(notes, Sung{Onset: n.next(), Offset: n.next(), Pitch: n.next(), Semitone: int(int64(math.Float64bits(n.next()))),
			Chance: [3]float64{n.next(), n.next(), n.next()}, Confidence: n.next(), Unclear: flags > 0})
	}
	return notes
}

func (n *numbers) played() []Played {
	var notes []Played
	for len(n.data) > 0 && len(notes) < fuzzNotes {
		notes = append(notes, Played{Onset: n.next(), Offset: n.next(), Pitch: n.next(), Velocity: 64})
	}
	return notes
}

func FuzzAlign(f *testing.F) {
	pack := func(values ...float64) []byte {
		var b []byte
		for _, v := range values {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
		return b
	}
	nan, inf := math.NaN(), math.Inf(1)
	f.Add([]byte{}, []byte{}, 0.0)
	f.Add(pack(0, 0, 0.5, 60, math.Float64frombits(60), 0.01, 0.98, 0.01, 0.95), pack(0, 0.5, 60, 0.5, 1, 61.5), -30.0)
	f.Add(pack(1, nan, inf, nan, nan, nan, inf, -inf, nan), pack(nan, nan, nan, inf, -inf, inf, -1e300, 1e300, 1e300), nan)
	f.Fuzz(func(t *testing.T, sungBytes, playedBytes []byte, tuning float64) {
		sung, played := (&numbers{sungBytes}).sung(), (&numbers{playedBytes}).played()
		a := AlignWith(sung, played, Options{TuningCents: tuning})
		checkShape(t, sung, played, a)
		if math.IsNaN(a.VoiceCents) {
			t.Fatal("VoiceCents is not a number")
		}
		other := (&numbers{playedBytes}).sung()
		if out := Combine(sung, other, Takes(sung, other)); len(out) != len(other) {
			t.Fatalf("%d notes combined, want %d", len(out), len(other))
		}
	})
}
