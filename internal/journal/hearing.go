package journal

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Hearing is how the takes of a round are to be heard when it is judged again, beside its options. It is kept as hearing.json where it says
// anything.
type Hearing struct {
	// BackingStarts is the time at which each backing's file begins, s on the clock of its take; nil where it is not known.
	BackingStarts *float64 `json:"backing_starts,omitempty"`
	BackingLoops  bool     `json:"backing_loops,omitempty"` // a backing's file is one pass of a loop that goes round
	// Alone is a stretch of each take in which the loop sounds and nobody sings, s from and to; nil where none was named.
	Alone *[2]float64 `json:"alone,omitempty"`
	// TakeStarts is where the first sample of each take lies, s on the clock of the last take; empty where the loop lies under each take at the
	// same place.
	TakeStarts []float64 `json:"take_starts,omitempty"`
}

func (h Hearing) says() bool {
	return h.BackingStarts != nil || h.BackingLoops || h.Alone != nil || len(h.TakeStarts) > 0
}

// Names of the files that lie beside takes and answer.
const (
	backingPrefix = "backing"
	pathName      = "path.json"
	hearingName   = "hearing.json"
)

// filesBeside are the files of an entry that are neither takes nor the answer.
func filesBeside(e Entry) (files []namedFile, err error) {
	if len(e.Backings) > len(e.Takes) {
		return nil, fmt.Errorf("journal: %d backings for %d takes; give one for all takes, or one for each", len(e.Backings), len(e.Takes))
	}
	for i, data := range e.Backings {
		if ending(data) != ".flac" {
			return nil, errors.New("journal: the file of a backing must be FLAC")
		}
		files = append(files, namedFile{fmt.Sprintf("%s%d.flac", backingPrefix, i+1), data})
	}
	if len(e.Path) > 0 {
		if !json.Valid(e.Path) {
			return nil, errors.New("journal: the way from speaker to microphone must be JSON")
		}
		files = append(files, namedFile{pathName, e.Path})
	}
	if e.Hearing.says() {
		data, err := json.Marshal(e.Hearing)
		if err != nil {
			return nil, err
		}
		files = append(files, namedFile{hearingName, data})
	}
	return files, nil
}

// place puts a file of a round where it belongs.
func (s *Stored) place(f StoredFile) error {
	switch name := filepath.Base(f.Path); {
	case strings.HasPrefix(name, "take"):
		s.Takes = append(s.Takes, f)
	case strings.HasPrefix(name, backingPrefix):
		s.Backings = append(s.Backings, f)
	case name == pathName:
		s.Path = f
	case name == hearingName:
		s.hearing = f
		if f.State != Good {
			return nil
		}
		data, err := os.ReadFile(f.Path)
		if err != nil {
			return err
		}
		return json.Unmarshal(data, &s.Hearing)
	default:
		s.Answer = f
	}
	return nil
}

// AllFiles are the files of the round: the takes, the answer, and what lies beside them.
func (s Stored) AllFiles() []StoredFile {
	files := append(s.Takes[:len(s.Takes):len(s.Takes)], s.Answer)
	files = append(files, s.Backings...)
	for _, f := range []StoredFile{s.Path, s.hearing} {
		if f.Path != "" {
			files = append(files, f)
		}
	}
	return files
}
