package command

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"larkhand/internal/bundle"
	"larkhand/internal/journal"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
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

// stored is what the round would be in a journal, as far as judging needs it.
func (b bundled) stored() (s journal.Stored, err error) {
	s.Key, s.KeyGuessed, s.Chart, s.Tempo, s.LoopStarts, s.AnswerStarts = b.Key, b.KeyGuessed, b.Chart, b.Tempo, b.LoopStarts, b.AnswerStarts
	if s.Numbering, err = music.ParseNumbering(b.Numbering); err != nil {
		return s, err
	}
	s.Instrument, err = midiin.ParseInstrument(b.Instrument)
	return s, err
}

// judge judges the round from its files' bytes by this version of the program.
func (b bundled) judge(ctx context.Context, c bundle.Contents) (r round.Round, opt round.Options, err error) {
	s, err := b.stored()
	if err == nil {
		opt, err = optionsOf(s)
	}
	if err != nil {
		return r, opt, fmt.Errorf("%s has a setting that cannot be used: %w", b.named(), err)
	}
	answer, err := answerOf("answer.mid", c.Answer, opt.Instrument)
	if err != nil {
		return r, opt, fmt.Errorf("%s cannot be judged: %w", b.named(), err)
	}
	var takes []round.Take
	for i, data := range c.Takes {
		if err := ctx.Err(); err != nil {
			return r, opt, err
		}
		take, err := takeOf(fmt.Sprintf("take%d", i+1), data)
		if err != nil {
			return r, opt, fmt.Errorf("%s cannot be judged: %w", b.named(), err)
		}
		takes = append(takes, take)
	}
	if r, err = round.Judge(takes, answer, opt); err != nil {
		err = fmt.Errorf("%s cannot be judged: %w", b.named(), err)
	}
	return r, opt, err
}

// takeOf is readTake for a file in memory.
func takeOf(name string, data []byte) (round.Take, error) {
	sound, err := soundfile.Decode(name, bytes.NewReader(data))
	if errors.Is(err, soundfile.ErrMIDI) {
		notes, remarks, err := notesOf(name, data, midiin.Options{})
		if err != nil {
			return round.Take{}, err
		}
		take := round.WrittenTake(name, notes)
		take.Remarks = remarks
		return take, nil
	}
	if err != nil {
		return round.Take{}, err
	}
	take, err := round.SungTake(name, sound.Samples, sound.Rate)
	if err != nil {
		return round.Take{}, fmt.Errorf("%s: %w", name, err)
	}
	take.Remarks = append(sentences(name, sound.Remarks), take.Remarks...)
	return take, nil
}

// answerOf is readAnswer for a file in memory.
func answerOf(name string, data []byte, instrument midiin.Instrument) (round.Answer, error) {
	notes, remarks, err := notesOf(name, data, midiin.Options{Instrument: instrument})
	if err != nil {
		return round.Answer{}, err
	}
	return round.Answer{File: name, Notes: notes, Remarks: remarks}, nil
}

func notesOf(name string, data []byte, opt midiin.Options) ([]midiin.Note, []string, error) {
	file, err := midiin.Parse(data)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %s", name, strings.TrimPrefix(err.Error(), "midiin: "))
	}
	notes, more := midiin.Notes(file, opt)
	return notes, sentences(name, append(file.Remarks, more...)), nil
}
