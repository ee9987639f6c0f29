//go:build !devices || !cgo

package command

import (
	"bytes"
	"strings"
	"testing"
)

// A program without devices says what would work.
func TestPracticeWithoutDevices(t *testing.T) {
	var out, complaint bytes.Buffer
	code := Run(t.Context(), []string{"practice"}, &out, &complaint)
	if said := complaint.String(); code != exitCouldNot || !strings.Contains(said, "`make install` builds one that has them, or give it files in their place") || strings.Count(said, "\n") != 1 {
		t.Errorf("code %d, %q", code, said)
	}
}
