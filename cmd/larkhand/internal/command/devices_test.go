package command

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"larkhand/internal/sound"
)

// desk is an invented machine with one microphone.
var desk = sound.List{
	Microphones: []sound.Device{{Name: "Booth", System: "ALSA", Default: true, Channels: 1, Rates: []float64{48000}, DefaultRate: 48000}},
	Log:         "no such card\n",
}

// deskKit is that machine, with what a test changes of it; delays are remembered in a folder of the test.
func deskKit(t *testing.T, change func(*deviceKit)) deviceKit {
	k := deviceKit{
		list: func() (sound.List, error) { return desk, nil }, hush: func() func() string { return func() string { return "" } },
		file: filepath.Join(t.TempDir(), "larkhand", "delays.toml"),
	}
	if change != nil {
		change(&k)
	}
	return k
}

// runDevices runs the command on a machine.
func runDevices(t *testing.T, kit deviceKit, arguments ...string) (stdout string, err error) {
	t.Helper()
	var out bytes.Buffer
	cmd := newDevices(kit)
	cmd.SilenceErrors, cmd.SilenceUsage = true, true
	cmd.SetArgs(arguments)
	cmd.SetIn(strings.NewReader("\n"))
	cmd.SetOut(&out)
	err = cmd.ExecuteContext(t.Context())
	return out.String(), err
}

func TestDevicesPrintsWhatWasFound(t *testing.T) {
	broken := errors.New("cannot list MIDI ports")
	for name, c := range map[string]struct {
		list      sound.List
		err       error
		arguments []string
		begins    string // of standard output
		code      int
	}{
		"text":             {desk, nil, nil, "Microphones\n  * 1  Booth\n", exitDone},
		"json":             {desk, nil, []string{"--json"}, `{"schema":"larkhand.devices/1","microphones":[{"name":"Booth"`, exitDone},
		"nothing there":    {sound.List{}, nil, nil, "No microphone, speaker or MIDI port was found", exitDone},
		"no devices built": {sound.List{}, sound.ErrNoDevices, nil, "", exitCouldNot},
		"nothing to list":  {sound.List{}, broken, []string{"--json"}, "", exitCouldNot},
		"half of it":       {desk, broken, nil, "Microphones\n  * 1  Booth\n", exitCouldNot},
		"negative":         {desk, nil, []string{"--watch", "--seconds", "-1"}, "", exitWrongUse},
		"an argument":      {desk, nil, []string{"booth"}, "", exitWrongUse},
	} {
		t.Run(name, func(t *testing.T) {
			kit := deskKit(t, func(k *deviceKit) { k.list = func() (sound.List, error) { return c.list, c.err } })
			out, err := runDevices(t, kit, c.arguments...)
			if !strings.HasPrefix(out, c.begins) || c.begins == "" && out != "" {
				t.Errorf("printed %q, want %q first", out, c.begins)
			}
			if code := exitCode(err); code != c.code {
				t.Errorf("exit code %d (%v), want %d", code, err, c.code)
			}
		})
	}
}

func TestDevicesWritesTheLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sound.log")
	for _, failure := range []error{nil, errors.New("the sound system does not answer")} {
		kit := deskKit(t, func(k *deviceKit) { k.list = func() (sound.List, error) { return desk, failure } })
		if _, err := runDevices(t, kit, "--log", path); !errors.Is(err, failure) {
			t.Fatalf("got %v, want %v", err, failure)
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != desk.Log {
			t.Errorf("with %v the log holds %q, %v", failure, got, err)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
}

func TestDevicesOfABuildWithoutThem(t *testing.T) {
	if sound.Built {
		t.Skip("skipped: this build has devices")
	}
	var out, complaint bytes.Buffer
	code := Run(context.Background(), []string{"devices"}, &out, &complaint)
	const want = "larkhand: this build has no devices; `make install` builds one that has\n"
	if code != exitCouldNot || out.Len() > 0 || complaint.String() != want {
		t.Errorf("code %d, output %q, complaint %q", code, out.String(), complaint.String())
	}
}
