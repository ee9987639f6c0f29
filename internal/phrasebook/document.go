package phrasebook

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"larkhand/internal/music"
	"larkhand/internal/phrase"
)

// Document is a phrase as it is written.
type Document struct {
	Schema string                           `json:"schema"` // Schema
	Name   string                           `json:"name"`
	Tags   []string                         `json:"tags,omitempty"`
	Chords string                           `json:"chords,omitempty"` // in the key of C
	Scale  string                           `json:"scale"`
	Notes  []NoteDocument                   `json:"notes"`
	Kept   time.Time                        `json:"kept"`
	Cards  map[string]map[string]CardRecord `json:"players,omitempty"` // by player, then by tonic
}

// NoteDocument is one note.
type NoteDocument struct {
	Semitones int     `json:"semitones"` // above the tonic
	Start     float64 `json:"start"`     // quarter notes since the first note
	Length    float64 `json:"length"`    // quarter notes
}

// CardRecord is a card.
type CardRecord struct {
	Tries       int       `json:"tries"`
	Repetitions int       `json:"repetitions"`
	Ease        float64   `json:"ease"`
	Days        int       `json:"days"`
	Last        time.Time `json:"last"`
}

func documentOf(e Entry) Document {
	d := Document{Schema: Schema, Name: e.Name, Tags: e.Tags, Chords: e.Chords, Scale: e.Scale, Notes: []NoteDocument{}, Kept: e.Kept}
	for _, n := range e.Notes {
		d.Notes = append(d.Notes, NoteDocument(n))
	}
	for player, cards := range e.Cards {
		if d.Cards == nil {
			d.Cards = map[string]map[string]CardRecord{}
		}
		d.Cards[player] = map[string]CardRecord{}
		for tonic, c := range cards {
			d.Cards[player][tonic] = CardRecord(c)
		}
	}
	return d
}

// parse reads a document and believes nothing.
func parse(data []byte) (Entry, error) {
	var d Document
	if err := json.Unmarshal(data, &d); err != nil {
		return Entry{}, errors.New("it is not JSON as larkhand writes it")
	}
	if d.Schema != Schema {
		if strings.HasPrefix(d.Schema, "larkhand.phrase/") {
			return Entry{}, fmt.Errorf("it was written by a newer larkhand (%s)", d.Schema)
		}
		return Entry{}, errors.New("it has another schema")
	}
	if _, err := music.ParseKey("C " + d.Scale); err != nil || strings.TrimSpace(d.Name) == "" || len(d.Notes) == 0 || len(d.Notes) > phrase.MaxNotes {
		return Entry{}, fmt.Errorf("it needs a name, a scale and 1 to %d notes", phrase.MaxNotes)
	}
	e := Entry{Phrase: phrase.Phrase{Name: d.Name, Tags: d.Tags, Chords: d.Chords, Scale: d.Scale}, Kept: d.Kept}
	end := 0.0
	for i, n := range d.Notes {
		const far, long = 48, 1e4
		if n.Semitones < -far || n.Semitones > far || !(n.Start >= end-1e-6 && n.Start < long) || !(n.Length > 0 && n.Length < long) {
			return Entry{}, fmt.Errorf("note %d lies outside what can be sung, or before the end of the one before it", i+1)
		}
		end = n.Start + n.Length
		e.Notes = append(e.Notes, phrase.Note(n))
	}
	for player, cards := range d.Cards {
		for tonic, c := range cards {
			if c.Tries < 1 || c.Repetitions < 0 || c.Repetitions > c.Tries || !(c.Ease >= 1 && c.Ease < 100) || c.Days < 1 || c.Days > 1e6 {
				return Entry{}, fmt.Errorf("the record of %s in %s cannot be", player, tonic)
			}
			if e.Cards == nil {
				e.Cards = map[string]map[string]phrase.Card{}
			}
			if e.Cards[player] == nil {
				e.Cards[player] = map[string]phrase.Card{}
			}
			e.Cards[player][tonic] = phrase.Card(c)
		}
	}
	return e, nil
}
