package report

import (
	"fmt"
	"slices"
	"strings"

	"larkhand/internal/round"
	"larkhand/internal/steps"
)

// StepsDocument is what the player wrote down between singing and playing, and which link is weak.
type StepsDocument struct {
	Numbers        string         `json:"numbers"`                   // as typed; "" where the step was left out
	Letters        string         `json:"letters"`                   // the same
	NumbersSeconds *Number        `json:"numbers_seconds,omitempty"` // that the writing took; only where known
	LettersSeconds *Number        `json:"letters_seconds,omitempty"`
	Links          []LinkDocument `json:"links"`     // the voice first; links of steps that were left out are joined
	Weak           []string       `json:"weak"`      // names of the links that failed: voice, ear to numbers, numbers to letters, letters to fingers
	Sentences      []string       `json:"sentences"` // for the player
}

// LinkDocument is one link between voice and fingers.
type LinkDocument struct {
	Name     string            `json:"name"`
	From     string            `json:"from"`     // voice, numbers, letters
	To       string            `json:"to"`       // voice (take 2), numbers, letters, fingers
	Compared int               `json:"compared"` // notes
	Mistakes []MistakeDocument `json:"mistakes"`
	Shift    int               `json:"shift"`    // semitones by which all of it lies off
	Searched bool              `json:"searched"` // the fingers searched for it
	Failed   bool              `json:"failed"`
}

// MistakeDocument is one note that a link got wrong.
type MistakeDocument struct {
	Sung   *int   `json:"sung"`   // index of the sung note; null for one too many
	Wanted string `json:"wanted"` // letter; "" for one too many
	Given  string `json:"given"`  // letter; "" for one left out
}

// stepsDocument is nil where nothing was written down.
func stepsDocument(r round.Round) *StepsDocument {
	if r.Steps == nil {
		return nil
	}
	d := &StepsDocument{Numbers: r.Written.Numbers, Letters: r.Written.Letters, Links: []LinkDocument{}, Weak: []string{},
		NumbersSeconds: secondsOrNil(r.Written.NumbersSeconds), LettersSeconds: secondsOrNil(r.Written.LettersSeconds),
		Sentences: filled(r.Steps.Sentences)}
	for _, name := range r.Steps.Weak {
		d.Weak = append(d.Weak, string(name))
	}
	letter := func(class int) string {
		if class < 0 {
			return ""
		}
		return r.Key.Letter(class).Letter
	}
	for _, l := range r.Steps.Links {
		link := LinkDocument{Name: string(l.Name), From: l.From.String(), To: l.To.String(), Compared: l.Compared,
			Mistakes: []MistakeDocument{}, Shift: l.Shift, Searched: l.Searched, Failed: l.Failed}
		for _, m := range l.Mistakes {
			one := MistakeDocument{Wanted: letter(m.Wanted), Given: letter(m.Given)}
			if m.Place != steps.None {
				place := m.Place
				one.Sung = &place
			}
			link.Mistakes = append(link.Mistakes, one)
		}
		d.Links = append(d.Links, link)
	}
	return d
}

func secondsOrNil(s *float64) *Number {
	if s == nil {
		return nil
	}
	n := rounded(*s, timeDigits)
	return &n
}

// StepsText says which link is weak and by what it shows, and what was written down, with the time that it took where that is known; nil where
// nothing was written down.
func StepsText(r round.Round) []string {
	if r.Steps == nil {
		return nil
	}
	return append(slices.Clone(r.Steps.Sentences), WrittenText(*r.Written)...)
}

// WrittenText is what was written down, a line for each step.
func WrittenText(w round.Written) []string {
	var lines []string
	for _, step := range []struct {
		name, typed string
		seconds     *float64
	}{{"Numbers", w.Numbers, w.NumbersSeconds}, {"Letters", w.Letters, w.LettersSeconds}} {
		typed := strings.Join(strings.Fields(step.typed), " ")
		if typed == "" {
			continue
		}
		if step.seconds != nil {
			typed += fmt.Sprintf(" (%.1f s)", *step.seconds)
		}
		lines = append(lines, step.name+" written down: "+typed)
	}
	return lines
}

// steps says which link is weak.
func (p *page) steps(r round.Round) {
	texts := StepsText(r)
	if texts == nil {
		return
	}
	p.line("From sound to fingers")
	for _, text := range texts {
		p.item("  -", text)
	}
	p.blank()
}
