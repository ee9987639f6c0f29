package piano

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"larkhand/match"
	"larkhand/midiin"
)

// Performance is one playing of the piece.
type Performance struct {
	ID        string
	Subject   int // number of the pianist
	Skill     string
	Condition string // "performing" or "teaching"
	Distance  int    // edit distance of the keys to the intended ones
	Edits     []Edit // what makes it up; empty for a faultless performance
	Notes     []match.Played
}

// Op is the kind of an edit.
type Op byte

// The kinds of edits.
const (
	Wrong   Op = 'S'
	Extra   Op = 'I'
	Missing Op = 'D'
)

// Edit is one difference from the intended keys.
type Edit struct {
	Op    Op
	Place int // index into the intended keys; of an extra note, the one that it comes before
	Key   int // the key that was played, or for Missing the one that was not
	Want  int // of Wrong, the intended key
}

// Ideal reads the intended keys.
func Ideal(folder string) ([]int, error) {
	file, err := os.Open(filepath.Join(folder, "ideal.txt"))
	if err != nil {
		return nil, fmt.Errorf("piano: %w", err)
	}
	defer file.Close()
	var keys []int
	for lines := bufio.NewScanner(file); lines.Scan(); {
		text := strings.TrimSpace(lines.Text())
		if text == "" {
			continue
		}
		key, err := strconv.Atoi(text)
		if err != nil {
			return nil, fmt.Errorf("piano: %s should hold one key number a line: %w", file.Name(), err)
		}
		keys = append(keys, key)
	}
	return keys, nil
}

// Load reads all performances, in the order of the index.
func Load(folder string) ([]Performance, error) {
	file, err := os.Open(filepath.Join(folder, "index.csv"))
	if err != nil {
		return nil, fmt.Errorf("piano: %w", err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("piano: index.csv: %w", err)
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("piano: index.csv is empty; it should hold a line of names and one line a performance")
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	for _, name := range []string{"id", "subject", "skill", "condition", "edit_distance", "edits"} {
		if _, ok := column[name]; !ok {
			return nil, fmt.Errorf("piano: index.csv needs a column %q", name)
		}
	}
	performances := make([]Performance, 0, len(rows)-1)
	for _, row := range rows[1:] {
		p, err := read(folder, row, column)
		if err != nil {
			return nil, err
		}
		performances = append(performances, p)
	}
	return performances, nil
}

func read(folder string, row []string, column map[string]int) (Performance, error) {
	p := Performance{ID: row[column["id"]], Skill: row[column["skill"]], Condition: row[column["condition"]]}
	var err error
	if p.Subject, err = strconv.Atoi(row[column["subject"]]); err != nil {
		return p, fmt.Errorf("piano: subject of %s: %w", p.ID, err)
	}
	if p.Distance, err = strconv.Atoi(row[column["edit_distance"]]); err != nil {
		return p, fmt.Errorf("piano: edit distance of %s: %w", p.ID, err)
	}
	if p.Edits, err = parseEdits(row[column["edits"]]); err != nil {
		return p, fmt.Errorf("piano: edits of %s: %w", p.ID, err)
	}
	midi, err := midiin.ReadFile(filepath.Join(folder, "mid", p.ID+".mid"))
	if err != nil {
		return p, fmt.Errorf("piano: %w", err)
	}
	notes, _ := midiin.Notes(midi, midiin.Options{})
	for _, n := range notes {
		p.Notes = append(p.Notes, match.Played{
			Onset: n.Onset, Offset: n.Released, Pitch: n.Pitch, Velocity: n.Velocity, Channel: n.Channel,
		})
	}
	return p, nil
}

// edit is one entry: "I66:+65", "D15:-62", "S12:64>65".
var edit = regexp.MustCompile(`^([SID])(\d+):(?:[+-](\d+)|(\d+)>(\d+))$`)

func parseEdits(text string) ([]Edit, error) {
	var edits []Edit
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ';' }) {
		m := edit.FindStringSubmatch(word)
		if m == nil {
			return nil, fmt.Errorf("%q should look like I66:+65, D15:-62 or S12:64>65", word)
		}
		e := Edit{Op: Op(m[1][0])}
		e.Place, _ = strconv.Atoi(m[2])
		if m[3] != "" {
			e.Key, _ = strconv.Atoi(m[3])
		} else {
			e.Want, _ = strconv.Atoi(m[4])
			e.Key, _ = strconv.Atoi(m[5])
		}
		edits = append(edits, e)
	}
	return edits, nil
}
