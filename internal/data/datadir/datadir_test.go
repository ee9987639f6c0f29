package datadir_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"larkhand/internal/data/datadir"
)

func ExampleFind() {
	os.Setenv(datadir.Variable, "no such folder")
	defer os.Unsetenv(datadir.Variable)
	if _, ok := datadir.Find(); !ok {
		fmt.Println("skipped: no data")
	}
	// Output: skipped: no data
}

func TestVariableWins(t *testing.T) {
	dir := t.TempDir()
	t.Setenv(datadir.Variable, dir)
	if got, ok := datadir.Find(); got != dir || !ok {
		t.Errorf("Find() = %q, %v, want %q, true", got, ok, dir)
	}
}

func TestBesideTheRepository(t *testing.T) {
	top := t.TempDir()
	want := filepath.Join(top, "shared", "data")
	inside := filepath.Join(top, "main", "deep")
	for _, d := range []string{want, inside} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(top, "main", "go.mod"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	t.Setenv(datadir.Variable, "")
	t.Chdir(inside)
	got, ok := datadir.Find()
	if !ok {
		t.Fatalf("Find() = %q, false", got)
	}
	a, _ := os.Stat(got)
	b, _ := os.Stat(want)
	if !os.SameFile(a, b) {
		t.Errorf("Find() = %q, want %q", got, want)
	}
}
