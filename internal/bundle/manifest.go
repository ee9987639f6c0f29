package bundle

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Schema is the name and version of the manifest that is written.
const Schema = schemaName + "1"

const (
	schemaName    = "larkhand.bundle/"
	schemaVersion = 1
)

// The names of the files at the root.
const (
	ManifestName = "manifest.json"
	TableName    = "rounds.csv"
)

// longestText is the longest name of a player or a round, characters, as in the journal.
const longestText = 80

// Manifest says what a bundle holds.
type Manifest struct {
	Schema  string    `json:"schema"`  // Schema
	Program string    `json:"program"` // the version that wrote it
	Made    time.Time `json:"made"`
	Rounds  []Round   `json:"rounds"`
	Files   []File    `json:"files"` // those that belong to no round, such as rounds.csv
}

// Round is what is to be known of a round, besides its files, to judge it again.
type Round struct {
	UID          string    `json:"uid"`    // its name everywhere
	At           time.Time `json:"at"`     // when take 1 began, in the zone of the clock on the wall
	Sang         string    `json:"sang"`   // may be empty
	Played       string    `json:"played"` // may be empty
	Key          string    `json:"key"`    // "C minor"
	KeyGuessed   bool      `json:"key_guessed"`
	Numbering    string    `json:"numbering"`             // scale or altered
	Instrument   string    `json:"instrument"`            // keys or guitar
	Chart        string    `json:"chart"`                 // "" without a loop
	Tempo        *float64  `json:"tempo"`                 // quarter notes a minute; null without a loop
	LoopStarts   float64   `json:"loop_starts"`           // s
	AnswerStarts *float64  `json:"answer_starts"`         // s; null where not known
	Program      string    `json:"program"`               // the version that judged it last
	Misheard     bool      `json:"misheard,omitempty"`    // marked by the player: the program heard other notes than were sung
	PhraseName   string    `json:"phrase_name,omitempty"` // the kept phrase that it is of
	Written      *Written  `json:"written,omitempty"`
	Pieces       []float64 `json:"pieces,omitempty"` // s on the answer's clock, where each piece but the first begins
	Helped       Helped    `json:"helped,omitzero"`
	Files        []File    `json:"files"`
}

// Written is what the player wrote down between singing and playing; "" is a step left out.
type Written struct {
	Numbers        string   `json:"numbers"`
	Letters        string   `json:"letters"`
	NumbersSeconds *float64 `json:"numbers_seconds"` // s that the writing took; null where not known
	LettersSeconds *float64 `json:"letters_seconds"`
}

// Helped is how often the player let the program help before the answer.
type Helped struct {
	Key       int `json:"key,omitempty"`        // heard the key note
	Chord     int `json:"chord,omitempty"`      // heard a chord
	Take1     int `json:"take1,omitempty"`      // heard take 1 again
	Take2     int `json:"take2,omitempty"`      // heard take 2 again
	Notes1    int `json:"notes1,omitempty"`     // heard what was understood of take 1
	Notes2    int `json:"notes2,omitempty"`     // heard what was understood of take 2
	SungAgain int `json:"sung_again,omitempty"` // threw take 2 away and sang it anew
}

// Role says what a file is for.
type Role string

// The roles.
const (
	Take   Role = "take"   // the takes, in the order sung
	Answer Role = "answer" // what was played
	Result Role = "result" // the last judgement
	Copy   Role = "copy"   // for other programs; not read back

	Backing Role = "backing" // what a speaker played beside the takes: none, one for all takes, or one for each
	Path    Role = "path"    // its way to the microphone, JSON
	Hearing Role = "hearing" // how the takes are to be heard, JSON, as the journal keeps it
)

// mostOf is how many files of each role a round can have; of copies any number.
var mostOf = map[Role]int{Take: 2, Answer: 1, Result: 1, Backing: 2, Path: 1, Hearing: 1}

// File is a file of a bundle.
type File struct {
	Name   string `json:"name"` // below the bundle's root, with slashes
	Role   Role   `json:"role"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"` // in hexadecimal
}

// fileOf describes a file that is to be written.
func fileOf(name string, role Role, data []byte) File {
	sum := sha256.Sum256(data)
	return File{Name: name, Role: role, Bytes: int64(len(data)), SHA256: hex.EncodeToString(sum[:])}
}

// of lists the files with a role.
func (r Round) of(role Role) []File {
	var out []File
	for _, f := range r.Files {
		if f.Role == role {
			out = append(out, f)
		}
	}
	return out
}

// Whole reports whether the round has what is needed to judge it again: takes and an answer.
func (r Round) Whole() bool { return len(r.of(Take)) > 0 && len(r.of(Answer)) == 1 }

// Identity names the round by what it is: the moment at which it began and the bytes of its takes and answer. Two rounds of one identity
// are the same round, whatever journals they come from. A round that is not whole has its UID for it.
func (r Round) Identity() string {
	if !r.Whole() {
		return r.UID
	}
	hash := sha256.New()
	fmt.Fprintf(hash, "%d\n", r.At.UnixMilli())
	for _, f := range append(r.of(Take), r.of(Answer)...) {
		fmt.Fprintln(hash, strings.ToLower(f.SHA256))
	}
	return hex.EncodeToString(hash.Sum(nil))
}

