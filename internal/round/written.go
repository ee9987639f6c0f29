package round

import (
	"fmt"
	"strings"

	"larkhand/hunt"
	"larkhand/internal/entry"
	"larkhand/internal/steps"
	"larkhand/match"
)

// Written is what a player wrote down between singing and playing, as it was typed. An empty text is a step left out.
type Written struct {
	Numbers, Letters               string
	NumbersSeconds, LettersSeconds *float64 // s that the writing took; nil where not known
}

// nothing reports whether no step was written down.
func (w *Written) nothing() bool {
	return w == nil || strings.TrimSpace(w.Numbers) == "" && strings.TrimSpace(w.Letters) == ""
}

// judgeSteps finds the weak links, where anything was written down. The error says which text cannot be read.
func (r *Round) judgeSteps(w *Written, played []match.Played, hunting hunt.Options) error {
	if w.nothing() {
		return nil
	}
	e, err := r.read(*w)
	if err != nil {
		return err
	}
	in := steps.Input{Key: r.Key, Numbering: r.Numbering, Phrase: r.Phrase, Played: played, Alignment: r.Alignment,
		Finding: r.Finding, Hunt: hunting}
	for _, t := range r.Takes {
		in.Takes = append(in.Takes, Sung(t.Voice.Notes))
	}
	if r.Agreement != nil {
		in.Agreement = &r.Agreement.Agreement
	}
	result := steps.Judge(in, e)
	r.Written, r.Steps = w, &result
	return nil
}

// read reads what was written down, in the round's key.
func (r *Round) read(w Written) (steps.Entries, error) {
	reader := entry.Reader{Key: r.Key, Numbering: r.Numbering}
	var e steps.Entries
	for _, step := range []struct {
		kind  entry.Kind
		typed string
		to    *[]entry.Note
	}{{entry.Numbers, w.Numbers, &e.Numbers}, {entry.Letters, w.Letters, &e.Letters}} {
		notes, err := reader.Read(step.kind, step.typed)
		if err != nil {
			return e, fmt.Errorf("the %s that were written down: %w", step.kind, err)
		}
		if len(notes) > 0 {
			*step.to = notes
		}
	}
	return e, nil
}
