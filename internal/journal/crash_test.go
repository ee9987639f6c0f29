//go:build unix

package journal

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// The tests of this file run the test program once more, as a child that ends itself by SIGKILL before the step that the
// environment names; nothing of it runs on, no file is closed, no transaction is rolled back.
const (
	childJob  = "LARKHAND_TEST_CHILD" // what the child does
	childDir  = "LARKHAND_TEST_DIR"
	childStop = "LARKHAND_TEST_STOP" // before which step it ends, from 1; 0 for never
)

func TestMain(m *testing.M) {
	if job := os.Getenv(childJob); job != "" {
		if err := runChild(job); err != nil {
			fmt.Println("failed:", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// stopper ends the program before a step.
type stopper struct {
	realDisk
	left int // steps until the end; negative: never
}

func (s *stopper) step(what string) {
	fmt.Println("step", what)
	if s.left--; s.left == 0 {
		syscall.Kill(syscall.Getpid(), syscall.SIGKILL)
		time.Sleep(time.Minute) // the signal comes before this is over
	}
}

func (s *stopper) Write(path string, data []byte) error {
	s.step("write " + filepath.Base(path))
	if err := os.WriteFile(path, data[:len(data)/2], fileMode); err != nil {
		return err
	}
	s.step("half of " + filepath.Base(path))
	if err := os.Remove(path); err != nil {
		return err
	}
	return s.realDisk.Write(path, data)
}

func (s *stopper) MakeDir(path string) error { s.step("folder"); return s.realDisk.MakeDir(path) }
func (s *stopper) Rename(from, to string) error {
	s.step("rename")
	return s.realDisk.Rename(from, to)
}
func (s *stopper) Sync(dir string) error    { s.step("sync"); return s.realDisk.Sync(dir) }
func (s *stopper) Remove(path string) error { s.step("remove"); return s.realDisk.Remove(path) }
func (s *stopper) Step(name string)         { s.step(name) }

// childEntry is what the child is to save, made by the parent; the child cannot make one without a testing.T.
type childEntry struct {
	Record record
	Files  []childFile
}

type childFile struct {
	Name string
	Data []byte
}

const childEntryName = "entry-for-child.json"

func writeChildEntry(t *testing.T, dir string, e Entry) {
	t.Helper()
	rec, err := recordOf(e)
	if err != nil {
		t.Fatal(err)
	}
	files, err := filesOf(e)
	if err != nil {
		t.Fatal(err)
	}
	child := childEntry{Record: rec}
	for _, f := range files {
		child.Files = append(child.Files, childFile{f.name, f.data})
	}
	text, err := json.Marshal(child)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, childEntryName), text, 0o600); err != nil {
		t.Fatal(err)
	}
}

func runChild(job string) error {
	dir := os.Getenv(childDir)
	stop, err := strconv.Atoi(os.Getenv(childStop))
	if err != nil {
		return err
	}
	d := &stopper{left: -1}
	j, err := open(dir, d)
	if err != nil {
		return err
	}
	d.left = stop
	if stop == 0 {
		d.left = -1
	}
	ctx := context.Background()
	switch job {
	case "save":
		return childSave(ctx, j, 1)
	case "save many":
		return childSave(ctx, j, 1000)
	case "mark":
		rows, err := j.Rounds(ctx, Filter{}, Page{})
		if err != nil {
			return err
		}
		return j.Mark(ctx, rows[0].ID, true)
	case "purge":
		_, err := j.PurgeAll(ctx)
		return err
	case "record":
		r, err := j.Record(began, map[string]string{"key": "C minor"})
		if err != nil {
			return err
		}
		for _, name := range []string{"take1.wav", "take2.wav"} {
			if err := d.Write(filepath.Join(r.Dir, name), []byte("as far as it came")); err != nil {
				return err
			}
		}
		syscall.Kill(syscall.Getpid(), syscall.SIGKILL)
		time.Sleep(time.Minute)
	}
	return fmt.Errorf("no such job: %s", job)
}

// childSave saves the entry count times under new names, and tells each that is committed.
func childSave(ctx context.Context, j *Journal, count int) error {
	text, err := os.ReadFile(filepath.Join(j.dir, childEntryName))
	if err != nil {
		return err
	}
	var e childEntry
	if err := json.Unmarshal(text, &e); err != nil {
		return err
	}
	for i := range count {
		rec := e.Record
		rec.UID = newUID(began.Add(time.Duration(i) * time.Second))
		var files []namedFile
		for _, f := range e.Files {
			files = append(files, namedFile{f.Name, f.Data})
		}
		if _, err := j.save(ctx, &rec, files); err != nil {
			return err
		}
		fmt.Println("saved", rec.UID)
	}
	return nil
}

// child runs a job and gives what it printed; killed is true where it was ended by a signal.
func child(t *testing.T, job, dir string, stop int) (lines []string, killed bool) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childJob+"="+job, childDir+"="+dir, childStop+"="+strconv.Itoa(stop))
	out, err := cmd.Output()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		killed = exit.ProcessState.Sys().(syscall.WaitStatus).Signaled()
	}
	if err != nil && !killed {
		t.Fatalf("the child failed: %v\n%s", err, out)
	}
	s := bufio.NewScanner(bytes.NewReader(out))
	for s.Scan() {
		lines = append(lines, s.Text())
	}
	return lines, killed
}

