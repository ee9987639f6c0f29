package command

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"larkhand/internal/journal"
)

// larkhandProcess is the program itself as a process of its own: this test program under the name at which TestMain runs it.
func larkhandProcess(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return &exec.Cmd{Path: self, Args: append([]string{"larkhand"}, args...), Env: append(os.Environ(), "TZ=UTC")}
}

// spacedRounds is manyRounds with a minute from one round to the next, from an hour on; rounds of one moment and the same files would be one.
func spacedRounds(t *testing.T, n, hour int) string {
	t.Helper()
	dir := manyRounds(t, n)
	for i := range n {
		at := time.Date(2026, 11, 3, hour, i, 0, 0, time.UTC)
		if err := os.Chtimes(filepath.Join(dir, fmt.Sprintf("%02d-take1.mid", i)), at, at); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// uidsIn are the names of the rounds in a journal; none where there is no journal yet.
func uidsIn(t *testing.T, store string) []string {
	t.Helper()
	j, err := journal.OpenToRead(store)
	if err != nil {
		return nil // not there yet, or only half made
	}
	defer j.Close()
	rows, err := j.Rounds(t.Context(), journal.Filter{}, journal.Page{Limit: 1000})
	if err != nil {
		t.Fatal(err)
	}
	var uids []string
	for _, r := range rows {
		uids = append(uids, r.UID)
	}
	return uids
}

// TestKilledSave: a program that is killed while it saves loses nothing that was committed; what is left is a sound journal, and the same
// command again puts in what is missing, once.
func TestKilledSave(t *testing.T) {
	const rounds = 12
	dir := spacedRounds(t, rounds, 18)
	for _, at := range []string{"folder", "first part", "1 round", "4 rounds", "second part"} {
		t.Run(at, func(t *testing.T) {
			store := filepath.Join(t.TempDir(), "journal")
			args := []string{"check", "--save", "--journal", store, "--batch", dir}
			child := larkhandProcess(t, args...)
			if err := child.Start(); err != nil {
				t.Fatal(err)
			}
			ended := make(chan error, 1)
			go func() { ended <- child.Wait() }()
			before := waitFor(t, store, at, ended)
			_ = child.Process.Signal(syscall.SIGKILL) // it may have ended by itself
			select {
			case <-ended:
			case <-time.After(time.Minute):
				t.Fatal("the program was killed and goes on")
			}

			if _, err := os.Stat(journal.Where(store).Database); err == nil {
				if text := ran(t, "journal", "check", "--journal", store); !strings.Contains(text, "is sound") {
					t.Error(text)
				}
			}
			after := uidsIn(t, store)
			for _, uid := range before {
				if !slices.Contains(after, uid) {
					t.Errorf("round %s was committed and is lost", uid)
				}
			}
			ran(t, args...)
			if n := len(uidsIn(t, store)); n != rounds {
				t.Errorf("%d rounds after the same command again, want %d", n, rounds)
			}
			if text := ran(t, "journal", "check", "--journal", store); !strings.Contains(text, "is sound: 12 rounds, 24 files.") {
				t.Error(text)
			}
			if left, err := os.ReadDir(filepath.Join(store, "parts")); err != nil || len(left) > 0 {
				t.Errorf("left under way: %v, error %v", left, err)
			}
		})
	}
}

// waitFor waits until a journal that is being written has come so far, or its program has ended, and gives the rounds that are committed
// by then.
func waitFor(t *testing.T, store, at string, ended chan error) []string {
	t.Helper()
	parts := func() int {
		entries, _ := os.ReadDir(filepath.Join(store, "parts")) // not there yet is none
		return len(entries)
	}
	var uids []string
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
		reached := false
		switch at {
		case "folder":
			_, err := os.Stat(store)
			reached = err == nil
		case "first part":
			reached = parts() > 0
		case "second part":
			uids = uidsIn(t, store)
			reached = len(uids) > 0 && parts() > 0
		default:
			var want int
			fmt.Sscan(at, &want)
			uids = uidsIn(t, store)
			reached = len(uids) >= want
		}
		select {
		case err := <-ended:
			ended <- err
			return uidsIn(t, store)
		default:
		}
		if reached {
			return uids
		}
		if time.Now().After(deadline) {
			t.Fatalf("the program has not come to: %s", at)
		}
	}
}

// TestTwoSavesAtOnce: two programs save into one journal at once; both say that it is done, and all rounds are there.
func TestTwoSavesAtOnce(t *testing.T) {
	const rounds = 10
	store := filepath.Join(t.TempDir(), "journal")
	var children []*exec.Cmd
	var errs [2]bytes.Buffer
	for i := range errs {
		child := larkhandProcess(t, "check", "--save", "--sang", fmt.Sprintf("Player %d", i+1), "--journal", store, "--batch", spacedRounds(t, rounds, i))
		child.Stderr = &errs[i]
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		children = append(children, child)
	}
	for i, child := range children {
		if err := child.Wait(); err != nil {
			t.Errorf("program %d: %v: %s", i+1, err, errs[i].String())
		}
	}
	if text := ran(t, "journal", "check", "--journal", store); !strings.Contains(text, "is sound: 20 rounds, 40 files.") {
		t.Error(text)
	}
	for _, player := range []string{"Player 1", "Player 2"} {
		text := ran(t, "history", "--csv", "--journal", store, "--player", player)
		if n := strings.Count(text, player+","); n < rounds {
			t.Errorf("%d rounds of %s", n, player)
		}
	}
}

// smallDisk runs commands of the shell in which DISK is a folder on a file system of its own, of so many kilobytes, and larkhand is the
// program. It gives what they printed.
func smallDisk(t *testing.T, kilobytes int, script string, args ...string) string {
	t.Helper()
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("skipped: no bash here")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	disk := t.TempDir()
	head := fmt.Sprintf(`mount -t tmpfs -o size=%dk none "$DISK" || exit 99
larkhand() { (exec -a larkhand "$SELF" "$@"); }
`, kilobytes)
	cmd := exec.Command(bash, append([]string{"-c", head + script, "bash"}, args...)...)
	cmd.Env = append(os.Environ(), "DISK="+disk, "SELF="+self, "TZ=UTC")
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
	}
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit) && exit.ExitCode() == 99, err != nil && !errors.As(err, &exit):
		t.Skip("skipped: this system lets no file system be mounted for a test:", err)
	case err != nil:
		t.Fatalf("%v: %s", err, out)
	}
	return string(out)
}

