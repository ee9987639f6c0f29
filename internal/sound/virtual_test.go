//go:build devices && cgo && linux

package sound

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"larkhand/internal/practice"
)

// recordVariable makes this test program a child that records, plays and takes MIDI until its standard input ends.
const recordVariable = "LARKHAND_TEST_RECORD"

// orders say what the child is to do; the variable holds them as JSON.
type orders struct {
	Config StreamConfig
	Play   bool
	MIDI   string // port; "" for none
	File   string // raw float32 samples of the recording
}

// recorded is what the child found, as JSON on its standard output.
type recorded struct {
	Err      string
	Blocks   []heardBlock
	Messages []practice.Message
	Stats    Stats
	CloseErr string
}

type heardBlock struct {
	Time    float64
	Samples int
	Lost    int
	Status  practice.Status
}

func recordAsChild() {
	var o orders
	if err := json.Unmarshal([]byte(os.Getenv(recordVariable)), &o); err != nil {
		panic(err)
	}
	unhush := hush()
	r, err := recordWhileAsked(o)
	unhush()
	if err != nil {
		r.Err = err.Error()
	}
	if err := json.NewEncoder(os.Stdout).Encode(r); err != nil {
		panic(err)
	}
	os.Exit(0)
}

func recordWhileAsked(o orders) (r recorded, err error) {
	if o.Play {
		o.Config.Play = &noiseTape{}
	}
	s, err := OpenStream(o.Config)
	if err != nil {
		return r, err
	}
	ctx, cancel := context.WithCancel(context.Background())
	var readers sync.WaitGroup
	if o.MIDI != "" {
		port, err := openMIDISoon(o.MIDI, s)
		if err != nil {
			s.Close()
			cancel()
			return r, err
		}
		defer port.Close()
		readers.Go(func() {
			for m, err := port.Read(ctx); err == nil; m, err = port.Read(ctx) {
				r.Messages = append(r.Messages, m)
				if m.Status != practice.Fine {
					fmt.Printf("MIDI %d\n", m.Status)
				}
			}
		})
	}
	var samples []float32
	if mic, err := s.Microphone("virtual"); err == nil {
		readers.Go(func() {
			for b, err := mic.Read(ctx); err == nil; b, err = mic.Read(ctx) {
				samples = append(samples, b.Samples...)
				r.Blocks = append(r.Blocks, heardBlock{b.Time, len(b.Samples), b.Lost, b.Status})
				if b.Status != practice.Fine {
					fmt.Printf("microphone %d\n", b.Status)
				}
			}
		})
	}
	io.Copy(io.Discard, os.Stdin)
	cancel()
	readers.Wait()
	r.Stats = s.Stats()
	if err := s.Close(); err != nil {
		r.CloseErr = err.Error()
	}
	return r, os.WriteFile(o.File, rawSamples(samples), 0o600)
}

