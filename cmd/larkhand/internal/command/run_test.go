package command

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"larkhand/internal/demo"
)

// manyRounds writes a folder with n rounds: known phrases, so that no sound has to be analysed.
func manyRounds(t *testing.T, n int) string {
	t.Helper()
	dir := t.TempDir()
	_, _, _, answer, _ := demo.Round()
	for i := range n {
		for _, part := range []string{"take1", "answer"} {
			if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%02d-%s.mid", i, part)), answer, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return dir
}

// cancelling cancels a context at the first write.
type cancelling struct {
	bytes.Buffer
	cancel context.CancelFunc
}

func (c *cancelling) Write(p []byte) (int, error) {
	c.cancel()
	return c.Buffer.Write(p)
}

// failing is a full disk.
type failing struct{}

var errFull = errors.New("no space left on device")

func (failing) Write([]byte) (int, error) { return 0, errFull }

// TestBatchLeavesNoGoroutine: a batch that is done, one that is stopped under way and one whose output cannot be written all
// end with every worker gone.
func TestBatchLeavesNoGoroutine(t *testing.T) {
	const rounds = 40
	dir := manyRounds(t, rounds)
	before := goleak.IgnoreCurrent()

	var out bytes.Buffer
	if code := Run(context.Background(), []string{"check", "--batch", dir}, &out, io.Discard); code != exitDone {
		t.Errorf("exit code %d", code)
	}
	if n := strings.Count(out.String(), "all 8 notes as sung"); n != rounds {
		t.Errorf("%d lines, want %d", n, rounds)
	}

	ctx, cancel := context.WithCancel(context.Background())
	stopped := &cancelling{cancel: cancel}
	var stderr bytes.Buffer
	if code := Run(ctx, []string{"check", "--batch", dir}, stopped, &stderr); code != exitCouldNot {
		t.Errorf("exit code %d of a stopped batch", code)
	}
	if stderr.String() != "larkhand: stopped before it was done\n" {
		t.Errorf("a stopped batch says %q", stderr.String())
	}
	if n := strings.Count(stopped.String(), "\n"); n >= rounds {
		t.Errorf("%d lines after it was stopped at the first", n)
	}

	if code := Run(context.Background(), []string{"check", "--batch", dir}, failing{}, io.Discard); code != exitCouldNot {
		t.Errorf("exit code %d where the output cannot be written", code)
	}
	goleak.VerifyNone(t, before)
}

// TestStoppedLeavesNoFile: a command that is stopped, or cannot write, leaves no picture and no half-written one.
func TestStoppedLeavesNoFile(t *testing.T) {
	dir := manyRounds(t, 1)
	picture := filepath.Join(dir, "round.svg")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	args := []string{"check", "--svg", picture, filepath.Join(dir, "00-take1.mid"), filepath.Join(dir, "00-answer.mid")}
	if code := Run(ctx, args, io.Discard, io.Discard); code != exitCouldNot {
		t.Errorf("exit code %d", code)
	}
	err := writeFile(picture, nil, func(w io.Writer) error {
		if _, err := io.WriteString(w, "<svg"); err != nil {
			return err
		}
		return errFull
	})
	if err == nil || !strings.Contains(err.Error(), "cannot write "+picture+": no space left on device") {
		t.Errorf("error %v", err)
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != 2 {
		t.Errorf("files left behind: %v", files)
	}
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		err  error
		want int
	}{
		{nil, exitDone}, {errFull, exitCouldNot}, {wrongUse("no"), exitWrongUse}, {fmt.Errorf("outer: %w", wrongUse("no")), exitWrongUse},
	} {
		if got := exitCode(c.err); got != c.want {
			t.Errorf("exit code of %v is %d, want %d", c.err, got, c.want)
		}
	}
}

func TestNearest(t *testing.T) {
	names := []string{"check", "chart", "completion", "demo", "notes", "pitch", "tempo"}
	for word, want := range map[string]string{"chek": "check", "chrat": "chart", "dmeo": "demo", "note": "notes", "comp": "completion", "sonata": "", "q": "", "tempi": "tempo"} {
		if got, _ := nearest(word, names); got != want {
			t.Errorf("nearest(%q) = %q, want %q", word, got, want)
		}
	}
	// Wagner and Fischer 1974; the words are a textbook example, from memory.
	if got := editDistance("kitten", "sitting"); got != 3 {
		t.Errorf("editDistance is %d, want 3", got)
	}
}

func TestProgressBar(t *testing.T) {
	var b bytes.Buffer
	p := bar{&b, 4}
	p.show(1)
	p.clear()
	want := "\r[==========                              ] 1 of 4 rounds\r\x1b[K"
	if b.String() != want {
		t.Errorf("bar %q, want %q", b.String(), want)
	}
	b.Reset()
	newBar(&b, 4).show(2)
	if b.Len() > 0 {
		t.Errorf("a bar where there is no terminal: %q", b.String())
	}
}

func TestColourOnlyOnTerminals(t *testing.T) {
	file, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if inColour(file) || inColour(&bytes.Buffer{}) {
		t.Error("colour in a file")
	}
}
