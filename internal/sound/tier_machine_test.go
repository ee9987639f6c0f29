//go:build devices && cgo && linux

package sound

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"larkhand/internal/practice"
)

// tierVariable names the tier of virtual devices that a test program is to run besides those of every test: "pulse", "machine", or "guest" inside of the virtual machine.
const tierVariable = "LARKHAND_TEST_TIER"

// onTier skips a test that belongs to a tier that is not run.
func onTier(t *testing.T, tier string) {
	t.Helper()
	if os.Getenv(tierVariable) != tier {
		t.Skipf("skipped: `make test-devices` runs this")
	}
}

var machineScript = filepath.Join("..", "..", "testdata", "devices", "virtual-machine.sh")

// TestMachineTier runs the tests named TestGuest in an emulated computer with sound drivers of the kernel, by the program as it is shipped: ALSA for sound, its
// sequencer for MIDI.
func TestMachineTier(t *testing.T) {
	onTier(t, "machine")
	if lacking, err := exec.Command(machineScript, "missing").Output(); err != nil {
		t.Skipf("skipped: the virtual machine needs %s", strings.ReplaceAll(strings.TrimSpace(string(lacking)), "\n", ", "))
	}
	folder := t.TempDir()
	program, script := filepath.Join(folder, "sound.test"), filepath.Join(folder, "script")
	if out, err := exec.Command("go", "test", "-c", "-tags", "devices", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	run := tierVariable + "=guest ./sound.test -test.v -test.run '^TestGuest'\n"
	if err := os.WriteFile(script, []byte(run), 0o600); err != nil {
		t.Fatal(err)
	}
	var fault bytes.Buffer
	cmd := exec.Command(machineScript, "run", script, program)
	cmd.Stderr = &fault
	out, err := cmd.Output()
	t.Logf("%s", out)
	if err != nil {
		t.Fatalf("%v: %s", err, fault.String())
	}
	if passed := strings.Count(string(out), "--- PASS: TestGuest"); passed < guestTests {
		t.Errorf("%d tests passed, want %d", passed, guestTests)
	}
}

// guestTests is how many tests there are whose names begin with TestGuest.
const guestTests = 5

// The loop of the virtual machine: what is played on cardFar is recorded on cardNear, and the other way round.
const (
	cardNear = "Loopback: PCM (hw:0,0)"
	cardFar  = "plughw:0,1"
)

// guestChild starts a child in the guest and waits until its microphone runs.
func guestChild(t *testing.T, o orders) *child {
	t.Helper()
	o.Config.Microphone, o.Config.Rate = cardNear, testRate
	if o.Config.Speaker == DefaultDevice {
		o.Config.Speaker = cardNear
	}
	c := startChild(t, os.Args[0], virtualDevices{}, o)
	microphoneRuns(t)
	return c
}

// microphoneRuns waits until the card records.
func microphoneRuns(t *testing.T) {
	t.Helper()
	for range 300 {
		if state, err := os.ReadFile("/proc/asound/card0/pcm0c/sub0/status"); err == nil && strings.Contains(string(state), "RUNNING") {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Fatal("the card does not record")
}

// sing plays the sung noise on the other side of the loop.
func sing(t *testing.T, seconds float64) {
	t.Helper()
	raw := make([]byte, 0, int(2*seconds*testRate))
	for i := range int64(seconds * testRate) {
		raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(noise(i, sungSeed)*(1<<15))))
	}
	path := filepath.Join(t.TempDir(), "sung.raw")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("aplay", "-q", "-D", cardFar, "-t", "raw", "-f", "S16_LE", "-r", fmt.Sprint(testRate), "-c", "1", path).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}

// An emulated computer may be too slow for its sound card now and then, which is no fault of the program: so often may a recording break.
const guestBreaks = 3

func TestGuestRecordingIsExact(t *testing.T) {
	onTier(t, "guest")
	const seconds = 3.0
	c := guestChild(t, orders{Config: StreamConfig{Speaker: NoDevice}})
	sing(t, seconds)
	r, got := c.finish(t)
	places := exact(t, got, guestBreaks)
	// The end of what is played may lie in the card's buffer when it is stopped.
	if n := len(places); n < int((seconds-0.1)*testRate) {
		t.Errorf("%d samples of %g s", n, seconds)
	}
	checkTimes(t, r)
	t.Logf("%d samples exact, %+v", len(places), r.Stats)
}

func TestGuestPlaysAndRecordsAtOnce(t *testing.T) {
	onTier(t, "guest")
	const seconds = 3.0
	heard := filepath.Join(t.TempDir(), "heard.raw")
	c := guestChild(t, orders{Play: true})
	ear := exec.Command("arecord", "-q", "-D", cardFar, "-t", "raw", "-f", "S16_LE", "-r", fmt.Sprint(testRate), "-c", "2", "-d", fmt.Sprint(seconds+1), heard)
	if err := ear.Start(); err != nil {
		t.Fatal(err)
	}
	sing(t, seconds)
	if err := ear.Wait(); err != nil {
		t.Fatal(err)
	}
	r, got := c.finish(t)
	if n := len(exact(t, got, guestBreaks)); n < int((seconds-0.1)*testRate) {
		t.Errorf("%d samples of %g s", n, seconds)
	}
	checkHeard(t, left(t, heard), guestBreaks)
	t.Logf("%+v", r.Stats)
}

// left are the samples of the left channel.
func left(t *testing.T, path string) (samples []float32) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at+4 <= len(raw); at += 4 {
		samples = append(samples, float32(int16(binary.LittleEndian.Uint16(raw[at:])))/(1<<15))
	}
	return samples
}