// openMIDISoon waits for a port that is about to be plugged in.
func openMIDISoon(name string, s *Stream) (port *MIDIInput, err error) {
	for range 100 {
		if port, err = OpenMIDI(name, s); err == nil {
			return port, nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return nil, err
}

// noise is the sample at an index of a sound in which every stretch is different; 16 bits, never 0.
func noise(i int64, seed uint64) float32 {
	x := (uint64(i) + seed) * 0x9E3779B97F4A7C15 // splitmix64: Steele, Lea and Flood, OOPSLA 2014
	x = (x ^ x>>30) * 0xBF58476D1CE4E5B9
	x = (x ^ x>>27) * 0x94D049BB133111EB
	return float32(int16(x>>48)|1) / (1 << 15)
}

const (
	sungSeed   = 1 << 40
	playedSeed = 1 << 41
)

// noiseTape is a renderer of noise by the number of the sample.
type noiseTape struct{ at int64 }

func (p *noiseTape) Render(dst []float32) {
	for i := range dst {
		dst[i] = noise(p.at, playedSeed)
		p.at++
	}
}
func (p *noiseTape) SkipTo(to int64) { p.at = max(p.at, to) }
func (p *noiseTape) Position() int64 { return p.at }

func rawSamples(samples []float32) []byte {
	raw := make([]byte, 0, 4*len(samples))
	for _, x := range samples {
		raw = binary.NativeEndian.AppendUint32(raw, math.Float32bits(x))
	}
	return raw
}

func readRaw(t *testing.T, path string) []float32 {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	samples := make([]float32, len(raw)/4)
	for i := range samples {
		samples[i] = math.Float32frombits(binary.NativeEndian.Uint32(raw[4*i:]))
	}
	return samples
}

// child is a running child.
type child struct {
	cmd   *exec.Cmd
	stdin io.WriteCloser
	out   *output
	err   bytes.Buffer
	file  string
}

// output can be read while it grows.
type output struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.Write(p)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.String()
}

// startChild runs a test program with orders.
func startChild(t *testing.T, program string, v virtualDevices, o orders) *child {
	t.Helper()
	o.File = filepath.Join(t.TempDir(), "recorded.f32")
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	c := &child{cmd: exec.Command(program), out: &output{}, file: o.File}
	c.cmd.Env = append(append(os.Environ(), v.environment...), recordVariable+"="+string(text))
	c.cmd.Stdout, c.cmd.Stderr = c.out, &c.err
	if c.stdin, err = c.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.cmd.Process.Kill() })
	return c
}

