package practice

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

func TestTakeFileIsWholeWhateverHappens(t *testing.T) {
	samples := make([]float32, 1000)
	for i := range samples {
		samples[i] = rounded(float32(i%200)/100 - 1)
	}
	for _, c := range []struct {
		name   string
		finish int // samples; -1 for a crash
		tail   string
		want   int
	}{{"finished", 1000, "", 1000}, {"cut back", 700, "", 700}, {"crash", -1, "", 1000}, {"crash in the middle of a sample", -1, "x", 1000}} {
		path := filepath.Join(t.TempDir(), takeNames[1])
		file := createTake(path, 16000)
		file.write(appendCodes(nil, samples[:600]))
		file.write(appendCodes(nil, samples[600:]))
		if c.finish >= 0 {
			if err := file.finish(c.finish); err != nil {
				t.Fatal(err)
			}
		} else {
			if _, err := file.f.WriteString(c.tail); err != nil {
				t.Fatal(err)
			}
			if err := file.f.Close(); err != nil {
				t.Fatal(err)
			}
			if rate, n, err := mendTake(path); err != nil || rate != 16000 || n != c.want {
				t.Errorf("%s: %d samples at %d Hz, %v", c.name, n, rate, err)
			}
		}
		sound, err := soundfile.Read(path)
		if err != nil {
			t.Fatal(err)
		}
		if len(sound.Samples) != c.want || sound.Rate != 16000 || strings.Contains(strings.Join(sound.Remarks, " "), "cut short") {
			t.Errorf("%s: %d samples, %q", c.name, len(sound.Samples), sound.Remarks)
		}
		for i, x := range sound.Samples {
			if x != samples[i] {
				t.Fatalf("%s: sample %d is %g, want %g", c.name, i, x, samples[i])
			}
		}
	}
}

func TestTakeFileTellsWhatIsWrong(t *testing.T) {
	path := filepath.Join(t.TempDir(), "missing", takeNames[1])
	file := createTake(path, 16000)
	file.write([]byte{1, 2})
	if err := file.finish(1); err == nil || !errors.Is(err, os.ErrNotExist) || !strings.Contains(err.Error(), path) {
		t.Errorf("a folder that is not there gives %v", err)
	}
	for name, data := range map[string]string{"short": "RIFF", "other": strings.Repeat("x", 100)} {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, []byte(data), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, _, err := mendTake(path); err == nil {
			t.Errorf("%s is mended", name)
		}
		if after, err := os.ReadFile(path); err != nil || string(after) != data {
			t.Errorf("%s was changed: %v", name, err)
		}
	}
}

