package practice

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"larkhand/midiin"
)

func TestLogIsReadUpToWhereItWasCut(t *testing.T) {
	path := filepath.Join(t.TempDir(), logName)
	l := createLog(path)
	events := []midiin.Event{note(0, 60, 70), {Time: 0.25, Status: 0xC0, Data1: 5}, note(1.234567, 60, 0)}
	for _, e := range events {
		l.add(e)
	}
	if err := l.close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if want := "0.000000 90 3c 46\n0.250000 c0 05\n1.234567 90 3c 00\n"; string(whole) != want {
		t.Errorf("%q, want %q", whole, want)
	}
	for n := range len(whole) + 1 {
		lines := 0
		for _, b := range whole[:n] {
			if b == '\n' {
				lines++
			}
		}
		if got := parseLog(whole[:n]); !slices.Equal(got, events[:lines]) {
			t.Fatalf("cut at %d: %v, want %v", n, got, events[:lines])
		}
	}
	if createLog(path).close() == nil {
		t.Error("a log is written over")
	}
}

func FuzzParseLog(f *testing.F) {
	f.Add([]byte("0.000000 90 3c 46\n0.250000 c0 05\n"))
	f.Add([]byte("1e9 90 3c 46\nNaN 90 3c 46\n-1 90 3c 46\n0 f0 00 00\n0 90 80 00\n0 90 3c\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, e := range parseLog(data) {
			if !(e.Time >= 0) || e.Status < 0x80 || e.Status >= 0xF0 || e.Data1 >= 0x80 || e.Data2 >= 0x80 {
				t.Fatalf("%+v", e)
			}
		}
	})
}
