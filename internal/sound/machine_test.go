//go:build devices && cgo && linux

package sound

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// childVariable makes this test program a child that lists the devices: the C libraries read the environment once and
// abort the whole process in some, so every machine gets a process of its own.
const childVariable = "LARKHAND_TEST_LIST_DEVICES"

// childPatience is how long the child waits for the sound system.
const childPatience = 3 * time.Second

func TestMain(m *testing.M) {
	if os.Getenv(recordVariable) != "" {
		recordAsChild()
	}
	if os.Getenv(childVariable) == "" {
		os.Exit(m.Run())
	}
	var a answer
	var err error
	if a.List, err = ask(everything, childPatience); err != nil {
		a.Err = err.Error()
	}
	if err := json.NewEncoder(os.Stdout).Encode(a); err != nil {
		panic(err)
	}
	os.Exit(0)
}

type answer struct {
	List List
	Err  string
}

// listOn lists the devices of a machine that the environment describes. Nothing may reach standard error.
func listOn(t *testing.T, environment ...string) answer {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), append(environment, childVariable+"=1")...)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	if stderr.Len() > 0 {
		t.Errorf("on standard error: %s", stderr.String())
	}
	var a answer
	if err := json.Unmarshal(stdout.Bytes(), &a); err != nil {
		t.Fatalf("%v in %s", err, stdout.String())
	}
	return a
}

// withALSA is the environment of a machine with this configuration of ALSA and no JACK server.
func withALSA(t *testing.T, configuration string) []string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "asound.conf")
	if err := os.WriteFile(path, []byte(configuration), 0o600); err != nil {
		t.Fatal(err)
	}
	return []string{"ALSA_CONFIG_PATH=" + path, "JACK_NO_START_SERVER=1", "JACK_DEFAULT_SERVER=none"}
}

func TestAMachineWithoutDevices(t *testing.T) {
	a := listOn(t, withALSA(t, "pcm.default { type hw card 99 }\n")...)
	if a.Err != "" || len(a.List.Microphones)+len(a.List.Speakers) > 0 {
		t.Errorf("got %+v", a)
	}
}

func TestComplaintsOfTheLibrariesGoToTheLog(t *testing.T) {
	a := listOn(t, withALSA(t, "pcm.default { type nonsense }\n")...)
	if !strings.Contains(a.List.Log, "nonsense") {
		t.Errorf("ALSA's complaint about the type nonsense is not in the log: %q", a.List.Log)
	}
}

// With each of these PortAudio 19.6 ends the process, or would with a device behind the name.
func TestConfigurationsThatEndTheProcessAreRefused(t *testing.T) {
	for name, configuration := range map[string]string{
		"empty":             "",
		"no device":         "defaults.ctl.card 0\n",
		"none is spare":     "pcm.nobody { type hw card 99 }\n",
		"only ignored ones": "pcm.null { type null }\n",
	} {
		t.Run(name, func(t *testing.T) {
			if a := listOn(t, withALSA(t, configuration)...); a.Err != errNoALSA.Error() {
				t.Errorf("got %+v, want %q", a, errNoALSA)
			}
		})
	}
	t.Run("no file", func(t *testing.T) {
		if a := listOn(t, "ALSA_CONFIG_PATH=/nowhere/asound.conf", "JACK_NO_START_SERVER=1"); a.Err != errNoALSA.Error() {
			t.Errorf("got %+v, want %q", a, errNoALSA)
		}
	})
}

// ALSA's null device is a microphone and a speaker that takes every rate.
func TestADeviceOfALSA(t *testing.T) {
	a := listOn(t, withALSA(t, "pcm.default { type null }\n")...)
	if a.Err != "" || len(a.List.Microphones) != 1 || len(a.List.Speakers) != 1 {
		t.Fatalf("got %+v", a)
	}
	for _, d := range []Device{a.List.Microphones[0], a.List.Speakers[0]} {
		if d.Name != "default" || d.System != "ALSA" || !d.Default || d.Channels < 2 {
			t.Errorf("got %+v", d)
		}
		if fmt.Sprint(d.Rates) != fmt.Sprint(UsualRates()) {
			t.Errorf("rates %v, want %v", d.Rates, UsualRates())
		}
	}
}

func TestTheDefaultComesFirst(t *testing.T) {
	list := []Device{{Name: "a"}, {Name: "b"}, {Name: "c", Default: true}, {Name: "d"}}
	defaultFirst(list)
	var names string
	for _, d := range list {
		names += d.Name
	}
	if names != "cabd" {
		t.Errorf("order %s, want cabd", names)
	}
}

