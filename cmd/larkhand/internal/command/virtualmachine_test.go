//go:build devices && cgo && linux

package command

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// cardRate is that of the virtual sound card, Hz.
const cardRate = 48000

// virtualMachine is a machine with virtual devices, and the real program built for it.
type virtualMachine struct {
	t               *testing.T
	script, program string
	folder          string
	environment     []string
}

func newVirtualMachine(t *testing.T) *virtualMachine {
	t.Helper()
	script, err := filepath.Abs(filepath.Join("..", "..", "..", "..", "testdata", "devices", "virtual-devices.sh"))
	if err != nil {
		t.Fatal(err)
	}
	if lacking, err := exec.Command(script, "missing").Output(); err != nil {
		t.Skipf("skipped: virtual devices need %s", strings.Join(strings.Fields(string(lacking)), ", "))
	}
	v := &virtualMachine{t: t, script: script, program: filepath.Join(t.TempDir(), "larkhand"), folder: t.TempDir()}
	build := exec.Command("go", "build", "-tags", "devices", "-o", v.program, "larkhand/cmd/larkhand")
	build.Env = append(os.Environ(), lines(v.run("build-env"))...)
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	t.Cleanup(func() { v.run("stop") })
	v.run("start")
	home := t.TempDir()
	v.environment = append(os.Environ(), lines(v.run("env"))...)
	v.environment = append(v.environment, "XDG_CONFIG_HOME="+home, "XDG_DATA_HOME="+home, "TMPDIR="+t.TempDir())
	return v
}

func lines(text string) []string { return strings.Split(strings.TrimSpace(text), "\n") }

// run runs the script of the virtual devices.
func (v *virtualMachine) run(arguments ...string) string {
	v.t.Helper()
	cmd := exec.Command(v.script, arguments...)
	cmd.Env = append(os.Environ(), "VDEV_DIR="+v.folder)
	out, err := cmd.CombinedOutput()
	if err != nil {
		v.t.Fatalf("%s: %v: %s", arguments[0], err, out)
	}
	return string(out)
}

// stage sings, plays and listens in the background, until the test ends, or until heard is called, which gives what came from the speaker at cardRate.
func (v *virtualMachine) stage(s scene, leak float64) (heard func() []float32) {
	v.t.Helper()
	folder := v.t.TempDir()
	path := func(name string) string { return filepath.Join(folder, name) }
	raw := make([]byte, 0, 4*len(s.sung))
	for _, x := range s.sung {
		raw = binary.NativeEndian.AppendUint32(raw, math.Float32bits(x))
	}
	if err := os.WriteFile(path("sung"), raw, 0o600); err != nil {
		v.t.Fatal(err)
	}
	if err := os.WriteFile(path("notes"), []byte(s.notes), 0o600); err != nil {
		v.t.Fatal(err)
	}
	const longest = 300 // s
	cmd := exec.Command(v.script, "stage", path("sung"), path("notes"), path("heard"), fmt.Sprint(longest), fmt.Sprint(leak))
	cmd.Env = append(os.Environ(), "VDEV_DIR="+v.folder)
	if err := cmd.Start(); err != nil {
		v.t.Fatal(err)
	}
	v.t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	return func() []float32 {
		v.t.Helper()
		if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
			v.t.Fatal(err)
		}
		if err := cmd.Wait(); err != nil {
			v.t.Fatal(err)
		}
		raw, err := os.ReadFile(path("heard"))
		if err != nil {
			v.t.Fatal(err)
		}
		samples := make([]float32, len(raw)/4)
		for i := range samples {
			samples[i] = math.Float32frombits(binary.NativeEndian.Uint32(raw[4*i:]))
		}
		return samples
	}
}

// scene is what is sung and played.
type scene struct {
	sung  []float32 // at cardRate
	notes string    // as stage reads it
}

// running is the program at work, line by line.
type running struct {
	t     *testing.T
	cmd   *exec.Cmd
	keys  io.WriteCloser
	mu    sync.Mutex
	said  bytes.Buffer
	fault bytes.Buffer
	ended chan error
}

func (r *running) Write(p []byte) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.said.Write(p)
}

func (r *running) String() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.said.String()
}

// patience is how long something may take that needs a fraction of it on a machine with time.
const patience = 2 * time.Minute

// says waits until the program has said a text.
func (r *running) says(text string) {
	r.t.Helper()
	r.saysTimes(text, 1)
}

// saysTimes waits until the program has said a text so many times.
func (r *running) saysTimes(text string, times int) {
	r.t.Helper()
	for begun := time.Now(); time.Since(begun) < patience; time.Sleep(20 * time.Millisecond) {
		if strings.Count(r.String(), text) >= times {
			return
		}
	}
	r.t.Fatalf("%q is not said:\n%s", text, r.String())
}

func (v *virtualMachine) environmentOf(name string) (value string) {
	for _, line := range v.environment {
		if after, ok := strings.CutPrefix(line, name+"="); ok {
			value = after
		}
	}
	return value
}
