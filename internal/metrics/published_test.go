package metrics_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"larkhand/internal/data/datadir"
	"larkhand/internal/metrics"
)

// published is how far a value may lie from the expected one.
const published = 1e-9

// folder is metrics/NAME in the data folder; the test is skipped where it is missing.
func folder(t *testing.T, name string) string {
	t.Helper()
	root, ok := datadir.Find()
	if !ok {
		t.Skip("skipped: no data")
	}
	dir := filepath.Join(root, filepath.FromSlash(name))
	if _, err := os.Stat(dir); err != nil {
		t.Skip("skipped: no data")
	}
	return dir
}

// columns reads numbers in columns separated by white space or commas; lines that start with # are comments.
func columns(t *testing.T, path string) [][]float64 {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]float64
	for s := bufio.NewScanner(f); s.Scan(); {
		line := strings.TrimSpace(s.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		var row []float64
		for _, field := range strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' || r == ',' }) {
			v, err := strconv.ParseFloat(field, 64)
			if err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			row = append(row, v)
		}
		out = append(out, row)
	}
	return out
}

func expected(t *testing.T, path string) map[string]float64 {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{}
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	return want
}

func midi(hz float64) float64 { return 69 + 12*math.Log2(hz/440) }

func compare(t *testing.T, want, got map[string]float64) {
	t.Helper()
	for key, w := range want {
		g, ok := got[key]
		if !ok {
			t.Errorf("%s is not computed", key)
		} else if math.Abs(g-w) > published {
			t.Errorf("%s = %.12f, want %.12f", key, g, w)
		}
	}
}

// The ten melody examples of the published toolkit (mir_eval 0.8 test fixtures, MIT licence).
func TestMelodyExamples(t *testing.T) {
	dir := folder(t, "metrics/melody")
	for n := range 10 {
		t.Run(fmt.Sprintf("%02d", n), func(t *testing.T) {
			read := func(name string) (c metrics.Contour) {
				for _, row := range columns(t, filepath.Join(dir, fmt.Sprintf("%s%02d.txt", name, n))) {
					c.Times, c.F0 = append(c.Times, row[0]), append(c.F0, row[1])
				}
				return c
			}
			m, err := metrics.Melody(read("ref"), read("est"), metrics.DefaultMelodyCents)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, expected(t, filepath.Join(dir, fmt.Sprintf("output%02d.json", n))), map[string]float64{
				"Voicing Recall": m.VoicingRecall, "Voicing False Alarm": m.VoicingFalseAlarm,
				"Raw Pitch Accuracy": m.RawPitch, "Raw Chroma Accuracy": m.RawChroma, "Overall Accuracy": m.Overall,
			})
		})
	}
}

// The ten transcription examples of the same toolkit.
func TestTranscriptionExamples(t *testing.T) {
	dir := folder(t, "metrics/transcription")
	for n := range 10 {
		t.Run(fmt.Sprintf("%02d", n), func(t *testing.T) {
			read := func(name string) (notes []metrics.Note) {
				for _, row := range columns(t, filepath.Join(dir, fmt.Sprintf("%s%02d.txt", name, n))) {
					notes = append(notes, metrics.Note{Onset: row[0], Offset: row[1], Pitch: midi(row[2])})
				}
				return notes
			}
			ref, est := read("ref"), read("est")
			full := metrics.Transcription(ref, est, metrics.COnPOff)
			pitch := metrics.Transcription(ref, est, metrics.COnP)
			onset := metrics.Onsets(ref, est, metrics.OnsetTolerance)
			offset := metrics.Offsets(ref, est)
			compare(t, expected(t, filepath.Join(dir, fmt.Sprintf("output%02d.json", n))), map[string]float64{
				"Precision": full.Precision, "Recall": full.Recall, "F-measure": full.F, "Average_Overlap_Ratio": full.Overlap,
				"Precision_no_offset": pitch.Precision, "Recall_no_offset": pitch.Recall, "F-measure_no_offset": pitch.F,
				"Average_Overlap_Ratio_no_offset": pitch.Overlap,
				"Onset_Precision":                 onset.Precision, "Onset_Recall": onset.Recall, "Onset_F-measure": onset.F,
				"Offset_Precision": offset.Precision, "Offset_Recall": offset.Recall, "Offset_F-measure": offset.F,
			})
		})
	}
}

// Two people's notes of one clip (vocadito clip 1, CC BY 4.0): 59 and 64 notes; 53, 53 and 45 pairs.
func TestTwoAnnotators(t *testing.T) {
	dir := folder(t, "vocadito")
	read := func(name string) (notes []metrics.Note) {
		for _, row := range columns(t, filepath.Join(dir, name)) {
			notes = append(notes, metrics.Note{Onset: row[0], Offset: row[0] + row[2], Pitch: midi(row[1])})
		}
		return notes
	}
	ref, est := read("vocadito_1_notesA1.csv"), read("vocadito_1_notesA2.csv")
	for _, c := range []struct {
		name                 string
		tol                  metrics.Tolerance
		matched              int
		precision, recall, f float64
	}{
		{"COn", metrics.COn, 53, .8281, .8983, .8618},
		{"COnP", metrics.COnP, 53, .8281, .8983, .8618},
		{"COnPOff", metrics.COnPOff, 45, .7031, .7627, .7317},
	} {
		s := metrics.Transcription(ref, est, c.tol)
		if s.Matched != c.matched || s.Ref != 59 || s.Est != 64 ||
			math.Abs(s.Precision-c.precision) > 5e-5 || math.Abs(s.Recall-c.recall) > 5e-5 || math.Abs(s.F-c.f) > 5e-5 {
			t.Errorf("%s: %+v, want %d pairs, %.4f %.4f %.4f", c.name, s, c.matched, c.precision, c.recall, c.f)
		}
	}
}
