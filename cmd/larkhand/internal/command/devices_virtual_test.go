//go:build devices && cgo && linux

package command

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"larkhand/internal/sound"
)

// TestDevicesOfAVirtualMachine builds the program with MIDI over JACK, plugs a virtual microphone, speaker and keyboard
// into a virtual machine, and lists them.
func TestDevicesOfAVirtualMachine(t *testing.T) {
	script, err := filepath.Abs(filepath.Join("..", "..", "..", "..", "testdata", "devices", "virtual-devices.sh"))
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	run := func(environment []string, program string, arguments ...string) string {
		t.Helper()
		cmd := exec.Command(program, arguments...)
		cmd.Env = append(append(os.Environ(), "VDEV_DIR="+folder), environment...)
		var complaint bytes.Buffer
		cmd.Stderr = &complaint
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s %s: %v: %s", filepath.Base(program), strings.Join(arguments, " "), err, complaint.String())
		}
		return strings.TrimSpace(string(out))
	}
	if lacking, err := exec.Command(script, "missing").Output(); err != nil {
		t.Skipf("skipped: virtual devices need %s", strings.Join(strings.Fields(string(lacking)), ", "))
	}
	lines := func(text string) []string { return strings.Split(text, "\n") }
	program := filepath.Join(t.TempDir(), "larkhand")
	run(lines(run(nil, script, "build-env")), "go", "build", "-tags", "devices", "-o", program, "larkhand/cmd/larkhand")

	t.Cleanup(func() { run(nil, script, "stop") })
	run(nil, script, "start")
	run(nil, script, "plug", "upper-manual")
	run(nil, script, "plug", "lower-manual")
	out := run(lines(run(nil, script, "env")), program, "devices", "--json")

	var got sound.Document
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	names := func(devices []sound.DeviceDocument) (list []string) {
		for _, d := range devices {
			list = append(list, fmt.Sprint(d.Name, " ", d.Default, " ", d.Channels, " ", d.Rates))
		}
		return list
	}
	// What the script gives the JACK server: one device of 2 channels each way at 48000 Hz.
	for what, pair := range map[string][2]string{
		"microphones":  {strings.Join(names(got.Microphones), "; "), "system true 2 [48000]"},
		"speakers":     {strings.Join(names(got.Speakers), "; "), "system true 2 [48000]"},
		"MIDI inputs":  {fmt.Sprint(got.MIDIInputs), "[{upper-manual:out} {lower-manual:out}]"},
		"MIDI outputs": {fmt.Sprint(got.MIDIOutputs), "[{upper-manual:in} {lower-manual:in}]"},
		"remarks":      {fmt.Sprint(got.Remarks), "[]"},
	} {
		if pair[0] != pair[1] {
			t.Errorf("%s: %s, want %s", what, pair[0], pair[1])
		}
	}
}
