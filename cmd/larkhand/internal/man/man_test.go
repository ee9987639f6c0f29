package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"larkhand/cmd/larkhand/internal/command"
)

// TestPages: every command has a page with its description, flags and example.
func TestPages(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "man")
	if err := write(dir); err != nil {
		t.Fatal(err)
	}
	for _, cmd := range command.New().Commands() {
		name := "larkhand-" + cmd.Name() + ".1"
		page, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Error(err)
			continue
		}
		for _, part := range []string{".TH", ".SH SYNOPSIS", ".SH EXAMPLE"} {
			if !strings.Contains(string(page), part) {
				t.Errorf("%s has no %q", name, part)
			}
		}
	}
}