// A folder as a crash leaves it in the middle of an answer.
func TestRecover(t *testing.T) {
	d := theDemo()
	folder := t.TempDir()
	one := filepath.Join(folder, folderName(1))
	if err := os.Mkdir(one, 0o755); err != nil {
		t.Fatal(err)
	}
	facts := round.Facts{Round: 1, Player: 1, Key: d.setup.Key, Timing: round.OnForm,
		Takes: []round.Span{{From: 2, To: 2}, {From: 12, To: 12}}, Answer: round.Span{From: 22, To: 22}, Awaited: 22, Troubles: []string{"The microphone hums."}}
	setup := d.setup
	setup.Instrument, setup.Players = midiin.Guitar, []round.Person{{Name: "Alma"}, {Name: "Bero"}}
	if err := newSheet(facts, setup, time.Time{}).write(one); err != nil {
		t.Fatal(err)
	}
	for i, samples := range [][]float32{d.take1, d.take2} {
		file := createTake(filepath.Join(one, takeNames[i+1]), d.rate)
		file.write(appendCodes(nil, samples))
		if err := file.f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	log := "0.500000 90 48 46\n1.000000 80 48 00\n1.500000 90 4a 46\n1.7500"
	if err := os.WriteFile(filepath.Join(one, logName), []byte(log), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, files := range map[string]map[string]string{
		"round-0002": {sheetName: "{"}, "round-0003": {}, "other": {sheetName: "{"}, "round-0004": {sheetName: `{"format": "larkhand.recording/9"}`},
	} {
		for file, text := range files {
			if err := os.MkdirAll(filepath.Join(folder, name), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(folder, name, file), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	for range 2 { // once more changes nothing
		found, err := Recover(folder)
		if err == nil || !strings.Contains(err.Error(), "round-0002") || !strings.Contains(err.Error(), "round-0004") || strings.Contains(err.Error(), "other") {
			t.Errorf("faults: %v", err)
		}
		if len(found) != 1 {
			t.Fatalf("found %+v", found)
		}
		f := found[0]
		length := float64(len(d.take1)) / float64(d.rate)
		if f.Facts.Takes[0] != (round.Span{From: 2, To: 2 + length}) || f.Facts.Answer != (round.Span{From: 22, To: 23.5}) || !f.Recovered || f.Facts.Complete {
			t.Errorf("facts %+v", f.Facts)
		}
		if f.Facts.Key.String() != "C minor" || f.Setup.Instrument != midiin.Guitar || f.Setup.Players[1].Name != "Bero" || len(f.Facts.Troubles) != 1 {
			t.Errorf("facts %+v, setup %+v", f.Facts, f.Setup)
		}
		judged, err := judgeFiles(f)
		if err != nil {
			t.Fatal(err)
		}
		if len(judged.Answer.Notes) != 2 || judged.Answer.Notes[1].Key != 74 || *judged.AnswerStarts != 10 || len(judged.Phrase) != 7 {
			t.Errorf("judged %+v, answer from %g", judged.Answer, *judged.AnswerStarts)
		}
	}
	if found, err := Recover(filepath.Join(folder, "nowhere")); len(found) > 0 || err != nil {
		t.Errorf("a folder that is not there holds %v, %v", found, err)
	}
}

// crashFolder tells the test's own program to practise there until it is killed.
const crashFolder = "LARKHAND_TEST_CRASH"

// TestCrashChild is the program that is killed; it does nothing by itself.
func TestCrashChild(t *testing.T) {
	folder := os.Getenv(crashFolder)
	if folder == "" {
		t.Skip("run by TestKilledWhileRecording")
	}
	d := theDemo()
	files := NewFiles([]Placed{{0, d.take1}}, d.rate, nil, 60, false)
	s, err := New(Config{Setup: round.Setup{Timing: round.NoLoop}, Folder: folder, Start: true, Microphones: []Microphone{files.Microphone()}, MIDIPorts: []MIDIPort{files.MIDIPort()}})
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		for snapshot := range s.Snapshots() {
			fmt.Printf("at %.3f\n", snapshot.Time)
		}
	}()
	if err := s.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// kill -9 in the middle of a take: it is there up to the last half second, sample by sample.
func TestKilledWhileRecording(t *testing.T) {
	const killAt = 2.6 // s
	d := theDemo()
	folder := t.TempDir()
	child := exec.Command(os.Args[0], "-test.run=^TestCrashChild$")
	child.Env = append(os.Environ(), crashFolder+"="+folder)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	guard := time.AfterFunc(time.Minute, func() { child.Process.Kill() })
	defer guard.Stop()
	last := 0.0
	for lines := bufio.NewScanner(out); lines.Scan(); {
		text, ok := strings.CutPrefix(lines.Text(), "at ")
		if !ok {
			continue
		}
		at, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		if last = max(last, at); last >= killAt {
			break
		}
	}
	if err := child.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := child.Wait(); err == nil || last < killAt {
		t.Fatalf("the child ended by itself at %g s: %v", last, err)
	}
	found, err := Recover(folder)
	if err != nil || len(found) != 1 || len(found[0].Takes) != 1 {
		t.Fatalf("found %+v, %v", found, err)
	}
	sound, err := soundfile.Read(found[0].Takes[0])
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("killed at %.2f s, %.2f s are there", last, sound.Duration())
	if last-sound.Duration() > 0.5 {
		t.Errorf("killed at %g s, only %g s are there", last, sound.Duration())
	}
	for i, x := range sound.Samples {
		if x != rounded(d.take1[i]) {
			t.Fatalf("sample %d is %g, want %g", i, x, rounded(d.take1[i]))
		}
	}
	if _, err := New(Config{Setup: d.setup, Folder: folder}); !errors.Is(err, ErrFolderInUse) {
		t.Errorf("the folder can be used again: %v", err)
	}
}
