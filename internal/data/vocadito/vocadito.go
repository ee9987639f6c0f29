// Package vocadito reads the one clip of solo singing (vocadito clip 1, Bittner et al. 2021, CC BY 4.0) that larkhand is measured
// on: a song with words, 33 s, with its F0 and the notes of two annotators. It serves measuring only.
//
// Times are seconds since the clip's start, pitch is a MIDI note number, F0 is Hz and 0 where unvoiced. The two annotators disagree about
// repeated notes, so figures are given against each of them.
//
// Non-goals: no sound is decoded here (Clip.Sound is a path); the other 39 clips of that set are not looked for.
package vocadito

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"

	"larkhand/internal/metrics"
)

// Clip is the recording with its annotations.
type Clip struct {
	Sound string            // path of the WAV file
	F0    metrics.Contour   // Hz, 0 where unvoiced
	Notes [2][]metrics.Note // of annotator 1 and annotator 2, in order of onset
}

const (
	f0Columns   = 2 // s, Hz
	noteColumns = 3 // onset s, Hz, duration s
	a4Key       = 69
	a4Hz        = 440
)

// Load reads the clip from dir (the folder vocadito of the data folder).
func Load(dir string) (Clip, error) {
	c := Clip{Sound: filepath.Join(dir, "vocadito_1.wav")}
	if _, err := os.Stat(c.Sound); err != nil {
		return Clip{}, fmt.Errorf("vocadito: %w", err)
	}
	frames, err := table(filepath.Join(dir, "vocadito_1_f0.csv"), f0Columns)
	if err != nil {
		return Clip{}, err
	}
	for _, row := range frames {
		c.F0.Times, c.F0.F0 = append(c.F0.Times, row[0]), append(c.F0.F0, row[1])
	}
	for a := range c.Notes {
		rows, err := table(filepath.Join(dir, fmt.Sprintf("vocadito_1_notesA%d.csv", a+1)), noteColumns)
		if err != nil {
			return Clip{}, err
		}
		for _, row := range rows {
			c.Notes[a] = append(c.Notes[a], metrics.Note{
				Onset: row[0], Offset: row[0] + row[2],
				Pitch: a4Key + 12*math.Log2(row[1]/a4Hz),
			})
		}
		if err := metrics.CheckNotes(c.Notes[a]); err != nil {
			return Clip{}, fmt.Errorf("vocadito: annotator %d: %w", a+1, err)
		}
	}
	return c, nil
}

// table reads comma-separated numbers, the same number of columns in every row.
func table(path string, columns int) ([][]float64, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("vocadito: %w", err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = columns
	records, err := r.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("vocadito: read %s: %w", path, err)
	}
	rows := make([][]float64, len(records))
	for i, record := range records {
		rows[i] = make([]float64, columns)
		for k, field := range record {
			if rows[i][k], err = strconv.ParseFloat(field, 64); err != nil {
				return nil, fmt.Errorf("vocadito: %s line %d: %w", path, i+1, err)
			}
		}
	}
	return rows, nil
}