// TestDiskFull: a batch that fills the disk says so in one sentence and what to do; what was saved before is whole, and there is room again
// once something else is removed.
func TestDiskFull(t *testing.T) {
	out := smallDisk(t, 700, `
larkhand check --save --sang Anna --journal "$DISK/journal" "$1/00-take1.mid" "$1/00-answer.mid" >/dev/null || exit 3
head -c 10000000 /dev/zero >"$DISK/ballast" 2>/dev/null
larkhand check --save --journal "$DISK/journal" --batch "$1" >/dev/null
echo "exit $?"
rm "$DISK/ballast"
larkhand journal check --journal "$DISK/journal" || exit 4
larkhand history --plain --player Anna --journal "$DISK/journal" || exit 5
`, spacedRounds(t, 3, 18))
	for _, want := range []string{"larkhand: the journal could not be opened: the disk that holds ", " is full; make room there and try again\nexit 1\n", " is sound: 1 round, 2 files.", "Anna"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in:\n%s", want, out)
		}
	}
}

// TestReadOnlyFolder: a journal on a locked disk is read as ever, and a save says in one sentence that and why it was not.
func TestReadOnlyFolder(t *testing.T) {
	out := smallDisk(t, 2000, `
larkhand check --save --sang Anna --journal "$DISK/journal" "$1/00-take1.mid" "$1/00-answer.mid" >/dev/null || exit 3
mount -o remount,ro "$DISK" || exit 99
larkhand check --save --journal "$DISK/journal" "$1/01-take1.mid" "$1/01-answer.mid" >/dev/null
echo "exit $?"
larkhand history --plain --journal "$DISK/journal" || exit 4
larkhand history delete --yes 1 --journal "$DISK/journal"
echo "exit $?"
larkhand journal check --journal "$DISK/journal" || exit 5
`, spacedRounds(t, 2, 18))
	for _, want := range []string{" may not be written; ", "exit 1\n", "Anna", "was opened to be read only\nexit 1\n", " is sound: 1 round, 2 files."} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in:\n%s", want, out)
		}
	}
	if n := strings.Count(out, "larkhand: "); n != 2 {
		t.Errorf("%d sentences of error, want 2:\n%s", n, out)
	}
}
