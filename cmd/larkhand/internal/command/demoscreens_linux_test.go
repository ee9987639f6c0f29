package command

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"

	"larkhand/internal/sound"
)

// The demo goes by on the screens; keys skip forward from part to part, up to the verdict.
func TestDemoInTerminal(t *testing.T) {
	term := inTerminal(t, 80, 24, "demo")
	term.wait("Sing after the count.")
	term.wait("Miravel sings over four bars")
	for _, prompt := range []string{"Sing a short phrase.", "Sing the same phrase once more.", "Play the phrase."} {
		term.press("z")
		term.wait(prompt)
	}
	term.press(" ")
	term.wait("All 7 notes as sung; 1 note was added; the 3rd was found by trying")
	term.wait("the end: up/down move  q quit  ? help")
	term.press("q")
	term.end()
	if left, err := filepath.Glob(filepath.Join(term.folder, "larkhand-demo-*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// With --plain or another flag a terminal gets what a pipe gets; so does one that asks for no command of a
// program without devices.
func TestPlainOnTerminal(t *testing.T) {
	program := filepath.Join(programFolder(t), "larkhand")
	for want, args := range map[string][]string{
		"All 7 notes as sung":             {"demo", "--plain"},
		"\"schema\":\"larkhand.round/1\"": {"demo", "--json"},
		"Usage:":                          {},
	} {
		if len(args) == 0 && sound.Built {
			continue
		}
		cmd := exec.Command(program, args...)
		cmd.Env = append(os.Environ(), "TERM=xterm-256color", "NO_COLOR=1")
		file, err := pty.Start(cmd)
		if err != nil {
			t.Skip("skipped: no pseudo-terminals here:", err)
		}
		said, err := io.ReadAll(file) // ends with an error where the program has closed its side
		if err != nil && len(said) == 0 {
			t.Fatal(err)
		}
		file.Close()
		if err := cmd.Wait(); err != nil {
			t.Error(err)
		}
		text := strings.NewReplacer(": ", ":", "\r", "").Replace(string(said))
		if !strings.Contains(text, strings.ReplaceAll(want, ": ", ":")) || strings.ContainsRune(text, '\x1b') {
			t.Errorf("%v says %q", args, said)
		}
	}
}

// Without a command the program opens the set-up on a terminal, where it has devices.
func TestBareProgramOpensPractice(t *testing.T) {
	if !sound.Built {
		t.Skip("skipped: this program was built without devices")
	}
	term := inTerminal(t, 80, 24)
	term.wait("Larkhand: set-up")
	term.press(ctrlC)
	term.end()
}