// says waits until the child has printed a line.
func (c *child) says(t *testing.T, line string) {
	t.Helper()
	for range 300 {
		if strings.Contains(c.out.String(), line+"\n") {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("the child does not say %q: %s", line, c.out.String())
}

// finish ends the child and gives what it recorded.
func (c *child) finish(t *testing.T) (recorded, []float32) {
	t.Helper()
	c.stdin.Close()
	err := c.cmd.Wait()
	if err != nil || c.err.Len() > 0 {
		t.Fatalf("%v\n%s", err, c.err.String())
	}
	text := c.out.String()
	var r recorded
	if err := json.Unmarshal([]byte(text[strings.LastIndex(text, "\n{")+1:]), &r); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	if r.Err != "" {
		t.Fatal(r.Err)
	}
	return r, readRaw(t, c.file)
}

// timeOf is the time on the audio clock of a sample of the recording.
func (r recorded) timeOf(sample int) float64 {
	for _, b := range r.Blocks {
		if sample < b.Samples {
			return b.Time + float64(sample)/testRate
		}
		sample -= b.Samples
	}
	return math.NaN()
}

// note is a MIDI message at a frame of the stage.
type note struct {
	frame int64
	bytes [3]byte
}

// stage sings, plays and listens; the result is what was heard, and how often the server slipped.
func (v virtualDevices) stage(t *testing.T, notes []note, seconds float64) (heard []float32, xruns int) {
	t.Helper()
	folder := t.TempDir()
	path := func(name string) string { return filepath.Join(folder, name) }
	sung := make([]float32, int(seconds*testRate))
	for i := range sung {
		sung[i] = noise(int64(i), sungSeed)
	}
	var lines strings.Builder
	for _, n := range notes {
		fmt.Fprintf(&lines, "%d %x %x %x\n", n.frame, n.bytes[0], n.bytes[1], n.bytes[2])
	}
	if err := os.WriteFile(path("sung"), rawSamples(sung), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path("notes"), []byte(lines.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	out := v.run(t, "stage", path("sung"), path("notes"), path("heard"), fmt.Sprint(seconds))
	if _, err := fmt.Sscanf(out[strings.LastIndex(out, "xruns"):], "xruns %d", &xruns); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	return readRaw(t, path("heard")), xruns
}

// run runs the script of the virtual devices.
func (v virtualDevices) run(t *testing.T, arguments ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, deviceScript, arguments...)
	cmd.Env = append(os.Environ(), "VDEV_DIR="+v.folder)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v: %s", arguments[0], err, out)
	}
	return string(out)
}

// exact checks that what was sung is in a recording without a sample missing or changed, and gives where each sample of it lies there. Where the server itself slipped
// it may have left periods out or given one twice; then what was sung must go on exactly, at most once for each time that it slipped.
func exact(t *testing.T, got []float32, xruns int) (places []int) {
	t.Helper()
	begins := slices.IndexFunc(got, func(x float32) bool { return x != 0 })
	if begins < 0 {
		t.Fatal("only silence was recorded")
	}
	broken := 0
	for j := begins; j < len(got); j++ {
		if got[j] == noise(int64(len(places)), sungSeed) {
			places = append(places, j)
			continue
		}
		next, ok := goesOn(got[j:], len(places))
		if !ok { // the end of the stage
			return places
		}
		if broken++; broken > xruns {
			t.Fatalf("sample %d of what was sung is %g, want %g, with %d xruns", len(places), got[j], noise(int64(len(places)), sungSeed), xruns)
		}
		j += next.after
		for len(places) <= next.sung {
			places = append(places, j)
		}
	}
	return places
}

// continuation is where what was sung goes on after a break.
type continuation struct{ after, sung int }

// goesOn finds the continuation after a break in a recording, within a tenth of a second of each.
func goesOn(got []float32, sung int) (continuation, bool) {
	const reach = testRate / 10
	for after := 0; after < min(reach, len(got)-1); after++ {
		if got[after] == 0 { // noise has none
			continue
		}
		for k := sung; k < sung+reach; k++ {
			if got[after] == noise(int64(k), sungSeed) && got[after+1] == noise(int64(k+1), sungSeed) {
				return continuation{after, k}, true
			}
		}
	}
	return continuation{}, false
}

func TestVirtualRecordingIsExact(t *testing.T) {
	v := startVirtualDevices(t)
	const seconds = 3.0
	c := startChild(t, os.Args[0], v, orders{Play: true})
	heard, xruns := v.stage(t, nil, seconds)
	r, got := c.finish(t)
	places := exact(t, got, xruns)
	if len(places) < int(0.99*seconds*testRate) {
		t.Errorf("%d samples of %g s", len(places), seconds)
	}
	checkTimes(t, r)
	checkLateness(t, r.timeOf(places[0]), checkHeard(t, heard, xruns))
	if r.Stats.Dropped > 0 || r.Stats.Gone > 0 || r.CloseErr != "" {
		t.Errorf("%+v, %s", r.Stats, r.CloseErr)
	}
	t.Logf("%d samples exact, %d xruns, %+v", len(places), xruns, r.Stats)
}

// checkTimes checks that the times of the blocks follow each other.
func checkTimes(t *testing.T, r recorded) {
	t.Helper()
	for i, b := range r.Blocks[1:] {
		before := r.Blocks[i]
		if want := before.Time + float64(before.Samples+b.Lost)/testRate; math.Abs(b.Time-want) > 1e-6 {
			t.Fatalf("block %d is at %g s, want %g", i+1, b.Time, want)
		}
	}
}

// checkHeard checks that the speaker gave every sample of the tape, but for those that were skipped when the server slipped, and gives the number on the tape of the
// first frame of what was heard.
func checkHeard(t *testing.T, heard []float32, xruns int) (first int64) {
	t.Helper()
	const search = 20 * testRate
	const skip = testRate / 10 // until the connection stands
	at := int64(0)
	for ; at < search && !(noise(at, playedSeed) == heard[skip] && noise(at+1, playedSeed) == heard[skip+1]); at++ {
	}
	if at == search {
		t.Fatal("what was heard is not what was played")
	}
	first = at - skip
	jumps := 0
	for i, x := range heard[skip:] {
		if noise(at+int64(i), playedSeed) == x {
			continue
		}
		if jumps++; jumps > xruns {
			t.Fatalf("sample %d of what was heard is not the next one, with %d xruns", skip+i, xruns)
		}
		for at++; at < search && noise(at+int64(i), playedSeed) != x; at++ {
		}
	}
	return first
}

// checkLateness checks that the tape sounds at its time: sample number `first` when the audio clock says origin, in s.
func checkLateness(t *testing.T, origin float64, first int64) {
	t.Helper()
	// JACK claims one period for the sound card's own buffer, which the stage in the card's place does not have; and the mean jitter.
	const period = 128.0 / testRate
	late := origin - float64(first)/testRate
	t.Logf("the speaker is %.2f ms late", 1000*late)
	if math.Abs(late) > period+0.001 {
		t.Errorf("the speaker is %.2f ms late", 1000*late)
	}
}

func TestVirtualMicrophoneAlone(t *testing.T) {
	v := startVirtualDevices(t)
	c := startChild(t, os.Args[0], v, orders{Config: StreamConfig{Speaker: NoDevice}})
	const seconds = 1.0
	_, xruns := v.stage(t, nil, seconds)
	r, got := c.finish(t)
	if n := len(exact(t, got, xruns)); n < int(0.99*seconds*testRate) {
		t.Errorf("%d samples of %g s", n, seconds)
	}
	checkTimes(t, r)
}

func TestVirtualSpeakerAlone(t *testing.T) {
	v := startVirtualDevices(t)
	c := startChild(t, os.Args[0], v, orders{Config: StreamConfig{Microphone: NoDevice}, Play: true})
	heard, xruns := v.stage(t, nil, 1)
	r, got := c.finish(t)
	checkHeard(t, heard, xruns)
	if len(got) != 0 || r.CloseErr != "" {
		t.Errorf("%d samples recorded, closing: %s", len(got), r.CloseErr)
	}
}

// buildForJACK builds this test program with MIDI over JACK.
func buildForJACK(t *testing.T, v virtualDevices) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "sound.test")
	cmd := exec.Command("go", "test", "-c", "-tags", "devices", "-o", program, ".")
	cmd.Env = append(os.Environ(), strings.Split(strings.TrimSpace(v.run(t, "build-env")), "\n")...)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return program
}