// A program that saves a round is stopped before every single step of it. The round is then there whole or not at all, nothing of it
// lies about, what was saved before is there, and the journal can be used.
func TestStoppedAtEveryStepOfASave(t *testing.T) {
	if testing.Short() {
		t.Skip("runs a program some thirty times")
	}
	var steps []string
	committed := 0
	for stop := 1; ; stop++ {
		dir := t.TempDir()
		j := mustOpen(t, dir)
		before := mustSave(t, j, withFiles(t, plain(t, began)))
		writeChildEntry(t, dir, withFiles(t, entry(t, began.Add(time.Hour), "C minor", "Sorel", "Sorel", groped)))
		j.Close()
		lines, killed := child(t, "save", dir, stop)
		if !killed {
			steps = lines
			break
		}
		j = mustOpen(t, dir)
		rows := mustRounds(t, j, Filter{})
		h := healthy(t, j)
		if len(rows) < 1 || rows[len(rows)-1].ID != before || h.Files != 3*len(rows) {
			t.Fatalf("stopped before step %d (%s): %d rounds and %d files", stop, lines[len(lines)-1], len(rows), h.Files)
		}
		if len(rows) == 2 {
			committed++
			if s := mustRound(t, j, rows[0].ID); s.Label != "searched" || len(s.Takes) != 2 || len(s.Remarks()) > 0 {
				t.Errorf("stopped before step %d: the round is not whole: %+v", stop, s)
			}
		}
		if left, _ := os.ReadDir(filepath.Join(dir, partsName)); len(left) > 0 {
			t.Errorf("stopped before step %d (%s): parts holds %v", stop, lines[len(lines)-1], left)
		}
		mustSave(t, j, withFiles(t, plain(t, began.Add(2*time.Hour))))
		j.Close()
	}
	// After the commit come the step that says so and the removal of the note.
	if committed != 2 {
		t.Errorf("%d stops left the round there; want 2, those after the commit", committed)
	}
	order := slices.DeleteFunc(steps, func(s string) bool {
		return s == "step remove" || strings.HasPrefix(s, "step half") || !strings.HasPrefix(s, "step ")
	})
	want := []string{"step sync", "step folder", "step write take1.flac", "step write take2.flac", "step write answer.mid", "step write round.json",
		"step sync", "step rename", "step sync", "step begin", "step commit", "step committed"}
	if !slices.Equal(order, want) {
		t.Errorf("the steps of a save are %q, want %q", order, want)
	}
}

