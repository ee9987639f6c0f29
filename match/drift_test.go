package match

import (
	"math"
	"math/rand/v2"
	"testing"
)

// drifting sings keys one a second with the pitch rising by cents in all, read against a reference that stands still.
func drifting(keys []int, cents float64) []Sung {
	var notes []Sung
	for i, key := range keys {
		pitch := float64(key) + cents/100*float64(i)/float64(len(keys)-1)
		n := Sung{Onset: float64(i), Offset: float64(i) + 0.9, Pitch: pitch, Semitone: int(math.Round(pitch))}
		n.Chance = heardChance(pitch - float64(n.Semitone))
		n.Confidence, n.Unclear = 0.97*n.Chance[1], n.Chance[1] < 0.8
		notes = append(notes, n)
	}
	return notes
}

// A phrase that drifts by 11 or 50 cents over 50 s keeps all note names (11 cents is the median drift of 24
// unaccompanied singers: Mauch, Frieler, Dixon 2014, J. Acoust. Soc. Am. 136:401). 80 cents, where a third of the notes
// reads one semitone too high, is our own harder case. Of notes that lie half-way the first may stay unclear.
func TestDrift(t *testing.T) {
	for _, c := range []struct {
		cents   float64
		unclear int
	}{{11, 0}, {50, 0}, {80, 2}, {-80, 2}} {
		r := rand.New(rand.NewPCG(4, 1))
		var keys []int
		for range 50 {
			keys = append(keys, 60+majorScale[r.IntN(7)])
		}
		sung := drifting(keys, c.cents)
		var played []Played
		for i, key := range keys {
			played = append(played, Played{Onset: float64(i), Offset: float64(i) + 0.9, Pitch: float64(key), Velocity: 64})
		}
		count := verdictCount(Align(sung, played).Pairs)
		if count[Unclear] > c.unclear || count[Same]+count[Unclear] != len(keys) {
			t.Errorf("%g cents: %v, want all the same, at most %d unclear", c.cents, count, c.unclear)
		}
		played[20].Pitch += 2
		if n := verdictCount(Align(sung, played).Pairs)[Different]; n != 1 {
			t.Errorf("%g cents: %d notes different, want the one that is", c.cents, n)
		}
	}
}

// A single wrong note, and a run of them, must not pass for a moving reference.
func TestDriftExplainsNoWrongNotes(t *testing.T) {
	sung := voice(60, 62, 64, 65, 67, 65, 64, 62, 60, 62, 64, 65)
	played := hand(60, 62, 64, 65, 67, 66, 65, 63, 60, 62, 64, 65)
	if got := verdictCount(Align(sung, played).Pairs); got[Different] != 3 || got[Same] != 9 {
		t.Errorf("got %v, want 3 different and 9 the same", got)
	}
}
