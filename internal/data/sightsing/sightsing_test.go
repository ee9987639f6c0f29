package sightsing

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"larkhand/internal/data/datadir"
)

// write makes a set of one clip with the given label and pitch files.
func write(t *testing.T, labels, pitch string) string {
	t.Helper()
	dir := t.TempDir()
	files := map[string]string{
		"7.flac":                  "",
		"7.txt":                   labels,
		"pitch/train_valid_7.csv": "onset_s,offset_s,midi_annotated,midi_f0_median,midi_f0_iqr,voiced_fraction\n" + pitch,
		"qa.csv":                  "id,snr_db,licence,remarks\n7,31.5,unclear,\"quiet, short\"\n",
	}
	if err := os.Mkdir(filepath.Join(dir, "pitch"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestLoad(t *testing.T) {
	dir := write(t, "0.5 1.0 61.2\n1.0 1.5 119.26\n\n1.6 2.0 72.2\n2.0 2.4 63.2\n2.5 2.9 64.2\n",
		"0.5,1.0,61.2,61.0,0.1,1.00\n1.0,1.5,119.26,62.0,0.2,0.90\n1.6,2.0,72.2,60.1,0.1,1.00\n2.0,2.4,63.2,,,0.00\n2.5,2.9,64.2,64.0,0.1,1.00\n")
	clips, err := Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(clips) != 1 {
		t.Fatalf("%d clips, want 1", len(clips))
	}
	c := clips[0]
	if c.ID != "7" || c.Family != "" || c.Side != Tune || c.Licence != "unclear" || c.Remarks != "quiet, short" || c.SNR != 31.5 || len(c.Notes) != 5 {
		t.Errorf("clip %+v", c)
	}
	if b := c.Bias(); math.Abs(b-.2) > 1e-9 {
		t.Errorf("bias %v, want 0.2", b)
	}
	// Median; median where the label is a placeholder; label where the median is an octave low; label where there is no median.
	for i, want := range []float64{61, 62, 72, 63, 64} {
		if got := c.Truth(i); !(math.Abs(got-want) <= 1e-9) {
			t.Errorf("truth of note %d = %v, want %v", i, got, want)
		}
	}
	for i, want := range []float64{0, math.Inf(1), 11.9, math.Inf(1), 0} {
		if got := c.Disagreement(i); got != want && math.Abs(got-want) > 1e-9 {
			t.Errorf("disagreement of note %d = %v, want %v", i, got, want)
		}
	}
}

func TestLoadRefuses(t *testing.T) {
	const pitch = "0.5,1.0,61.2,61.0,0.1,1.00\n"
	for name, c := range map[string]struct{ labels, pitch, want string }{
		"columns":        {"0.5 1.0\n", pitch, "want onset, offset and pitch"},
		"no number":      {"0.5 1.0 x\n", pitch, "invalid syntax"},
		"backward note":  {"1.0 0.5 60\n", pitch, "later than the onset"},
		"backward order": {"1 2 60\n0.5 1 60\n", pitch, "before the note above"},
		"other length":   {"1 2 60\n3 4 60\n", pitch, "same notes"},
		"broken pitch":   {"1 2 60\n", "1,2,60,?,0,1\n", "midi_f0_median"},
	} {
		_, err := Load(write(t, c.labels, c.pitch))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", name, err, c.want)
		}
	}
	if _, err := Load(t.TempDir()); err == nil {
		t.Error("an empty folder gives no error")
	}
}

func TestSplitFollowsItsRule(t *testing.T) {
	if got := keptByRule(); !slices.Equal(got, keptFamilies) {
		t.Errorf("the rule keeps %q apart, the list says %q", got, keptFamilies)
	}
	seen := map[string]bool{}
	kept, all := 0, 0
	for _, f := range families {
		for _, id := range f.clips {
			if seen[id] {
				t.Errorf("clip %s stands twice", id)
			}
			seen[id] = true
			all++
			if SideOf(id) == Kept {
				kept++
			}
		}
	}
	if all != 67 || kept != 22 {
		t.Errorf("%d of %d clips kept apart, want 22 of 67", kept, all)
	}
}

// The counts are those of the set's own description: 67 clips, 3,348 notes.
func TestRealSet(t *testing.T) {
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	clips, err := Load(filepath.Join(root, "sightsing"))
	if err != nil {
		t.Fatal(err)
	}
	notes, known := 0, 0
	for _, c := range clips {
		if c.Family == "" {
			t.Errorf("clip %s has no family", c.ID)
		}
		for i := range c.Notes {
			notes++
			if !math.IsNaN(c.Truth(i)) {
				known++
			}
		}
	}
	if len(clips) != 67 || notes != 3348 || known < notes-10 {
		t.Errorf("%d clips, %d notes, %d with a pitch", len(clips), notes, known)
	}
	// The description names these clips as labelled a semitone high.
	for _, c := range clips {
		high := slices.Contains([]string{"1252", "4380", "man1_butterfly", "man1_schoolbell", "man1_twinkle", "man2_schoolbell"}, c.ID)
		if got := c.Bias() > .75; got != high {
			t.Errorf("clip %s: bias %.2f semitones", c.ID, c.Bias())
		}
	}
}

func ExampleSideOf() {
	fmt.Println(SideOf("1205"), SideOf("1011"))
	// Output: tune kept
}

func FuzzLabels(f *testing.F) {
	f.Add("0.5 1.0 61.2")
	f.Add("0 1e300 -1")
	f.Fuzz(func(t *testing.T, line string) {
		n, err := label(strings.Fields(line))
		if err == nil && !(n.Offset > n.Onset && n.Onset >= 0) {
			t.Errorf("%q gives %+v", line, n)
		}
	})
}