// The same for a purge: the deleted round is gone with its files, or still there with them.
func TestStoppedAtEveryStepOfAPurge(t *testing.T) {
	if testing.Short() {
		t.Skip("runs a program some ten times")
	}
	var gone, there int
	for stop := 1; ; stop++ {
		dir := t.TempDir()
		j := mustOpen(t, dir)
		keep := mustSave(t, j, withFiles(t, plain(t, began)))
		id := mustSave(t, j, withFiles(t, plain(t, began.Add(time.Hour))))
		if err := j.Delete(ctx, id); err != nil {
			t.Fatal(err)
		}
		j.Close()
		_, killed := child(t, "purge", dir, stop)
		j = mustOpen(t, dir)
		h := healthy(t, j)
		if rows := mustRounds(t, j, Filter{}); len(rows) != 1 || rows[0].ID != keep || h.Files != 3*h.Rounds {
			t.Fatalf("stopped before step %d: %d rounds, checked %d with %d files", stop, len(rows), h.Rounds, h.Files)
		}
		if h.Rounds == 1 {
			gone++
		} else {
			there++
		}
		j.Close()
		if !killed {
			break
		}
	}
	if gone < 2 || there < 2 {
		t.Errorf("%d stops came before the commit and %d after it", there, gone)
	}
}

// The same for a mark: it is there or not, in the database and in the folder alike.
func TestStoppedAtEveryStepOfAMark(t *testing.T) {
	if testing.Short() {
		t.Skip("runs a program some ten times")
	}
	var marked, not int
	for stop := 1; ; stop++ {
		dir := t.TempDir()
		j := mustOpen(t, dir)
		keep := mustSave(t, j, withFiles(t, plain(t, began)))
		id := mustSave(t, j, withFiles(t, stepped(t, began.Add(time.Hour))))
		mustMark(t, j, id, false)
		j.Close()
		lines, killed := child(t, "mark", dir, stop)
		j = mustOpen(t, dir)
		h := healthy(t, j)
		s := mustRound(t, j, id)
		if h.Rounds != 2 || h.Files != 6 || mustRound(t, j, keep).Misheard || s.Misheard != markInFolder(t, j, id) || s.Written == nil || len(s.Weak) != 2 {
			t.Fatalf("stopped before step %d (%s): %+v, in its folder %v", stop, lines[len(lines)-1], s, markInFolder(t, j, id))
		}
		if left, _ := os.ReadDir(filepath.Join(dir, partsName)); len(left) > 0 {
			t.Errorf("stopped before step %d (%s): parts holds %v", stop, lines[len(lines)-1], left)
		}
		if s.Misheard {
			marked++
		} else {
			not++
		}
		j.Close()
		if !killed {
			break
		}
	}
	if marked < 2 || not < 5 {
		t.Errorf("%d stops came before the commit and %d after it", not, marked)
	}
}

