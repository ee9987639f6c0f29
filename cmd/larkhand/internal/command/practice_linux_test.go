package command

import (
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"

	"larkhand/internal/demo"
)

// terminal is the true binary in a terminal of its own.
type terminal struct {
	t      *testing.T
	file   *os.File
	screen *lockedScreen
	ended  chan error
	stderr *strings.Builder
	folder string // for settings and temporary files
}

// lockedScreen is written by one goroutine and looked at by another; the emulator's own lock leaves String out.
type lockedScreen struct {
	lock     sync.Mutex
	emulator *vt.SafeEmulator
}

func (s *lockedScreen) Write(p []byte) (int, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.emulator.Write(p)
}

func (s *lockedScreen) String() string {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.emulator.String()
}

func (s *lockedScreen) Resize(width, height int) {
	s.lock.Lock()
	defer s.lock.Unlock()
	s.emulator.Resize(width, height)
}

// Close ends the goroutine that carries the answers; the emulator's own Close would not wait for it.
func (s *lockedScreen) Close() {
	if pipe, ok := s.emulator.InputPipe().(io.Closer); ok {
		pipe.Close()
	}
}

// inTerminal starts larkhand with the arguments, in a folder of its own for everything that it writes.
func inTerminal(t *testing.T, width, height int, args ...string) *terminal {
	t.Helper()
	program := filepath.Join(programFolder(t), "larkhand")
	cmd := exec.Command(program, args...)
	stderr := &strings.Builder{}
	cmd.Stderr = stderr
	folder := t.TempDir()
	cmd.Env = append(os.Environ(), "XDG_CONFIG_HOME="+filepath.Join(folder, "settings"), "TMPDIR="+folder, "TERM=xterm-256color", "NO_COLOR=1")
	file, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: uint16(height), Cols: uint16(width)})
	if err != nil {
		t.Skip("skipped: no pseudo-terminals here:", err)
	}
	term := &terminal{t: t, file: file, screen: &lockedScreen{emulator: vt.NewSafeEmulator(width, height)}, ended: make(chan error, 1), stderr: stderr, folder: folder}
	go io.Copy(term.screen, file)          // ends with the program
	go io.Copy(file, term.screen.emulator) // answers of the terminal; ends with it
	go func() { term.ended <- cmd.Wait() }()
	t.Cleanup(func() {
		cmd.Process.Kill() // of no effect where it has ended
		file.Close()
		term.screen.Close()
	})
	return term
}

// programFolder is where testscript.Main has put this program under its name.
func programFolder(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("larkhand")
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Dir(path)
}

// wait waits until the screen shows a text.
func (term *terminal) wait(text string) {
	term.t.Helper()
	const patience = 30 * time.Second
	for begun := time.Now(); time.Since(begun) < patience; time.Sleep(10 * time.Millisecond) {
		if strings.Contains(term.screen.String(), text) {
			return
		}
	}
	term.t.Fatalf("the screen does not show %q:\n%s", text, term.screen.String())
}

func (term *terminal) press(keys string) {
	term.t.Helper()
	if _, err := io.WriteString(term.file, keys); err != nil {
		term.t.Fatal(err)
	}
}

func (term *terminal) resize(width, height int) {
	term.t.Helper()
	term.screen.Resize(width, height)
	if err := pty.Setsize(term.file, &pty.Winsize{Rows: uint16(height), Cols: uint16(width)}); err != nil {
		term.t.Fatal(err)
	}
}

// end waits until the program has ended with exit code 0 and has said nothing but its screens.
func (term *terminal) end() {
	term.t.Helper()
	const patience = 20 * time.Second
	select {
	case err := <-term.ended:
		if err != nil {
			term.t.Errorf("ended with %v", err)
		}
	case <-time.After(patience):
		term.t.Fatalf("does not end:\n%s", term.screen.String())
	}
	if term.stderr.Len() > 0 {
		term.t.Errorf("says beside its screens %q", term.stderr.String())
	}
}

// leavesNothing fails where recordings that nobody keeps are still there.
func (term *terminal) leavesNothing() {
	term.t.Helper()
	left, err := filepath.Glob(filepath.Join(term.folder, "larkhand-practice-*"))
	if err != nil || len(left) > 0 {
		term.t.Errorf("left behind: %v, %v", left, err)
	}
}

const (
	enter  = "\r"
	ctrlC  = "\x03"
	escape = "\x1b"
)

