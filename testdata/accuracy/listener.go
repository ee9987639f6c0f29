package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"larkhand/internal/metrics"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// recording is sound with the notes that are in it.
type recording struct {
	samples []float32
	rate    int
	ref     []metrics.Note
}

// seconds is its length.
func (r recording) seconds() float64 { return float64(len(r.samples)) / float64(r.rate) }

// listener turns recordings into notes: larkhand, or a general-purpose analysis program with a plain fit (peerfit.go).
type listener struct {
	name    string
	missing string // what is not installed; empty when ready
	// hear returns the notes of each recording and the CPU seconds that this took, which mean something only while nothing else runs.
	hear func(recordings []recording) ([][]metrics.Note, float64, error)
}

// peerLimit is the longest that one run of a peer may take.
const peerLimit = 3 * time.Minute

// listeners are larkhand and its peers.
func listeners() []listener {
	return []listener{
		{"larkhand", "", hearSelf},
		{"praat, autocorrelation (Boersma 1993) + fit", notInstalled("praat"), hearPraat},
		{"aubio, yinfft (Brossier 2006) + fit", notInstalled("aubiopitch"), hearAubio},
	}
}

func notInstalled(program string) string {
	if _, err := exec.LookPath(program); err != nil {
		return program + " not installed"
	}
	return ""
}

func hearSelf(recordings []recording) ([][]metrics.Note, float64, error) {
	start := cpuSeconds()
	var out [][]metrics.Note
	for _, r := range recordings {
		take, err := voice.Analyse(r.samples, r.rate)
		if err != nil {
			return nil, 0, err
		}
		out = append(out, plain(take.Notes))
	}
	return out, cpuSeconds() - start, nil
}

// plain turns notes of a take into those of metrics.
func plain(notes []voice.Note) []metrics.Note {
	out := make([]metrics.Note, len(notes))
	for i, n := range notes {
		out[i] = metrics.Note{Onset: n.Onset, Offset: n.Offset, Pitch: n.Pitch}
	}
	return out
}

// praatPitch is praat's script: the autocorrelation tracker every 10 ms with its usual settings, but for the octave costs, which were
// chosen on the clips of the set tune.
const praatPitch = `form jobs
  integer count 1
endform
for i to count
  sound = Read from file: "s" + string$ (i) + ".wav"
  pitch = To Pitch (ac): 0.01, 65, 15, "no", 0.03, 0.45, 0.01, 0.35, 0.14, 1100
  tier = Down to PitchTier
  Save as headerless spreadsheet file: "p" + string$ (i) + ".txt"
  removeObject: sound, pitch, tier
endfor
`

func hearPraat(recordings []recording) ([][]metrics.Note, float64, error) {
	folder, err := writeRecordings(recordings)
	if err != nil {
		return nil, 0, err
	}
	defer os.RemoveAll(folder)
	script := filepath.Join(folder, "pitch.praat")
	if err := os.WriteFile(script, []byte(praatPitch), 0o600); err != nil {
		return nil, 0, err
	}
	_, cpu, err := runPeer(folder, "praat", "--run", script, strconv.Itoa(len(recordings)))
	if err != nil {
		return nil, 0, err
	}
	out := make([][]metrics.Note, len(recordings))
	for i, r := range recordings {
		text, err := os.ReadFile(filepath.Join(folder, fmt.Sprintf("p%d.txt", i+1)))
		if err != nil {
			return nil, 0, err
		}
		more, err := fitTimed(r, string(text), '\t', &out[i])
		if err != nil {
			return nil, 0, err
		}
		cpu += more
	}
	return out, cpu, nil
}

func hearAubio(recordings []recording) ([][]metrics.Note, float64, error) {
	folder, err := writeRecordings(recordings)
	if err != nil {
		return nil, 0, err
	}
	defer os.RemoveAll(folder)
	out := make([][]metrics.Note, len(recordings))
	cpu := 0.0
	for i, r := range recordings {
		hop := strconv.Itoa(r.rate / 100)
		text, spent, err := runPeer(folder, "aubiopitch", "-i", fmt.Sprintf("s%d.wav", i+1), "-p", "yinfft", "-H", hop, "-B", "2048", "-s", "-60", "-l", "0.7")
		if err != nil {
			return nil, 0, err
		}
		more, err := fitTimed(r, text, ' ', &out[i])
		if err != nil {
			return nil, 0, err
		}
		cpu += spent + more
	}
	return out, cpu, nil
}

// fitTimed reads a peer's pitch and fits notes to it.
func fitTimed(r recording, text string, comma rune, notes *[]metrics.Note) (float64, error) {
	start := cpuSeconds()
	pitch, err := readPitch(text, comma)
	if err != nil {
		return 0, err
	}
	*notes = fit(pitch, r.samples, r.rate)
	return cpuSeconds() - start, nil
}

// writeRecordings writes the sounds as s1.wav and so on into a temporary folder.
func writeRecordings(recordings []recording) (string, error) {
	folder, err := os.MkdirTemp("", "larkhand-peer-")
	if err != nil {
		return "", err
	}
	for i, r := range recordings {
		if err := soundfile.WriteWAV(filepath.Join(folder, fmt.Sprintf("s%d.wav", i+1)), r.samples, r.rate); err != nil {
			os.RemoveAll(folder)
			return "", err
		}
	}
	return folder, nil
}

// runPeer runs a program; it returns what the program printed and its CPU seconds.
func runPeer(folder, name string, args ...string) (string, float64, error) {
	ctx, cancel := context.WithTimeout(context.Background(), peerLimit)
	defer cancel()
	command := exec.CommandContext(ctx, name, args...)
	command.Dir = folder
	said, err := command.Output()
	if err != nil {
		return "", 0, fmt.Errorf("%s: %w", name, err)
	}
	state := command.ProcessState
	return string(said), (state.UserTime() + state.SystemTime()).Seconds(), nil
}

// readPitch reads lines of time (s) and frequency (Hz); 0 Hz is unvoiced, and so is a time that is left out.
func readPitch(text string, comma rune) (metrics.Contour, error) {
	var c metrics.Contour
	lines := csv.NewReader(strings.NewReader(text))
	lines.Comma, lines.FieldsPerRecord = comma, -1
	rows, err := lines.ReadAll()
	if err != nil {
		return c, err
	}
	for _, row := range rows {
		t, err := strconv.ParseFloat(strings.TrimSpace(row[0]), 64)
		if err != nil {
			return c, err
		}
		hz, err := strconv.ParseFloat(strings.TrimSpace(row[1]), 64)
		if err != nil {
			return c, err
		}
		c.Times, c.F0 = append(c.Times, t), append(c.F0, hz)
	}
	return c, nil
}