// What is sung and what is played at one moment must have one time. A server that slips (the machine has other work) stretches its own time, so
// the measurement is taken again then, two times at most.
func TestVirtualKeyboardOnTheAudioClock(t *testing.T) {
	const tries = 3
	const median, ofHundred = 3.0, 10.0 // ms
	v := startVirtualDevices(t)
	program := buildForJACK(t, v)
	for try := 1; ; try++ {
		sizes, xruns := measureNotes(t, v, program)
		if n := len(sizes); n > 0 && sizes[n/2] <= median && sizes[n*99/100] <= ofHundred {
			return
		}
		switch {
		case xruns > 0 && try < tries:
		case len(sizes) == 0:
			t.Skip("skipped: the machine is too busy for a recording without long gaps")
		default:
			t.Fatalf("that is more than %g and %g ms", median, ofHundred)
		}
	}
}

// measureNotes plays 500 notes while it sings. It gives the rising sizes of the errors of their times, in ms, and how often the server slipped;
// no sizes where it slipped for so long that the recording cannot be followed.
func measureNotes(t *testing.T, v virtualDevices, program string) (sizes []float64, xruns int) {
	t.Helper()
	notes, seconds := manyNotes()
	c := startChild(t, program, v, orders{Play: true, MIDI: "stage:keys"})
	_, xruns = v.stage(t, notes, seconds)
	r, got := c.finish(t)
	places := exact(t, got, xruns)
	var messages []practice.Message
	for _, m := range r.Messages {
		if m.Status == practice.Fine {
			messages = append(messages, m)
		}
	}
	if int64(len(places)) <= notes[len(notes)-1].frame {
		if xruns > 0 {
			return nil, xruns
		}
		t.Fatalf("only %d samples were recorded", len(places))
	}
	if len(messages) != len(notes) {
		t.Fatalf("%d of %d messages", len(messages), len(notes))
	}
	errors := make([]float64, len(notes))
	for i, m := range messages {
		if m.Bytes != notes[i].bytes || m.Size != 3 {
			t.Fatalf("message %d is %v, want %v", i, m, notes[i])
		}
		errors[i] = 1000 * (m.Time - r.timeOf(places[notes[i].frame]))
		sizes = append(sizes, math.Abs(errors[i]))
	}
	slices.Sort(errors)
	slices.Sort(sizes)
	n := len(notes)
	t.Logf("error of %d notes, ms: median %.2f, from %.2f to %.2f; size median %.2f, 99 %% %.2f; %d xruns, %+v", n, errors[n/2], errors[0], errors[n-1], sizes[n/2], sizes[n*99/100], xruns, r.Stats)
	return sizes, xruns
}

