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
	player := flags.played
	if player == "" {
		player = flags.sang
	}
	return &keptTry{book, e.Name, player, phrase.Tonic(key.PitchClasses()[0]), gradeOf(k, r.Finding.Label)}, nil
}

// note notes the try, and says when the phrase is due again.
func (t *keptTry) note() (string, error) {
	card, err := t.book.Try(t.name, t.player, t.tonic, t.grade, time.Now())
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s in %s: due on %s (%s).", shown(t.name), t.tonic, card.Due().Local().Format(time.DateOnly), card.Reason()), nil
}

// gradeOf is how well a kept phrase was recalled: by the notes of the answer, and whether it was searched for.
func gradeOf(k round.Kept, label hunt.Label) phrase.Grade {
	switch {
	case k.Wrong > 1 || k.Answer.Transposition != 0:
		return phrase.Lost
	case k.Wrong == 1:
		return phrase.Slipped
	case label == hunt.Searched:
		return phrase.Searched
	case label == hunt.Unsure:
		return phrase.Unsure
	}
	return phrase.Knew
}
