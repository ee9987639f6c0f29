package round

import (
	"strings"
	"testing"

	"larkhand/internal/loop"
	"larkhand/internal/music"
)

// Two takes that follow one another over a loop of two bars of 2 s: the loop's first chord sounds under the first note of take 1, which begins
// 2 s before take 2, and its second chord under the same note of take 2.
func TestChordsOfEachTake(t *testing.T) {
	chart, err := music.ParseChart("Cm7 | Fm7")
	if err != nil {
		t.Fatal(err)
	}
	l, err := loop.New(chart, 120, -2)
	if err != nil {
		t.Fatal(err)
	}
	opt := Options{Key: cMinor(t), Loop: &l, TakeStarts: []float64{-2, 0}}
	r := judge(t, opt, playedNotes(tune...), sungTake("", 0, tune...), sungTake("", 0, tune...))
	for take, want := range []string{"Cm7", "Fm7"} {
		if chord, _ := r.SungChord(take, 0); chord != want {
			t.Errorf("take %d begins over %s, want %s", take+1, chord, want)
		}
	}
	opt.TakeStarts = []float64{0}
	if _, err := Judge([]Take{sungTake("", 0, tune...), sungTake("", 0, tune...)}, Answer{Notes: playedNotes(tune...)}, opt); err == nil || !strings.Contains(err.Error(), "give one for each take") {
		t.Errorf("one start for two takes: %v", err)
	}
}