func TestVirtualSoundCard(t *testing.T) {
	machine := startVirtualDevices(t)
	a := listOn(t, machine.environment...)
	if a.Err != "" || len(a.List.Microphones) != 1 || len(a.List.Speakers) != 1 {
		t.Fatalf("got %+v", a)
	}
	// The script gives the server 2 channels each way at 48000 Hz with a period of 128 frames, and a JACK server has
	// that one rate. PortAudio counts the latency in whole periods.
	const rate, period = 48000, 128.0
	for _, d := range []Device{a.List.Microphones[0], a.List.Speakers[0]} {
		if d.Name != "system" || !strings.Contains(d.System, "JACK") || !d.Default || d.Channels != 2 || d.DefaultRate != rate {
			t.Errorf("got %+v", d)
		}
		if len(d.Rates) != 1 || d.Rates[0] != rate {
			t.Errorf("rates %v, want only %d", d.Rates, rate)
		}
		if periods := d.LatencyLow * rate / period; periods < 0.99 || periods > 4.01 || d.LatencyHigh < d.LatencyLow {
			t.Errorf("latency %g to %g s: the low one is %g periods", d.LatencyLow, d.LatencyHigh, periods)
		}
	}
}

func TestAJACKServerThatHangs(t *testing.T) {
	machine := startVirtualDevices(t)
	pid := machine.server(t)
	if err := syscall.Kill(pid, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	defer syscall.Kill(pid, syscall.SIGCONT)
	begun := time.Now()
	a := listOn(t, machine.environment...)
	const slack = 10 * time.Second // for a busy machine
	if took := time.Since(begun); took > childPatience+slack {
		t.Errorf("took %v", took)
	}
	if a.Err != errNoAnswer.Error() {
		t.Errorf("got %+v, want %q", a, errNoAnswer)
	}
}

func TestSequencerRemarks(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{nil, ""},
		{&fs.PathError{Op: "open", Path: sequencer, Err: syscall.EACCES}, "MIDI ports cannot be listed: this user may not open /dev/snd/seq; 'sudo usermod -aG audio $USER' and a new login allow it"},
		{&fs.PathError{Op: "open", Path: sequencer, Err: syscall.ENOENT}, "this system has no MIDI sequencer (/dev/snd/seq); where the kernel has one, 'sudo modprobe snd-seq' loads it"},
	} {
		if got := sequencerRemark(sequencer, c.err); got != c.want {
			t.Errorf("%v: got %q, want %q", c.err, got, c.want)
		}
	}
	if got := lackingSequencer(filepath.Join(t.TempDir(), "seq")); !strings.Contains(got, "no MIDI sequencer") {
		t.Errorf("got %q", got)
	}
}

var deviceScript = filepath.Join("..", "..", "testdata", "devices", "virtual-devices.sh")

// virtualDevices is a running virtual sound card.
type virtualDevices struct {
	folder      string
	environment []string // for a program that is to see it
}

// startVirtualDevices starts a virtual sound card for one test, which is skipped where that cannot be.
func startVirtualDevices(t *testing.T) virtualDevices {
	t.Helper()
	v := virtualDevices{folder: t.TempDir()}
	run := func(arguments ...string) (string, error) {
		cmd := exec.Command(deviceScript, arguments...)
		cmd.Env = append(os.Environ(), "VDEV_DIR="+v.folder)
		out, err := cmd.CombinedOutput()
		return strings.TrimSpace(string(out)), err
	}
	if lacking, err := run("missing"); err != nil {
		t.Skipf("skipped: virtual devices need %s", strings.ReplaceAll(lacking, "\n", ", "))
	}
	t.Cleanup(func() {
		if out, err := run("stop"); err != nil {
			t.Errorf("stop: %v: %s", err, out)
		}
	})
	if out, err := run("start"); err != nil {
		t.Fatalf("start: %v: %s", err, out)
	}
	environment, err := run("env")
	if err != nil {
		t.Fatal(err)
	}
	v.environment = strings.Split(environment, "\n")
	return v
}

// server is the process of the JACK server.
func (v virtualDevices) server(t *testing.T) int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(v.folder, "jackd.pid"))
	if err != nil {
		t.Fatal(err)
	}
	var pid int
	if _, err := fmt.Sscan(string(text), &pid); err != nil {
		t.Fatal(err)
	}
	return pid
}
