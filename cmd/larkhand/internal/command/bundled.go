package command

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"larkhand/internal/bundle"
	"larkhand/internal/journal"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// bundled is a round of an open bundle.
type bundled struct {
	from *bundle.Reader
	bundle.Round
}

// named begins a sentence about the round.
func (b bundled) named() string { return fmt.Sprintf("%s: round %s", b.from.Name, b.UID) }

// openBundles opens the bundles and lists their rounds. The caller closes what is opened, also after an error.
func openBundles(paths []string) (open []*bundle.Reader, rounds []bundled, err error) {
	for _, path := range paths {
		r, err := bundle.Open(path)
		if err != nil {
			return open, nil, err
		}
		open = append(open, r)
		for _, round := range r.Manifest.Rounds {
			rounds = append(rounds, bundled{r, round})
		}
	}
	return open, rounds, nil
}

func closeBundles(open []*bundle.Reader) {
	for _, r := range open {
		r.Close()
	}
}

// judge judges the round by this version of the program, in the way in which rounds of the journal are judged: from files, which lie in a
// folder of their own for that time, under names that are not the bundle's.
func (b bundled) judge(ctx context.Context, c bundle.Contents) (r round.Round, err error) {
	dir, err := os.MkdirTemp("", "larkhand-*")
	if err != nil {
		return r, fmt.Errorf("there is no room to unpack %s: %w", b.from.Name, plainCause(err))
	}
	defer os.RemoveAll(dir)
	s, err := b.stored()
	if err != nil {
		return r, fmt.Errorf("%s has a setting that cannot be used: %w", b.named(), err)
	}
	if err := unpack(dir, c, &s); err != nil {
		return r, fmt.Errorf("%s cannot be unpacked: %w", b.named(), err)
	}
	files, err := filesOf(s)
	if err != nil {
		return r, err
	}
	if r, err = judgeStored(ctx, s, files); err != nil {
		return r, fmt.Errorf("%s cannot be judged: %s", b.named(), strings.ReplaceAll(err.Error(), dir+string(filepath.Separator), ""))
	}
	forget(&r, dir+string(filepath.Separator))
	return r, nil
}

// stored is what the round would be in a journal, without its files.
func (b bundled) stored() (s journal.Stored, err error) {
	s.Key, s.KeyGuessed, s.Chart, s.Tempo, s.LoopStarts, s.AnswerStarts = b.Key, b.KeyGuessed, b.Chart, b.Tempo, b.LoopStarts, b.AnswerStarts
	s.Written, s.PieceStarts, s.Helped = (*round.Written)(b.Written), b.Pieces, round.Helped(b.Helped)
	if s.Numbering, err = music.ParseNumbering(b.Numbering); err != nil {
		return s, err
	}
	s.Instrument, err = midiin.ParseInstrument(b.Instrument)
	return s, err
}

// unpack writes the files of a round into a folder, and into s where they lie.
func unpack(dir string, c bundle.Contents, s *journal.Stored) error {
	write := func(name string, data []byte) (journal.StoredFile, error) {
		path := filepath.Join(dir, name)
		return journal.StoredFile{Path: path, State: journal.Good}, os.WriteFile(path, data, 0o600)
	}
	for i, data := range c.Takes {
		ending := ".flac"
		if bytes.HasPrefix(data, []byte("MThd")) {
			ending = ".mid"
		}
		f, err := write(fmt.Sprintf("take%d%s", i+1, ending), data)
		if err != nil {
			return err
		}
		s.Takes = append(s.Takes, f)
	}
	for i, data := range c.Backings {
		f, err := write(fmt.Sprintf("backing%d.flac", i+1), data)
		if err != nil {
			return err
		}
		s.Backings = append(s.Backings, f)
	}
	if c.Path != nil {
		f, err := write("path.json", c.Path)
		if err != nil {
			return err
		}
		s.Path = f
	}
	if c.Hearing != nil {
		if err := json.Unmarshal(c.Hearing, &s.Hearing); err != nil {
			return errors.New("what it says of how the takes are to be heard cannot be read")
		}
	}
	var err error
	s.Answer, err = write("answer.mid", c.Answer)
	return err
}

// forget takes the name of the folder out of a judged round: it is gone.
func forget(r *round.Round, folder string) {
	plain := func(text *string) { *text = strings.ReplaceAll(*text, folder, "") }
	each := func(texts []string) {
		for i := range texts {
			plain(&texts[i])
		}
	}
	for i := range r.Takes {
		plain(&r.Takes[i].File)
		each(r.Takes[i].Remarks)
	}
	plain(&r.Answer.File)
	each(r.Answer.Remarks)
	each(r.Remarks)
}
