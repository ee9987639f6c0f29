package report

import (
	"slices"

	"larkhand/internal/music"
)

// KeysSchema names the document of a key.
const KeysSchema = "larkhand.keys/1"

// KeysDocument is a key with its letters under its numbers, and a scale for each chord of a chart.
type KeysDocument struct {
	Schema    string            `json:"schema"` // KeysSchema
	Key       string            `json:"key"`    // "Eb dorian"
	Numbering string            `json:"numbering"`
	Notes     []KeyNote         `json:"notes"`          // of the scale, upward
	Bars      []KeysBarDocument `json:"bars,omitempty"` // only with a chart
}

// KeyNote is one note of a scale.
type KeyNote struct {
	Degree     string `json:"degree"` // in the key: "b3"
	Letter     string `json:"letter"`
	PitchClass int    `json:"pitch_class"` // 0 is C
}

// KeysBarDocument is one bar of a chart.
type KeysBarDocument struct {
	Bar    int                  `json:"bar"` // from 1
	Chords []ChordScaleDocument `json:"chords"`
}

// ChordScaleDocument is a scale to play over a chord.
type ChordScaleDocument struct {
	Symbol string          `json:"symbol"`
	Notes  []ChordNoteOver `json:"notes"` // from the root up; none for N.C.
}

// ChordNoteOver is one note of it.
type ChordNoteOver struct {
	Letter     string `json:"letter"`
	Degree     string `json:"degree"` // in the key
	PitchClass int    `json:"pitch_class"`
	InChord    bool   `json:"in_chord"`
}

// NewKeysDocument makes the document of a key; chart may be nil. A chord that goes on over several parts of a bar stands once.
func NewKeysDocument(key music.Key, numbering music.Numbering, chart *music.Chart) KeysDocument {
	d := KeysDocument{Schema: KeysSchema, Key: key.String(), Numbering: numbering.String(), Notes: []KeyNote{}}
	classes := key.PitchClasses()
	for i, letter := range key.Scale() {
		d.Notes = append(d.Notes, KeyNote{Degree: key.Degree(classes[i], numbering), Letter: letter, PitchClass: classes[i]})
	}
	if chart == nil {
		return d
	}
	for i, bar := range chart.Bars {
		b := KeysBarDocument{Bar: i + 1, Chords: []ChordScaleDocument{}}
		for _, c := range slices.Compact(slices.Clone(bar.Chords)) {
			over := ChordScaleDocument{Symbol: c.String(), Notes: []ChordNoteOver{}}
			for _, n := range key.ChordScale(c) {
				over.Notes = append(over.Notes, ChordNoteOver{n.Letter, key.Degree(n.PitchClass, numbering), n.PitchClass, n.Chord != ""})
			}
			b.Chords = append(b.Chords, over)
		}
		d.Bars = append(d.Bars, b)
	}
	return d
}
