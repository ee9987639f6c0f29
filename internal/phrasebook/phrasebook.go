package phrasebook

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"larkhand/internal/phrase"
	"larkhand/internal/safefile"
)

// Schema names the files.
const Schema = "larkhand.phrase/1"

// Entry is one phrase that is kept, with what became of it.
type Entry struct {
	phrase.Phrase
	Kept  time.Time                         // when it was first kept
	Cards map[string]map[string]phrase.Card // by player, then by tonic: "Eb"
}

// Book is a folder of phrases. The folder need not be there yet.
type Book struct{ dir string }

// Open names the folder.
func Open(dir string) Book { return Book{dir} }

// Dir is the folder.
func (b Book) Dir() string { return b.dir }

// ErrNone is in the error of a name that no phrase has.
var ErrNone = errors.New("no such phrase")

// The longest file that is read, bytes: a thousand times a usual one.
const longestFile = 4 << 20

const (
	suffix       = ".json"
	removedName  = "removed"
	dirMode      = 0o700 // practice is private
	fileMode     = 0o600
	longestName  = 200 // characters of a phrase's name
	longestSlug  = 40  // characters of it in the file's name
	hashedDigits = 8
)

// List reads all phrases, by name. Files that cannot be read are left out, and named in the error, beside the others.
func (b Book) List() ([]Entry, error) { return list(b.dir) }

// Removed reads the phrases that were removed.
func (b Book) Removed() ([]Entry, error) { return list(filepath.Join(b.dir, removedName)) }

func list(dir string) ([]Entry, error) {
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the phrases in %s cannot be read: %w", dir, err)
	}
	var out []Entry
	var wrong []error
	for _, f := range files {
		if f.IsDir() || !strings.HasSuffix(f.Name(), suffix) || strings.HasPrefix(f.Name(), ".") {
			continue
		}
		e, err := read(filepath.Join(dir, f.Name()))
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		out = append(out, e)
	}
	slices.SortFunc(out, func(x, y Entry) int { return cmp.Compare(strings.ToLower(x.Name), strings.ToLower(y.Name)) })
	return out, errors.Join(wrong...)
}

// Find is the phrase of a name, in any case of letters; with ErrNone the error says which names there are.
func (b Book) Find(name string) (Entry, error) {
	e, err := read(b.path(name))
	if !errors.Is(err, fs.ErrNotExist) {
		return e, err
	}
	all, err := b.List()
	if err != nil {
		return Entry{}, err
	}
	var names []string
	for _, e := range all {
		names = append(names, e.Name)
	}
	if len(names) == 0 {
		return Entry{}, fmt.Errorf("%w as %q: no phrases are kept yet", ErrNone, name)
	}
	const most = 8
	if len(names) > most {
		names = append(names[:most], "...")
	}
	return Entry{}, fmt.Errorf("%w as %q; there are: %s", ErrNone, name, strings.Join(names, ", "))
}

// Keep keeps a new phrase; a name that is taken is refused.
func (b Book) Keep(p phrase.Phrase, at time.Time) (Entry, error) {
	p.Name = strings.TrimSpace(p.Name)
	switch {
	case p.Name == "":
		return Entry{}, errors.New("a phrase needs a name")
	case len([]rune(p.Name)) > longestName:
		return Entry{}, fmt.Errorf("a phrase's name has at most %d characters", longestName)
	case strings.ContainsFunc(p.Name, unicode.IsControl):
		return Entry{}, errors.New("a phrase's name cannot hold control characters")
	}
	if _, err := os.Stat(b.path(p.Name)); err == nil {
		return Entry{}, fmt.Errorf("a phrase %q is kept already: give the new one another name, or remove the old one", p.Name)
	}
	e := Entry{Phrase: p, Kept: at.UTC().Truncate(time.Second)}
	return e, b.Save(e)
}

// Save writes a phrase over what was kept of it.
func (b Book) Save(e Entry) error {
	if err := os.MkdirAll(b.dir, dirMode); err != nil {
		return fmt.Errorf("the folder %s cannot be made: %w", b.dir, err)
	}
	err := safefile.Write(b.path(e.Name), fileMode, func(w io.Writer) error {
		encoder := json.NewEncoder(w)
		encoder.SetIndent("", " ")
		return encoder.Encode(documentOf(e))
	})
	if err != nil {
		return fmt.Errorf("the phrase %q cannot be kept: %w", e.Name, err)
	}
	return nil
}

// Try notes one more try of a phrase by a player on a tonic, and gives the card as it is then.
func (b Book) Try(name, player, tonic string, g phrase.Grade, at time.Time) (phrase.Card, error) {
	e, err := b.Find(name)
	if err != nil {
		return phrase.Card{}, err
	}
	if e.Cards == nil {
		e.Cards = map[string]map[string]phrase.Card{}
	}
	if e.Cards[player] == nil {
		e.Cards[player] = map[string]phrase.Card{}
	}
	card := e.Cards[player][tonic].After(g, at.UTC().Truncate(time.Second))
	e.Cards[player][tonic] = card
	return card, b.Save(e)
}

// Remove puts a phrase away.
func (b Book) Remove(name string) error {
	return b.move(name, b.dir, filepath.Join(b.dir, removedName))
}

// Restore brings a phrase back that was removed.
func (b Book) Restore(name string) error {
	if _, err := os.Stat(b.path(name)); err == nil {
		return fmt.Errorf("a phrase %q is kept already: remove or rename it before the old one comes back", name)
	}
	return b.move(name, filepath.Join(b.dir, removedName), b.dir)
}

func (b Book) move(name, from, to string) error {
	file := fileName(name)
	if _, err := os.Stat(filepath.Join(from, file)); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w as %q", ErrNone, name)
	}
	if err := os.MkdirAll(to, dirMode); err != nil {
		return fmt.Errorf("the folder %s cannot be made: %w", to, err)
	}
	if err := os.Rename(filepath.Join(from, file), filepath.Join(to, file)); err != nil {
		return fmt.Errorf("the phrase %q cannot be moved: %w", name, err)
	}
	return nil
}

func (b Book) path(name string) string { return filepath.Join(b.dir, fileName(name)) }

// fileName is the same for all cases of a name's letters.
func fileName(name string) string {
	plain := strings.ToLower(strings.TrimSpace(name))
	var slug strings.Builder
	for _, r := range plain {
		switch {
		case slug.Len() >= longestSlug:
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			slug.WriteRune(r)
		case slug.Len() > 0 && !strings.HasSuffix(slug.String(), "-"):
			slug.WriteByte('-')
		}
	}
	sum := sha256.Sum256([]byte(plain))
	return strings.Trim(slug.String()+"-"+hex.EncodeToString(sum[:])[:hashedDigits], "-") + suffix
}

// read reads one file.
func read(path string) (Entry, error) {
	f, err := os.Open(path)
	if err != nil {
		return Entry{}, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, longestFile+1))
	if err != nil {
		return Entry{}, fmt.Errorf("%s cannot be read: %w", path, err)
	}
	if len(data) > longestFile {
		return Entry{}, fmt.Errorf("%s is too long for a phrase; move it out of the folder", path)
	}
	e, err := parse(data)
	if err != nil {
		return Entry{}, fmt.Errorf("%s is no phrase: %w; move it out of the folder", path, err)
	}
	return e, nil
}