// readManifest reads and checks the manifest; the error follows the bundle's name.
func readManifest(data []byte, lim Limits) (Manifest, error) {
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return Manifest{}, errors.New("has a damaged manifest.json; export the rounds again")
	}
	number, ours := strings.CutPrefix(head.Schema, schemaName)
	version, err := strconv.Atoi(number)
	switch {
	case !ours || err != nil || version < 1:
		return Manifest{}, errors.New("is no larkhand bundle: its manifest.json is another program's; name a file that \"larkhand export\" wrote")
	case version > schemaVersion:
		return Manifest{}, fmt.Errorf("was written by a newer larkhand (%s%d, this one reads up to %s); update larkhand to read it", schemaName, version, Schema)
	}
	var m Manifest
	if err := json.Unmarshal(data, &m); err != nil {
		return Manifest{}, errors.New("has a manifest.json with a wrong value; export the rounds again")
	}
	return m, m.check(lim)
}

// check refuses what cannot be right.
func (m Manifest) check(lim Limits) error {
	if len(m.Rounds) > lim.Rounds {
		return fmt.Errorf("holds %d rounds, more than the %d that are read; export fewer at a time", len(m.Rounds), lim.Rounds)
	}
	names, uids := nameSet{}, map[string]bool{}
	names.add(ManifestName)
	for _, r := range m.Rounds {
		if r.UID == "" || uids[r.UID] {
			return fmt.Errorf("names round %q twice or not at all; export the rounds again", r.UID)
		}
		for _, text := range []string{r.UID, r.Sang, r.Played} {
			if !shown(text, longestText) {
				return fmt.Errorf("is refused: it holds a name that cannot be shown (%.40q); export the rounds again", text)
			}
		}
		if err := r.checkSteps(lim); err != nil {
			return err
		}
		uids[r.UID] = true
		if r.At.Year() < 1 || r.At.Year() > 9999 {
			return fmt.Errorf("gives round %q an impossible time; export the rounds again", r.UID)
		}
		for role, most := range mostOf {
			if n := len(r.of(role)); n > most {
				return fmt.Errorf("gives round %q %d files for its %s, where at most %d can be; export the rounds again", r.UID, n, role, most)
			}
		}
		if err := checkFiles(r.Files, names, lim); err != nil {
			return err
		}
	}
	return checkFiles(m.Files, names, lim)
}

// shown reports whether a text can be shown on a line.
func shown(text string, longest int) bool {
	return utf8.RuneCountInString(text) <= longest && !strings.ContainsFunc(text, unicode.IsControl)
}

// checkSteps refuses what nobody can have done between singing and playing.
func (r Round) checkSteps(lim Limits) error {
	refused := func(what string) error {
		return fmt.Errorf("is refused: round %q has %s; export the rounds again", r.UID, what)
	}
	if !shown(r.PhraseName, lim.NameLetters) {
		return refused(fmt.Sprintf("a phrase's name that cannot be shown (%.40q)", r.PhraseName))
	}
	if w := r.Written; w != nil {
		for _, text := range []string{w.Numbers, w.Letters} {
			if !shown(text, lim.WrittenLetters) {
				return refused(fmt.Sprintf("numbers or letters that cannot be shown (%.40q)", text))
			}
		}
		for _, s := range []*float64{w.NumbersSeconds, w.LettersSeconds} {
			if s != nil && *s < 0 {
				return refused("a time below zero")
			}
		}
	}
	if len(r.Pieces) > lim.Pieces {
		return refused(fmt.Sprintf("%d pieces, more than the %d that are read", len(r.Pieces), lim.Pieces))
	}
	for i, begins := range r.Pieces {
		if begins < 0 || i > 0 && begins < r.Pieces[i-1] {
			return refused("pieces in no order")
		}
	}
	h := r.Helped
	for _, n := range []int{h.Key, h.Chord, h.Take1, h.Take2, h.Notes1, h.Notes2, h.SungAgain} {
		if n < 0 || n > lim.Helped {
			return refused(fmt.Sprintf("help that was asked for %d times", n))
		}
	}
	return nil
}

// checkFiles checks what the manifest says of files.
func checkFiles(files []File, names nameSet, lim Limits) error {
	const hexDigits = 2 * sha256.Size
	for _, f := range files {
		if err := checkName(f.Name); err != nil {
			return err
		}
		if !names.add(f.Name) {
			return fmt.Errorf("names the file %q twice; export the rounds again", f.Name)
		}
		if _, err := hex.DecodeString(f.SHA256); err != nil || len(f.SHA256) != hexDigits {
			return fmt.Errorf("gives the file %q no checksum that can be read; export the rounds again", f.Name)
		}
		if most := lim.bytesOf(f.Role); f.Bytes < 0 || f.Bytes > most {
			return fmt.Errorf("holds the file %q of %d bytes; at most %d are read", f.Name, f.Bytes, most)
		}
	}
	return nil
}