// keptDemo writes the demo round and gives the arguments that practise it.
func keptDemo(t *testing.T) (args []string) {
	t.Helper()
	folder := t.TempDir()
	meta, err := demo.Write(folder)
	if err != nil {
		t.Fatal(err)
	}
	return []string{"practice", "--mic", filepath.Join(folder, demo.FirstName), "--mic", filepath.Join(folder, demo.SecondName), "--midi", filepath.Join(folder, demo.AnswerName),
		"--key", meta.Key, "--chart", meta.Chart, "--tempo", decimal(meta.Tempo), "--loop-alone", "no",
		"--loop-starts", decimal(meta.LoopStart), "--answer-starts", decimal(meta.AnswerStart)}
}

// From the set-up to the verdict in a terminal, with a change of its size, back to the set-up and out.
func TestPracticeInTerminal(t *testing.T) {
	term := inTerminal(t, 80, 24, append(keptDemo(t), "--fast")...)
	term.wait("Larkhand: set-up")
	term.wait("Cm7 | Fm7 | G7b9 | Cm7")
	term.press(enter)
	term.wait("All 7 notes as sung; 1 note was added; the 3rd was found by trying")
	term.wait("verdict   same   same   added  same   same   same   same   same")
	term.wait("Response time 1.4 s")
	term.wait("The rounds are not kept")
	term.resize(60, 20)
	term.wait("(#3)  sung -                played E5    added")
	term.resize(50, 10)
	term.wait("Larkhand needs at least 60 columns and 20 rows")
	term.resize(100, 30)
	term.wait("verdict   same   same   added  same")
	term.press(escape)
	term.wait("Larkhand: set-up")
	term.press(ctrlC)
	term.end()
}

// Ctrl-C ends the program from every part of a round, and leaves nothing behind but remembered settings.
func TestCtrlCInEveryPart(t *testing.T) {
	demoArgs := keptDemo(t)
	for _, prompt := range []string{"Larkhand: set-up", "Listen to the loop", "Sing after the count", "Sing a short phrase", "Sing the same phrase once more", "Work out the degrees", "Play the phrase", "keys of a round"} {
		t.Run(prompt, func(t *testing.T) {
			t.Parallel()
			// At this tempo a bar lasts a second.
			term := inTerminal(t, 80, 24, "practice", "--mic", demoArgs[2], "--key", "C minor", "--chart", "Cm7 | Fm7", "--tempo", "240", "--bars", "2", "--thinking", "1")
			term.wait("Larkhand: set-up")
			switch prompt {
			case "Larkhand: set-up":
			case "keys of a round":
				term.press("?")
			default:
				term.press(enter)
			}
			term.wait(prompt)
			term.press(ctrlC)
			term.end()
			term.leavesNothing()
		})
	}
}

// A terminal that is closed ends the program as well, and nothing stays behind.
func TestClosedTerminal(t *testing.T) {
	term := inTerminal(t, 80, 24, keptDemo(t)...)
	term.wait("Larkhand: set-up")
	term.press(enter)
	term.wait("Sing after the count")
	term.file.Close()
	const patience = 20 * time.Second
	select {
	case <-term.ended:
	case <-time.After(patience):
		t.Fatal("does not end")
	}
	term.leavesNothing()
}

// The screens need a terminal that can draw them.
func TestPracticeOnDumbTerminal(t *testing.T) {
	t.Setenv("TERM", "dumb")
	cmd := exec.Command(filepath.Join(programFolder(t), "larkhand"), keptDemo(t)...)
	file, err := pty.Start(cmd)
	if err != nil {
		t.Skip("skipped: no pseudo-terminals here:", err)
	}
	defer file.Close()
	said, err := io.ReadAll(file)
	if err != nil && !errors.Is(err, os.ErrClosed) && len(said) == 0 {
		t.Fatal(err)
	}
	if cmd.Wait() == nil || !strings.Contains(string(said), "add --plain to read it line by line") {
		t.Errorf("says %q", said)
	}
}

// A command asks the terminal nothing before it prints: one that does not answer would hold it up.
func TestNothingIsAskedOfTheTerminal(t *testing.T) {
	t.Setenv("TERM", "xterm-256color")
	t.Setenv("CI", "")
	cmd := exec.Command(filepath.Join(programFolder(t), "larkhand"), "version")
	file, err := pty.Start(cmd)
	if err != nil {
		t.Skip("skipped: no pseudo-terminals here:", err)
	}
	defer file.Close()
	said, err := io.ReadAll(file) // ends with an error where the program has closed its side
	if err != nil && len(said) == 0 {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsRune(string(said), '\x1b') || !strings.HasPrefix(string(said), "larkhand ") {
		t.Errorf("says %q", said)
	}
}
