package safefile_test

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"larkhand/internal/safefile"
)

func Example() {
	dir, _ := os.MkdirTemp("", "")
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "phrase.txt")
	err := safefile.Write(path, 0o600, func(w io.Writer) error {
		_, err := io.WriteString(w, "1 2 b3")
		return err
	})
	text, _ := os.ReadFile(path)
	fmt.Println(string(text), err)
	// Output: 1 2 b3 <nil>
}

// TestAnErrorLeavesWhatWasThere: and nothing beside it.
func TestAnErrorLeavesWhatWasThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	if err := os.WriteFile(path, []byte("before"), 0o600); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken")
	err := safefile.Write(path, 0o600, func(w io.Writer) error {
		if _, err := io.WriteString(w, "half"); err != nil {
			t.Fatal(err)
		}
		return broken
	})
	text, _ := os.ReadFile(path)
	files, _ := os.ReadDir(filepath.Dir(path))
	if !errors.Is(err, broken) || string(text) != "before" || len(files) != 1 {
		t.Errorf("%v, %q, %d files", err, text, len(files))
	}
	if err := safefile.Write(filepath.Join(path, "below"), 0o600, func(io.Writer) error { return nil }); err == nil {
		t.Error("no error for a folder that is a file")
	}
}