// manyNotes are 500 notes, 9 to 31 ms apart, and how long they take, in s.
func manyNotes() (notes []note, seconds float64) {
	const count = 500
	random := rand.New(rand.NewPCG(5, 6))
	at := int64(testRate / 2)
	for i := range count {
		notes = append(notes, note{at, [3]byte{0x90, byte(36 + i%49), byte(1 + i%127)}})
		at += int64((0.009 + 0.022*random.Float64()) * testRate)
	}
	return notes, float64(at)/testRate + 0.5
}

func TestVirtualKeyboardUnpluggedAndBack(t *testing.T) {
	v := startVirtualDevices(t)
	program := buildForJACK(t, v)
	v.run(t, "plug", "Keys")
	c := startChild(t, program, v, orders{MIDI: "Keys:out"})
	time.Sleep(time.Second)
	v.run(t, "unplug", "Keys")
	c.says(t, fmt.Sprintf("MIDI %d", practice.Gone))
	v.run(t, "plug", "Keys")
	c.says(t, fmt.Sprintf("MIDI %d", practice.Back))
	r, _ := c.finish(t)
	if len(r.Messages) != 2 || !(r.Messages[0].Time < r.Messages[1].Time) {
		t.Errorf("got %+v", r.Messages)
	}
}

// The server stands still for two seconds, as a sound card does that is asleep: closing hangs for that long, and must not keep the program from going on.
func TestVirtualSoundCardStandsStill(t *testing.T) {
	v := startVirtualDevices(t)
	c := startChild(t, os.Args[0], v, orders{})
	time.Sleep(1500 * time.Millisecond)
	pid := v.server(t)
	if err := syscall.Kill(pid, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	c.says(t, fmt.Sprintf("microphone %d", practice.Gone))
	if err := syscall.Kill(pid, syscall.SIGCONT); err != nil {
		t.Fatal(err)
	}
	c.says(t, fmt.Sprintf("microphone %d", practice.Back))
	r, _ := c.finish(t)
	checkTimes(t, r)
	if r.Stats.Gone != 1 {
		t.Errorf("%+v", r.Stats)
	}
}

// A JACK server that is ended lets nobody close a stream.
func TestVirtualSoundCardEnds(t *testing.T) {
	v := startVirtualDevices(t)
	c := startChild(t, os.Args[0], v, orders{})
	time.Sleep(1500 * time.Millisecond)
	if err := syscall.Kill(v.server(t), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	c.says(t, fmt.Sprintf("microphone %d", practice.Gone))
	r, got := c.finish(t)
	if r.CloseErr != ErrHangs.Error() {
		t.Errorf("closing: %q", r.CloseErr)
	}
	if len(got) < testRate/2 {
		t.Errorf("only %d samples were kept", len(got))
	}
}

func TestNoDeviceToOpen(t *testing.T) {
	v := virtualDevices{environment: withALSA(t, "pcm.default { type hw card 99 }\n")}
	c := startChild(t, os.Args[0], v, orders{})
	c.stdin.Close()
	if err := c.cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	if out := c.out.String(); !strings.Contains(out, "there is no microphone; plug one in") {
		t.Errorf("got %s", out)
	}
}