// Power that goes while SQLite itself writes leaves a log that ends anywhere. Wherever it is cut, the round that was committed before is
// there, and the other one is there whole or not at all.
func TestLogCutAnywhere(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	first := mustSave(t, j, withFiles(t, plain(t, began)))
	wal := filepath.Join(dir, databaseName+"-wal")
	before, err := os.ReadFile(wal)
	if err != nil {
		t.Fatal(err)
	}
	second := mustSave(t, j, withFiles(t, entry(t, began.Add(time.Hour), "C minor", "Sorel", "Sorel", groped)))
	uid := mustRound(t, j, second).UID
	after, err := os.ReadFile(wal)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(after, before) || len(after) == len(before) {
		t.Fatalf("the log went from %d to %d bytes and does not begin alike", len(before), len(after))
	}
	const pieces = 40
	whole := 0
	for i := range pieces + 1 {
		cut := len(before) + i*(len(after)-len(before))/pieces
		copied := t.TempDir()
		if err := os.CopyFS(copied, os.DirFS(dir)); err != nil {
			t.Fatal(err)
		}
		os.Remove(filepath.Join(copied, databaseName+"-shm"))
		if err := os.WriteFile(filepath.Join(copied, databaseName+"-wal"), after[:cut], 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(copied, partsName, uid+noteEnding), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		c := mustOpen(t, copied)
		rows := mustRounds(t, c, Filter{})
		healthy(t, c)
		if len(rows) == 2 {
			whole++
		}
		if len(rows) == 0 || len(rows) > 2 || rows[len(rows)-1].ID != first {
			t.Errorf("cut after %d of %d bytes: %d rounds", cut, len(after), len(rows))
		}
		c.Close()
	}
	if whole == 0 || whole == pieces+1 {
		t.Errorf("the second round is there in %d of %d cases", whole, pieces+1)
	}
}

// A program that saves round after round is stopped at any moment, also inside a step: every round that it told of is there.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	for i := range 8 {
		dir := t.TempDir()
		j := mustOpen(t, dir)
		writeChildEntry(t, dir, withFiles(t, plain(t, began)))
		j.Close()
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childJob+"=save many", childDir+"="+dir, childStop+"=0")
		var out bytes.Buffer
		cmd.Stdout = &out
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(150+37*i) * time.Millisecond)
		cmd.Process.Kill()
		cmd.Wait()
		told := strings.Count(out.String(), "saved ")
		j = mustOpen(t, dir)
		n, err := j.Count(ctx, Filter{})
		if err != nil || n < told || n > told+1 {
			t.Errorf("run %d: %d rounds were told of, %d are there (%v)", i, told, n, err)
		}
		healthy(t, j)
		j.Close()
	}
}

// A take that was being recorded when the power went is found again, with what was noted about it; and once its round is saved it is
// gone.
func TestRecordingIsFoundAgain(t *testing.T) {
	dir := t.TempDir()
	mustOpen(t, dir).Close()
	if _, killed := child(t, "record", dir, 0); !killed {
		t.Fatal("the child was to be killed")
	}
	j := mustOpen(t, dir)
	list, err := j.Unfinished(ctx)
	if err != nil || len(list) != 1 {
		t.Fatalf("found %+v, %v", list, err)
	}
	r := list[0]
	if !r.Started.Equal(began) || string(r.About) != `{"key":"C minor"}` || len(r.Files) != 2 || r.Files[0] != (FileInfo{"take1.wav", 17}) {
		t.Errorf("found %+v", r)
	}
	e := plain(t, began)
	e.Recording = r.Name
	id := mustSave(t, j, e)
	if list, err := j.Unfinished(ctx); err != nil || len(list) != 0 {
		t.Errorf("after saving: %+v, %v", list, err)
	}
	if _, err := os.Stat(r.Dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%s is still there (%v)", r.Dir, err)
	}
	if again := mustSave(t, j, e); again != id {
		t.Errorf("saved a second time as %d, want %d", again, id)
	}
}

// Several programs and several goroutines save into one journal at once: every round is there, once.
func TestTwoProgramsAtOnce(t *testing.T) {
	dir := t.TempDir()
	j := mustOpen(t, dir)
	writeChildEntry(t, dir, withFiles(t, plain(t, began)))
	var children []*exec.Cmd
	for range 2 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childJob+"=save", childDir+"="+dir, childStop+"=0")
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		children = append(children, cmd)
	}
	other := mustOpen(t, dir)
	e := withFiles(t, plain(t, began.Add(time.Hour)))
	var group sync.WaitGroup
	const each = 8
	for _, journal := range []*Journal{j, other, j} {
		group.Go(func() {
			for range each {
				if _, err := journal.Save(ctx, e); err != nil {
					t.Error(err)
				}
				if _, err := journal.Rounds(ctx, Filter{}, Page{}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
	for _, cmd := range children {
		if err := cmd.Wait(); err != nil {
			t.Errorf("a child: %v", err)
		}
	}
	if h := healthy(t, j); h.Rounds != 3*each+2 || h.Files != 3*h.Rounds {
		t.Errorf("%d rounds with %d files, want %d", h.Rounds, h.Files, 3*each+2)
	}
}
