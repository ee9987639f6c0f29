package match

import (
	"math/rand/v2"
	"testing"
)

// longLists makes n sung and n played notes: a random walk and the same with a few faults, or one key throughout.
func longLists(n int, oneKey bool) ([]Sung, []Played) {
	r := rand.New(rand.NewPCG(5, 1))
	var sung []Sung
	var played []Played
	step := 7
	for i := range n {
		if !oneKey {
			step = min(max(step+r.IntN(5)-2, 0), 14)
		}
		key := 50 + 12*(step/7) + majorScale[step%7]
		on := float64(i) * 0.4
		sung = append(sung, hear(r, i, key, on, on+0.35, 0.95).Sung)
		if r.IntN(20) > 0 {
			played = append(played, Played{Onset: on, Offset: on + 0.3, Pitch: float64(key + 12), Velocity: 64})
		}
	}
	return sung, played
}

func BenchmarkAlign(b *testing.B) {
	for _, c := range []struct {
		name   string
		n      int
		oneKey bool
	}{{"8 notes", 8, false}, {"500 notes", 500, false}, {"500 equal notes", 500, true}} {
		b.Run(c.name, func(b *testing.B) {
			sung, played := longLists(c.n, c.oneKey)
			b.ReportAllocs()
			for b.Loop() {
				Align(sung, played)
			}
		})
	}
}

func BenchmarkTakes(b *testing.B) {
	sung, _ := longLists(500, false)
	for b.Loop() {
		Takes(sung, sung)
	}
}
