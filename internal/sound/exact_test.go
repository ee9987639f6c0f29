//go:build devices && cgo && linux

package sound

import "testing"

// The check of recordings must see each kind of break, and find each sample after it.
func TestExactFindsSamplesAfterABreak(t *testing.T) {
	sung := make([]float32, 4000)
	for i := range sung {
		sung[i] = noise(int64(i), sungSeed)
	}
	join := func(parts ...[]float32) (all []float32) {
		for _, p := range parts {
			all = append(all, p...)
		}
		return all
	}
	silence := make([]float32, 300)
	for name, c := range map[string]struct {
		got   []float32
		last  int // place of the last sample
		xruns int
	}{
		"whole":    {join(silence, sung, silence), 4299, 0},
		"left out": {join(silence, sung[:1000], sung[1128:]), 4171, 1},
		"twice":    {join(silence, sung[:1000], sung[872:1000], sung[1000:]), 4427, 1},
		"silent":   {join(silence, sung[:1000], silence[:128], sung[1000:]), 4427, 1},
	} {
		t.Run(name, func(t *testing.T) {
			places := exact(t, c.got, c.xruns)
			if len(places) != len(sung) || places[len(places)-1] != c.last || c.got[places[3000]] != sung[3000] {
				t.Errorf("%d places, the last %d, want %d", len(places), places[len(places)-1], c.last)
			}
		})
	}
}
