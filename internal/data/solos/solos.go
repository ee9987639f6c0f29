package solos

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
)

// Note is one note of a solo.
type Note struct {
	Key             int     // MIDI note number
	Onset, Duration float64 // s
}

// Solo is one improvised solo.
type Solo struct {
	ID    string
	Notes []Note // in time order
}

// Load reads all solos, in the order of their names.
func Load(folder string) ([]Solo, error) {
	paths, err := filepath.Glob(filepath.Join(folder, "solo-*.csv"))
	if err != nil {
		return nil, fmt.Errorf("solos: %w", err)
	}
	if len(paths) == 0 {
		return nil, fmt.Errorf("solos: %s should hold files named solo-NNN.csv", folder)
	}
	slices.Sort(paths)
	var list []Solo
	for _, path := range paths {
		notes, err := read(path)
		if err != nil {
			return nil, fmt.Errorf("solos: %s: %w", path, err)
		}
		name := filepath.Base(path)
		list = append(list, Solo{ID: name[:len(name)-len(".csv")], Notes: notes})
	}
	return list, nil
}

func read(path string) ([]Note, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.FieldsPerRecord = 3
	rows, err := reader.ReadAll()
	if err != nil {
		return nil, err
	}
	var notes []Note
	for i, row := range rows {
		if i == 0 {
			continue
		}
		var values [3]float64
		for k, field := range row {
			if values[k], err = strconv.ParseFloat(field, 64); err != nil {
				return nil, fmt.Errorf("line %d should hold three numbers: %w", i+1, err)
			}
		}
		notes = append(notes, Note{int(values[0]), values[1], values[2]})
	}
	return notes, nil
}

// Where a phrase ends (own): after a rest longer than restLongest, where the interval to the next onset is also longer
// than restShare times the solo's median interval.
const (
	restLongest = 0.350 // s
	restShare   = 2.0
)

// Phrases cuts the solo at its rests.
func (s Solo) Phrases() [][]Note {
	if len(s.Notes) == 0 {
		return nil
	}
	long := restShare * s.medianInterval()
	var phrases [][]Note
	start := 0
	for i := 1; i < len(s.Notes); i++ {
		last := s.Notes[i-1]
		rest := s.Notes[i].Onset - last.Onset - last.Duration
		if rest > restLongest && s.Notes[i].Onset-last.Onset > long {
			phrases = append(phrases, s.Notes[start:i])
			start = i
		}
	}
	return append(phrases, s.Notes[start:])
}

func (s Solo) medianInterval() float64 {
	var intervals []float64
	for i := 1; i < len(s.Notes); i++ {
		intervals = append(intervals, s.Notes[i].Onset-s.Notes[i-1].Onset)
	}
	if len(intervals) == 0 {
		return 0
	}
	slices.Sort(intervals)
	return intervals[len(intervals)/2]
}
