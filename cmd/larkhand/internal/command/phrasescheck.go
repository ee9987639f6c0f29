package command

import (
	"fmt"
	"time"

	"larkhand/hunt"
	"larkhand/internal/phrase"
	"larkhand/internal/phrasebook"
	"larkhand/internal/round"
)

// keptTry is one round of a kept phrase.
type keptTry struct {
	book                phrasebook.Book
	name, player, tonic string
	grade               phrase.Grade
}

// besideKept lays a judged round beside the kept phrase that was named, and says so in its remarks; nil where none was named.
func besideKept(r *round.Round, flags settings) (*keptTry, error) {
	if flags.phrase == "" {
		return nil, nil
	}
	if r.KeyGuessed {
		return nil, wrongUse("--phrase needs --key, the key in which the phrase was sung, such as --key \"Eb minor\"")
	}
	book := phrases{dir: flags.dir}.book()
	e, err := book.Find(flags.phrase)
	if err != nil {
		return nil, err
	}
	player := flags.played
	if player == "" {
		player = flags.sang
	}
	return tryOf(r, book, e, player)
}

// tryOf lays a judged round beside a kept phrase in its key, and says so in its remarks.
func tryOf(r *round.Round, book phrasebook.Book, e phrasebook.Entry, player string) (*keptTry, error) {
	key, err := e.Key(r.Key.Tonic())
	if err != nil {
		return nil, err
	}
	tempo := float64(usualTempo)
	if r.Loop != nil {
		tempo = r.Loop.Tempo
	}
	k := r.BesideKept(shown(e.Name), round.Sung(soundingNotes(e.Phrase, key, tempo)))
	r.Remarks = append(r.Remarks, k.Told...)
	return &keptTry{book, e.Name, player, phrase.Tonic(key.PitchClasses()[0]), gradeOf(k, r)}, nil
}

// note notes the try, and says when the phrase is due again.
func (t *keptTry) note() (string, error) {
	card, err := t.book.Try(t.name, t.player, t.tonic, t.grade, time.Now())
	if err != nil {
		return "", err
	}
	return dueSentence(t.name, t.tonic, "", card), nil
}

// dueSentence says when a phrase that was tried in a key is due again, for a player who may have no name.
func dueSentence(name, tonic, player string, c phrase.Card) string {
	date := dueDate(c)
	if player != "" {
		date += " for " + shown(player)
	}
	return fmt.Sprintf("%s in %s: due on %s (%s).", shown(name), tonic, date, c.Reason())
}

func dueDate(c phrase.Card) string { return c.Due().Local().Format(time.DateOnly) }

// gradeOf is how well a kept phrase was recalled: by the notes of the answer, and whether it was searched for, or played in pieces or after the take was heard again.
func gradeOf(k round.Kept, r *round.Round) phrase.Grade {
	heard := r.Helped.Take1 + r.Helped.Take2 + r.Helped.Notes1 + r.Helped.Notes2
	switch {
	case k.Wrong > 1 || k.Answer.Transposition != 0:
		return phrase.Lost
	case k.Wrong == 1:
		return phrase.Slipped
	case r.Finding.Label == hunt.Searched || len(r.Pieces) > 0 || heard > 0:
		return phrase.Searched
	case r.Finding.Label == hunt.Unsure:
		return phrase.Unsure
	}
	return phrase.Knew
}
