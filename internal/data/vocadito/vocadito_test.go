package vocadito_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"larkhand/internal/data/datadir"
	"larkhand/internal/data/vocadito"
)

func write(dir string, changed map[string]string) error {
	files := map[string]string{
		"vocadito_1.wav":         "",
		"vocadito_1_f0.csv":      "0.0,0.0\n0.0058,220.0\n",
		"vocadito_1_notesA1.csv": "0.5,440.0,0.25\n",
		"vocadito_1_notesA2.csv": "0.5,440.0,0.125\n0.625,220.0,0.125\n",
	}
	for name, text := range changed {
		files[name] = text
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return err
		}
	}
	return nil
}

func ExampleLoad() {
	dir, err := os.MkdirTemp("", "clip")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	if err := write(dir, nil); err != nil {
		panic(err)
	}
	clip, err := vocadito.Load(dir)
	fmt.Println(len(clip.F0.Times), clip.Notes[0], len(clip.Notes[1]), err)
	// Output: 2 [{0.5 0.75 69}] 2 <nil>
}

func TestLoadRefuses(t *testing.T) {
	for name, changed := range map[string]map[string]string{
		"no number":        {"vocadito_1_f0.csv": "0.0,x\n"},
		"columns":          {"vocadito_1_notesA1.csv": "0.5,440.0\n"},
		"no duration":      {"vocadito_1_notesA2.csv": "0.5,440.0,0\n"},
		"no frequency":     {"vocadito_1_notesA2.csv": "0.5,-1,0.2\n"},
		"no number, notes": {"vocadito_1_notesA2.csv": "0.5,a,0.2\n"},
	} {
		dir := t.TempDir()
		if err := write(dir, changed); err != nil {
			t.Fatal(err)
		}
		if _, err := vocadito.Load(dir); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := vocadito.Load(t.TempDir()); err == nil {
		t.Error("an empty folder gives no error")
	}
}

// 59 and 64 notes stand in the two annotators' files of the published clip.
func TestRealClip(t *testing.T) {
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	clip, err := vocadito.Load(filepath.Join(root, "vocadito"))
	if err != nil {
		t.Fatal(err)
	}
	if len(clip.Notes[0]) != 59 || len(clip.Notes[1]) != 64 {
		t.Errorf("%d and %d notes, want 59 and 64", len(clip.Notes[0]), len(clip.Notes[1]))
	}
	if n := clip.Notes[0][0]; math.Abs(n.Pitch-49.63) > .01 { // 143.742 Hz
		t.Errorf("first note %v", n)
	}
}
