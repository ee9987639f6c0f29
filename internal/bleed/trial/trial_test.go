package trial_test

import (
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"larkhand/internal/bleed"
	"larkhand/internal/bleed/trial"
	"larkhand/internal/data/datadir"
	"larkhand/internal/data/sightsing"
)

// Two clips of the tuning side: the backing must spoil the notes, and taking it out must mend them; automatic gain must not be trusted.
func TestRealVoices(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	clips, err := sightsing.Load(filepath.Join(root, "sightsing"))
	if err != nil {
		t.Fatal(err)
	}
	clips = slices.DeleteFunc(clips, func(c sightsing.Clip) bool { return c.Side != sightsing.Tune })[:2]
	conditions := slices.DeleteFunc(trial.Conditions(), func(c trial.Condition) bool {
		return c.Name != "living room, 0 dB" && c.Name != "-6 dB, automatic gain"
	})
	rows, err := trial.Run(clips, conditions, 1)
	if err != nil {
		t.Fatal(err)
	}
	still, gain := rows[0], rows[1]
	if still.Rise() > still.Condition.Target || still.Raw.NSER() < still.Clean.NSER()+0.2 {
		t.Errorf("0 dB: %.3f clean, %.3f with backing, %.3f taken out", still.Clean.NSER(), still.Raw.NSER(), still.Cleaned.NSER())
	}
	if gain.Verdicts[bleed.Usual]+gain.Verdicts[bleed.SomeBleed] > 0 {
		t.Errorf("verdicts with automatic gain: %v, want marked or refused", gain.Verdicts)
	}
	for _, cells := range trial.Cells(rows) {
		if len(cells) != len(trial.Head()) {
			t.Errorf("%d cells under %d heads", len(cells), len(trial.Head()))
		}
	}
}

func Example() {
	for _, c := range trial.Conditions() {
		if c.Target == 0 {
			fmt.Println(c.Name)
		}
	}
	// Output:
	// -6 dB, automatic gain
	// -6 dB, 10 ms lost
}
