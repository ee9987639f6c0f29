package command

import (
	"fmt"
	"os"
	"testing"

	"golang.org/x/sys/unix"
)

// openTerminal makes a pseudo-terminal and gives the end that a program writes to.
func openTerminal(t *testing.T) *os.File {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skip("skipped: no pseudo-terminals here:", err)
	}
	t.Cleanup(func() { master.Close() })
	if err := unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		t.Skip("skipped: the pseudo-terminal cannot be unlocked:", err)
	}
	number, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err != nil {
		t.Skip("skipped: the pseudo-terminal has no number:", err)
	}
	slave, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skip("skipped: the pseudo-terminal cannot be opened:", err)
	}
	t.Cleanup(func() { slave.Close() })
	return slave
}

// TestColourOnTerminal: a terminal has colour unless NO_COLOR is set to anything (no-color.org) or TERM is dumb, and a bar in any case.
func TestColourOnTerminal(t *testing.T) {
	terminal := openTerminal(t)
	for _, c := range []struct {
		noColour, term string
		want           bool
	}{
		{"", "xterm", true}, {"1", "xterm", false}, {"0", "xterm", false}, {"", "dumb", false},
	} {
		t.Setenv("NO_COLOR", c.noColour)
		t.Setenv("TERM", c.term)
		if got := inColour(terminal); got != c.want {
			t.Errorf("NO_COLOR=%q TERM=%q: colour %v, want %v", c.noColour, c.term, got, c.want)
		}
	}
	if p := newBar(terminal, 3); p.w == nil {
		t.Error("no progress bar on a terminal")
	}
}
