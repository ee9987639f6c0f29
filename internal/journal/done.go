package journal

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"larkhand/internal/progress"
	"larkhand/internal/round"
)

// done is what the player did about a round besides singing and playing it. Judging again keeps it.
type done struct {
	Misheard   bool         `json:"misheard,omitempty"`
	PhraseName string       `json:"phrase_name,omitempty"`
	Written    *written     `json:"written,omitempty"`
	Pieces     []float64    `json:"pieces,omitempty"` // s on the answer's clock: where each piece but the first begins
	Helped     round.Helped `json:"helped,omitzero"`
}

// written is what was written down; "" is a step left out.
type written struct {
	Numbers        string   `json:"numbers"`
	Letters        string   `json:"letters"`
	NumbersSeconds *float64 `json:"numbers_seconds"`
	LettersSeconds *float64 `json:"letters_seconds"`
}

// Bounds of what is kept. Own: far beyond what anybody does.
const (
	LongestWritten    = 2000 // characters of the numbers or the letters of one phrase
	LongestPhraseName = 200  // characters, as in package phrasebook
	MostPieces        = 1000 // of an answer
)

// doneOf is what an entry tells of it.
func doneOf(e Entry) (d done, err error) {
	d = done{Misheard: e.Misheard, Pieces: e.Round.Pieces, Helped: e.Round.Helped}
	if d.PhraseName, err = cleanText("name of a phrase", e.PhraseName, LongestPhraseName); err != nil {
		return done{}, err
	}
	if d.Written, err = writtenOf(e.Round.Written); err != nil {
		return done{}, err
	}
	if len(d.Pieces) > MostPieces {
		return done{}, fmt.Errorf("journal: an answer of %d pieces; at most %d are kept", len(d.Pieces)+1, MostPieces)
	}
	for _, s := range d.Pieces {
		if !(s >= 0) || number(s) == nil {
			return done{}, errors.New("journal: a piece of the answer begins at no time")
		}
	}
	return d, nil
}

// writtenOf is what is kept of what was written down; nil of nothing.
func writtenOf(w *round.Written) (*written, error) {
	if w == nil {
		return nil, nil
	}
	out := &written{NumbersSeconds: w.NumbersSeconds, LettersSeconds: w.LettersSeconds}
	for _, step := range []struct {
		typed   string
		to      *string
		seconds **float64
	}{{w.Numbers, &out.Numbers, &out.NumbersSeconds}, {w.Letters, &out.Letters, &out.LettersSeconds}} {
		var err error
		if *step.to, err = cleanText("text that was written down", step.typed, LongestWritten); err != nil {
			return nil, err
		}
		if s := *step.seconds; *step.to == "" || s != nil && (!(*s >= 0) || number(*s) == nil) {
			*step.seconds = nil
		}
	}
	if out.Numbers == "" && out.Letters == "" {
		return nil, nil
	}
	return out, nil
}

// cleanText is a text as it is kept: composed (NFC), with single spaces between its words and none around it, so that it can stand on a line.
func cleanText(what, text string, longest int) (string, error) {
	clean := norm.NFC.String(strings.Join(strings.Fields(text), " "))
	switch {
	case !utf8.ValidString(clean) || strings.ContainsFunc(clean, unicode.IsControl):
		return "", fmt.Errorf("the %s, %.40q, holds characters that cannot be shown; write it with letters, digits and signs", what, text)
	case utf8.RuneCountInString(clean) > longest:
		return "", fmt.Errorf("the %s, %.40q, is longer than %d characters; write a shorter one", what, text, longest)
	}
	return clean, nil
}

// round is the same for package round; nil where nothing was written down.
func (w *written) round() *round.Written {
	if w == nil {
		return nil
	}
	return &round.Written{Numbers: w.Numbers, Letters: w.Letters, NumbersSeconds: w.NumbersSeconds, LettersSeconds: w.LettersSeconds}
}

// linksOf are the links of a judged round; none where nothing was written down.
func linksOf(r round.Round) []link {
	var out []link
	for _, l := range progress.LinksOf(r) {
		out = append(out, link{Name: string(l.Name), Joined: l.Joined, Compared: l.Compared, Failed: l.Failed, Notes: l.Notes})
	}
	return out
}
