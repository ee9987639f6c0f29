package delay

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var day = time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)

func TestStoreKeepsADelayForEachPair(t *testing.T) {
	path := filepath.Join(t.TempDir(), "larkhand", "delays.toml")
	s, err := Load(path)
	if err != nil || !s.Empty() {
		t.Fatalf("without a file: %+v, %v", s, err)
	}
	s.KeepRoundTrip("Booth", "Desk", Kept{0.04, 0.001, day})
	s.KeepRoundTrip("Booth", "Shelf", Kept{0.3, 0.001, day})
	s.KeepRoundTrip("Booth", "Desk", Kept{0.05, 0.0005, day})
	s.KeepMIDI("Keys 24:0", "Booth", Kept{-0.004, 0.003, day})
	if err := s.Save(path); err != nil {
		t.Fatal(err)
	}
	got, err := Load(path)
	if err != nil || len(got.Round) != 2 || len(got.Keys) != 1 || got.Empty() {
		t.Fatalf("%+v, %v", got, err)
	}
	if k, ok := got.RoundTrip("Booth", "Desk"); !ok || k.Seconds != 0.05 || k.Spread != 0.0005 || !k.Measured.Equal(day) {
		t.Errorf("%+v, %v", k, ok)
	}
	if k, ok := got.MIDI("Keys 28:0", "Booth"); !ok || k.Seconds != -0.004 {
		t.Errorf("%+v, %v", k, ok)
	}
	if _, ok := got.RoundTrip("Desk", "Booth"); ok {
		t.Error("a pair that was not measured has a delay")
	}
	if _, ok := got.MIDI("Keys", "Desk"); ok {
		t.Error("a port that was not measured has a delay")
	}
	if left, err := filepath.Glob(filepath.Join(filepath.Dir(path), ".delays-*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestBadFilesOfDelays(t *testing.T) {
	for name, text := range map[string]string{
		"no TOML":     "[[round_trip",
		"other words": "[[round_trip]]\nheadphones = 'yes'\n",
		"too long":    "[[round_trip]]\nmicrophone = 'a'\nspeaker = 'b'\nseconds = 2.0\n",
		"before":      "[[round_trip]]\nmicrophone = 'a'\nspeaker = 'b'\nseconds = -0.1\n",
		"no number":   "[[midi]]\nport = 'a'\nseconds = nan\n",
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "delays.toml")
			if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
			if s, err := Load(path); err == nil || !s.Empty() || !strings.Contains(err.Error(), "delete that file and measure again") {
				t.Errorf("%+v, %v", s, err)
			}
		})
	}
	if _, err := Load(t.TempDir()); err == nil {
		t.Error("a folder was read")
	}
	if err := (Store{}).Save(filepath.Join(os.DevNull, "delays.toml")); err == nil || !strings.Contains(err.Error(), "cannot remember the delays") {
		t.Errorf("saving under a file: %v", err)
	}
}

// What is read is a delay that can be, whatever the file holds.
func FuzzParse(f *testing.F) {
	f.Add([]byte("[[round_trip]]\nmicrophone = 'a'\nspeaker = 'b'\nseconds = 0.1\nspread = 0.001\nmeasured = 2026-03-04T05:06:07Z\n[[midi]]\nport = 'k'\nseconds = -0.01\n"))
	f.Add([]byte("[[midi]]\nseconds = inf\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := Parse(text)
		if err != nil && !s.Empty() {
			t.Fatalf("an error and %+v", s)
		}
		for _, r := range s.Round {
			if !(r.Seconds >= 0 && r.Seconds <= MostDelay) {
				t.Fatalf("%+v", r)
			}
		}
	})
}
