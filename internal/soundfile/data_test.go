package soundfile

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// dataFolder finds the real recordings, which are no part of the project.
func dataFolder(t testing.TB) string {
	t.Helper()
	folder := os.Getenv("LARKHAND_DATA")
	if folder == "" {
		folder = filepath.Join("..", "..", "..", "shared", "data")
	}
	if _, err := os.Stat(folder); err != nil {
		t.Skip("skipped: no data")
	}
	return folder
}

// All 67 recordings of the sight-singing set (three under the race detector) are
// read, without damage, and last as long as a sung exercise does.
func TestRealSinging(t *testing.T) {
	if testing.Short() {
		t.Skip("much arithmetic of one goroutine")
	}
	files, err := filepath.Glob(filepath.Join(dataFolder(t), "sightsing", "*.flac"))
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != 67 {
		t.Fatalf("%d files, want 67", len(files))
	}
	if raceDetector { // it makes the FLAC decoder thirty times slower
		files = files[:3]
	}
	total := 0.0
	for _, path := range files {
		s := mustRead(t, path)
		if d := s.Duration(); d < 3 || d > 180 {
			t.Errorf("%s lasts %.1f s", filepath.Base(path), d)
		}
		total += s.Duration()
		for _, r := range s.Remarks {
			if strings.Contains(r, "cut short") || strings.Contains(r, "damaged") {
				t.Errorf("%s: %s", filepath.Base(path), r)
			}
		}
	}
	t.Logf("%d files, %.0f s in all", len(files), total)
}
