package sightsing

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

const (
	placeholderPitch = 110.0 // MIDI number; a label above is a placeholder (the set holds 119.26), no voice sings there
	agreement        = 1.0   // semitones; further from the unbiased label than this an F0 median is taken for a tracker's error
	labelColumns     = 3
)

// Note is one sung note.
type Note struct {
	Onset, Offset float64 // s
	Label         float64 // MIDI number by the annotators; NaN where a placeholder stands
	Median        float64 // MIDI number, median of an independent F0 track inside the note; NaN where it found nothing
	Spread        float64 // semitones, interquartile range of that track; NaN where it found nothing
	Voiced        float64 // share of the note that the track calls voiced, 0 to 1
}

// Clip is one recording with its notes in order of onset.
type Clip struct {
	ID, Family       string
	Side             Side
	Sound            string  // path of the FLAC file
	Licence, Remarks string  // of qa.csv
	SNR              float64 // dB, of qa.csv
	Notes            []Note
}

// Load reads every clip of dir (the folder sightsing of the data folder) in order of id.
func Load(dir string) ([]Clip, error) {
	remarks, err := readRemarks(filepath.Join(dir, "qa.csv"))
	if err != nil {
		return nil, err
	}
	paths, err := filepath.Glob(filepath.Join(dir, "*.flac"))
	if err != nil {
		return nil, fmt.Errorf("sightsing: list %s: %w", dir, err)
	}
	slices.Sort(paths)
	clips := make([]Clip, 0, len(paths))
	for _, path := range paths {
		id := strings.TrimSuffix(filepath.Base(path), ".flac")
		c := Clip{ID: id, Family: FamilyOf(id), Side: SideOf(id), Sound: path}
		r := remarks[id]
		c.Licence, c.Remarks, c.SNR = r.licence, r.remarks, r.snr
		if c.Notes, err = readNotes(filepath.Join(dir, id+".txt"), filepath.Join(dir, "pitch", "train_valid_"+id+".csv")); err != nil {
			return nil, err
		}
		clips = append(clips, c)
	}
	return clips, nil
}

// Bias is how much higher the labels read than the F0 medians, semitones: the median difference, octave errors left out; 0
// without notes that have both.
func (c Clip) Bias() float64 {
	var d []float64
	for _, n := range c.Notes {
		if x := n.Label - n.Median; !math.IsNaN(x) {
			d = append(d, x)
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return (d[(len(d)-1)/2] + d[len(d)/2]) / 2
}

// Truth is the pitch of note i as it sounded: the F0 median, or the label without its bias where the two lie more than a semitone
// apart. Where only one of the two is there, it is that one; NaN where neither is.
func (c Clip) Truth(i int) float64 {
	n := c.Notes[i]
	label := n.Label - c.Bias()
	if math.IsNaN(label) || math.Abs(n.Median-label) <= agreement {
		return n.Median
	}
	return label
}

// Disagreement is how far the unbiased label lies from the F0 median of note i, semitones; infinite where one is missing.
func (c Clip) Disagreement(i int) float64 {
	d := math.Abs(c.Notes[i].Label - c.Bias() - c.Notes[i].Median)
	if math.IsNaN(d) {
		return math.Inf(1)
	}
	return d
}

type remark struct {
	licence, remarks string
	snr              float64
}

// readRemarks reads qa.csv, which has a header.
func readRemarks(path string) (map[string]remark, error) {
	rows, err := readCSV(path)
	if err != nil {
		return nil, err
	}
	out := map[string]remark{}
	for _, row := range rows {
		r := remark{licence: row["licence"], remarks: row["remarks"]}
		if r.snr, err = strconv.ParseFloat(row["snr_db"], 64); err != nil {
			return nil, fmt.Errorf("sightsing: %s: snr_db of clip %s: %w", path, row["id"], err)
		}
		out[row["id"]] = r
	}
	return out, nil
}

// readCSV reads a comma-separated file with a header into one map a row.
func readCSV(path string) ([]map[string]string, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("sightsing: %w", err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("sightsing: read %s: %w", path, err)
	}
	if len(records) == 0 {
		return nil, fmt.Errorf("sightsing: %s is empty; its first line should name the columns", path)
	}
	rows := make([]map[string]string, 0, len(records)-1)
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, value := range record {
			row[records[0][i]] = value
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// readNotes joins the annotators' notes with the F0 medians; both files list the same notes.
func readNotes(labels, pitch string) ([]Note, error) {
	notes, err := readLabels(labels)
	if err != nil {
		return nil, err
	}
	rows, err := readCSV(pitch)
	if err != nil {
		return nil, err
	}
	if len(rows) != len(notes) {
		return nil, fmt.Errorf("sightsing: %s has %d notes but %s has %d; both should list the same notes", labels, len(notes), pitch, len(rows))
	}
	for i, row := range rows {
		n := &notes[i]
		for _, column := range []struct {
			name string
			to   *float64
		}{{"midi_f0_median", &n.Median}, {"midi_f0_iqr", &n.Spread}, {"voiced_fraction", &n.Voiced}} {
			if *column.to, err = number(row[column.name]); err != nil {
				return nil, fmt.Errorf("sightsing: %s: note %d, column %s: %w", pitch, i+1, column.name, err)
			}
		}
	}
	return notes, nil
}

// number reads a float; an empty text is NaN.
func number(text string) (float64, error) {
	if text == "" {
		return math.NaN(), nil
	}
	return strconv.ParseFloat(text, 64)
}

// readLabels reads lines of onset, offset and pitch.
func readLabels(path string) ([]Note, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("sightsing: %w", err)
	}
	defer f.Close()
	var notes []Note
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		fields := strings.Fields(lines.Text())
		if len(fields) == 0 {
			continue
		}
		n, err := label(fields)
		if err == nil && len(notes) > 0 && n.Onset < notes[len(notes)-1].Onset {
			err = fmt.Errorf("it starts before the note above it")
		}
		if err != nil {
			return nil, fmt.Errorf("sightsing: %s: note %d: %w", path, len(notes)+1, err)
		}
		notes = append(notes, n)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("sightsing: read %s: %w", path, err)
	}
	return notes, nil
}

// label reads one line of a label file.
func label(fields []string) (Note, error) {
	if len(fields) != labelColumns {
		return Note{}, fmt.Errorf("%d columns, want onset, offset and pitch", len(fields))
	}
	var v [labelColumns]float64
	for i, field := range fields {
		x, err := strconv.ParseFloat(field, 64)
		if err != nil {
			return Note{}, err
		}
		v[i] = x
	}
	n := Note{Onset: v[0], Offset: v[1], Label: v[2], Median: math.NaN(), Spread: math.NaN()}
	if !(n.Onset >= 0 && n.Offset > n.Onset) {
		return Note{}, fmt.Errorf("it lasts from %v to %v s; the offset should be later than the onset", n.Onset, n.Offset)
	}
	if n.Label > placeholderPitch {
		n.Label = math.NaN()
	}
	return n, nil
}