// unplug takes a driver's card away, and plug gives it back.
func unplug(t *testing.T, driver string) { driverFile(t, driver, "unbind") }
func plug(t *testing.T, driver string)   { driverFile(t, driver, "bind") }

func driverFile(t *testing.T, driver, file string) {
	t.Helper()
	if out, err := exec.Command("sh", "-c", fmt.Sprintf("echo %s.0 >/sys/bus/platform/drivers/%s/%s", driver, driver, file)).CombinedOutput(); err != nil {
		t.Fatalf("%s %s: %v: %s", file, driver, err, out)
	}
}

// The sound card is pulled out while it records, and plugged in again: the program says so and records on.
func TestGuestSoundCardUnpluggedAndBack(t *testing.T) {
	onTier(t, "guest")
	c := guestChild(t, orders{Config: StreamConfig{Speaker: NoDevice}})
	time.Sleep(time.Second)
	gone := make(chan bool)
	go func() { // unbinding waits until the program lets go
		unplug(t, "snd_aloop")
		close(gone)
	}()
	c.says(t, fmt.Sprintf("microphone %d", practice.Gone))
	<-gone
	plug(t, "snd_aloop")
	c.says(t, fmt.Sprintf("microphone %d", practice.Back))
	sing(t, 1)
	r, got := c.finish(t)
	checkTimes(t, r)
	if n := len(exact(t, got, guestBreaks)); r.Stats.Gone != 1 || n < int(0.9*testRate) {
		t.Errorf("%+v, %d samples after it", r.Stats, n)
	}
}

// A card that another program holds is told in a sentence.
func TestGuestSoundCardIsTaken(t *testing.T) {
	onTier(t, "guest")
	first := guestChild(t, orders{Config: StreamConfig{Speaker: NoDevice}})
	second := startChild(t, os.Args[0], virtualDevices{}, orders{Config: StreamConfig{Microphone: cardNear, Speaker: NoDevice}})
	second.stdin.Close()
	if err := second.cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	if out := second.out.String(); !strings.Contains(out, "end the program that holds it") {
		t.Errorf("got %s", out)
	}
	first.finish(t)
}

// Notes of the kernel's MIDI card arrive, all and in order, at their times; the keyboard is pulled out and plugged in again.
func TestGuestKeyboard(t *testing.T) {
	onTier(t, "guest")
	c := guestChild(t, orders{Config: StreamConfig{Speaker: NoDevice}, MIDI: "Virtual Raw MIDI 1-0:VirMIDI 1-0"})
	time.Sleep(2 * time.Second)
	const count = 200
	send := func(key byte) {
		if err := os.WriteFile("/dev/snd/midiC1D0", []byte{0x90, key, 100}, 0); err != nil {
			t.Fatal(err)
		}
	}
	begun := time.Now()
	var sent []float64
	for i := range count {
		sent = append(sent, time.Since(begun).Seconds())
		send(byte(30 + i%60))
		time.Sleep(10 * time.Millisecond)
	}
	unplug(t, "snd_virmidi")
	c.says(t, fmt.Sprintf("MIDI %d", practice.Gone))
	plug(t, "snd_virmidi")
	c.says(t, fmt.Sprintf("MIDI %d", practice.Back))
	send(99)
	time.Sleep(time.Second)
	r, _ := c.finish(t)
	var keys []byte
	var times []float64
	for _, m := range r.Messages {
		if m.Status == practice.Fine {
			keys, times = append(keys, m.Bytes[1]), append(times, m.Time)
		}
	}
	if len(keys) != count+1 || keys[count] != 99 {
		t.Fatalf("%d notes of %d", len(keys), count+1)
	}
	worst := 0.0
	for i := range sent {
		if keys[i] != byte(30+i%60) {
			t.Fatalf("note %d is %d", i, keys[i])
		}
		worst = math.Max(worst, math.Abs(times[i]-times[0]-(sent[i]-sent[0])))
	}
	const slow = 0.2 // s, by which an emulated computer may be late
	if t.Logf("%d notes, the latest %.1f ms off", count, 1000*worst); worst > slow {
		t.Errorf("a note is %.0f ms off", 1000*worst)
	}
}
