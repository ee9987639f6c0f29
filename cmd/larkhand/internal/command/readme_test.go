package command

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// The README shows the demo as the program prints and draws it. Other processors
// round some products differently, so this is held on one kind only.
func TestReadmeShowsTheDemo(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("skipped: the README was made on amd64")
	}
	root := filepath.Join("..", "..", "..", "..")
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	picture, err := os.ReadFile(filepath.Join(root, "testdata", "demo.svg"))
	if err != nil {
		t.Fatal(err)
	}
	drawn := filepath.Join(t.TempDir(), "demo.svg")
	var out, other, errs bytes.Buffer
	if code := Run(t.Context(), []string{"demo"}, &out, &errs); code != 0 {
		t.Fatalf("demo ended with %d: %s", code, errs.String())
	}
	if code := Run(t.Context(), []string{"demo", "--svg", drawn}, &other, &errs); code != 0 {
		t.Fatalf("demo --svg ended with %d: %s", code, errs.String())
	}
	if !strings.Contains(string(readme), strings.TrimSpace(out.String())) {
		t.Error("README.md does not show what `larkhand demo` prints; put its output there")
	}
	now, err := os.ReadFile(drawn)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(now, picture) {
		t.Error("testdata/demo.svg is not what `larkhand demo --svg` draws; run go run ./cmd/larkhand demo --svg testdata/demo.svg")
	}
}
