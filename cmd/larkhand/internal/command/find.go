package command

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// found is one round of a batch as its files were found. A fault says why it cannot be checked.
type found struct {
	name     string // path below the batch's folder, with the prefix of the files if they have one
	takes    [2]string
	backings [3]string // for both takes, for take 1, for take 2
	answer   string
	settings string // file with settings; "" where there is none
	fault    error
}

// files are the takes and then the answer.
func (f found) files() []string {
	var files []string
	for _, path := range append(f.takes[:], f.answer) {
		if path != "" {
			files = append(files, path)
		}
	}
	return files
}

// roundFile recognises the files of a round by their names.
var roundFile = regexp.MustCompile(`(?i)take[ _-]?([12])|backing[ _-]?[12]?|answer|(?:^|[ _.-])round\.txt$`)

// separators may stand between a round's prefix and the word.
const separators = " _-."

// sounds are the backings that were found: one for each take, or one for all.
func (f found) sounds() []string {
	var files []string
	for _, path := range f.backings[1:] {
		if path != "" {
			files = append(files, path)
		}
	}
	if len(files) == 0 && f.backings[0] != "" {
		return f.backings[:1]
	}
	return files
}

// recordings are the endings of files that can be takes or answers.
var recordings = []string{".wav", ".flac", ".ogg", ".oga", ".mp3", ".mid", ".midi", ".smf"}

// findRounds looks for rounds in dir and the folders below it, and gives them in the order of their names.
func findRounds(dir string) ([]found, error) {
	var rounds []found
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return fmt.Errorf("cannot look into %s: %w", path, plainCause(err))
		case !entry.IsDir():
			if path == dir {
				return fmt.Errorf("%s is no folder; name the folder that holds the rounds, or leave out --batch", dir)
			}
			return nil
		}
		here, err := roundsIn(path)
		if err != nil {
			return err
		}
		below, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		for _, f := range here {
			switch {
			case below != ".":
				f.name = filepath.ToSlash(filepath.Join(below, f.name))
			case f.name == "":
				f.name = filepath.Base(path)
			}
			rounds = append(rounds, f)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(rounds) == 0 {
		return nil, fmt.Errorf("%s holds no rounds: their files must have take1, take2 and answer in their names; see 'larkhand check --help'", dir)
	}
	slices.SortStableFunc(rounds, func(a, b found) int { return strings.Compare(a.name, b.name) })
	return rounds, nil
}

// roundsIn finds the rounds whose files lie in one folder: a single one, whatever its files are called besides the
// words, or one for each prefix.
func roundsIn(dir string) ([]found, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("cannot look into %s: %w", dir, plainCause(err))
	}
	single := found{}
	byPrefix := map[string]*found{}
	fits := true
	for _, entry := range entries {
		word, prefix := wordOf(entry)
		if word == "" {
			continue
		}
		path := filepath.Join(dir, entry.Name())
		fits = single.put(word, path) == nil && fits
		f := byPrefix[prefix]
		if f == nil {
			f = &found{name: prefix}
			byPrefix[prefix] = f
		}
		if err := f.put(word, path); err != nil {
			f.fault = err
		}
	}
	if fits && len(single.files()) > 0 && len(byPrefix) > 1 {
		return []found{single.checked()}, nil
	}
	var rounds []found
	for _, f := range byPrefix {
		if len(f.files()) > 0 {
			rounds = append(rounds, f.checked())
		}
	}
	return rounds, nil
}

// wordOf says which part of a round a file is ("1", "2", "answer", "round"; "" where it is none) and what stands before.
func wordOf(entry fs.DirEntry) (word, prefix string) {
	name := entry.Name()
	at := roundFile.FindStringSubmatchIndex(name)
	if at == nil || entry.IsDir() {
		return "", ""
	}
	switch word = strings.Trim(strings.ToLower(name[at[0]:at[1]]), separators); {
	case word == "round.txt":
		word = "round"
	case !slices.Contains(recordings, strings.ToLower(filepath.Ext(name))):
		return "", ""
	case strings.HasPrefix(word, "backing"):
		word = "backing" + strings.Trim(strings.TrimPrefix(word, "backing"), separators)
	case at[2] >= 0:
		word = name[at[2]:at[3]]
	}
	return word, strings.Trim(name[:at[0]], separators)
}

// put adds a file to the round, unless it has one for this part already.
func (f *found) put(word, path string) error {
	place := map[string]*string{"1": &f.takes[0], "2": &f.takes[1], "answer": &f.answer, "round": &f.settings,
		"backing": &f.backings[0], "backing1": &f.backings[1], "backing2": &f.backings[2]}[word]
	if *place != "" {
		return fmt.Errorf("two files for the same part: %s and %s; rename one of them", filepath.Base(*place), filepath.Base(path))
	}
	*place = path
	return nil
}

// checked notes what is missing.
func (f found) checked() found {
	switch {
	case f.fault != nil:
	case f.takes[0] == "":
		f.fault = errors.New("no file with take1 in its name")
	case f.answer == "":
		f.fault = errors.New("no file with answer in its name")
	case (f.backings[1] == "") != (f.backings[2] == "") && f.takes[1] != "":
		f.fault = errors.New("a backing for one of two takes: give both, or one with backing alone in its name for both")
	}
	return f
}

// readSettings changes settings by the lines of a file: "name: value". Empty lines and lines that begin with # say nothing.
func readSettings(path string, s *settings) error {
	const most = 1 << 16 // bytes; real files have some hundred
	info, err := os.Stat(path)
	if err != nil {
		return fmt.Errorf("cannot read %s: %w", path, plainCause(err))
	}
	if info.Size() > most {
		return fmt.Errorf("%s is too long for settings: write one \"name: value\" a line", path)
	}
	file, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("cannot read %s: %w", path, plainCause(err))
	}
	defer file.Close()
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		name, value, _ := strings.Cut(line, ":")
		if !s.set(strings.ToLower(strings.TrimSpace(name)), strings.TrimSpace(value)) {
			return fmt.Errorf("%s: %q is no setting; use key, numbering, chart, tempo, loop-starts, answer-starts, instrument, numbers, letters, pieces, backing-starts, backing-alone, backing-path, sang, played or at", path, strings.TrimSpace(name))
		}
	}
	return lines.Err()
}
