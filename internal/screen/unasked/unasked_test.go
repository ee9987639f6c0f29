package unasked

import (
	"os"
	"testing"
)

// In a test process the variable is set from the start, unless the caller had set it.
func TestDone(t *testing.T) {
	before := os.Getenv(variable)
	if before == "" {
		t.Fatal("the variable is not set at the start")
	}
	Done()
	if after := os.Getenv(variable); set && after != "" || !set && after != before {
		t.Errorf("%s is %q after Done, was %q", variable, after, before)
	}
}
