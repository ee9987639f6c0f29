package report

import (
	"encoding/json"
	"io"
	"math"

	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/match"
	"larkhand/voice"
)

// The names and versions of the JSON documents.
const (
	RoundSchema = "larkhand.round/1"
	NotesSchema = "larkhand.notes/1"
	PitchSchema = "larkhand.pitch/1"
)

// RoundDocument is one judged round. Indices of sung notes count the notes of the last take, those of played notes the
// notes of the answer, both from 0. No list is ever null.
type RoundDocument struct {
	Schema     string            `json:"schema"`             // RoundSchema
	Key        string            `json:"key"`                // "C minor"
	KeyGuessed bool              `json:"key_guessed"`        // from the notes, since none was given
	Numbering  string            `json:"numbering"`          // "scale" or "altered": what degree counts
	Takes      []TakeDocument    `json:"takes"`              // one or two, in the order sung
	TakesAgree *AgreeDocument    `json:"takes_agree"`        // null with one take
	Answer     AnswerDocument    `json:"answer"`             //
	Alignment  AlignmentDocument `json:"alignment"`          //
	Finding    FindingDocument   `json:"finding"`            //
	Response   *Number           `json:"response_seconds"`   // end of the last sung note to first played note, s; null where not known
	Settled    []SettledDocument `json:"settled"`            // notes of the last take on which take 1 had a say
	Steps      *StepsDocument    `json:"steps,omitempty"`    // only where the player wrote numbers or letters down
	Pieces     []Number          `json:"pieces,omitempty"`   // s since the answer's zero, where each piece but the first begins; only of an answer in pieces
	Helped     round.Helped      `json:"helped,omitzero"`    // how often the player heard what again, or sang take 2 anew; only where it was
	Borrowed   []int             `json:"borrowed,omitempty"` // notes of the last take that were made out in take 1 only; the answer has them too; left out where there are none
	Remarks    []string          `json:"remarks"`            // sentences for the player
}

// TakeDocument is one singing of the phrase.
type TakeDocument struct {
	File        string         `json:"file"`
	Written     bool           `json:"written"`         // the notes came from a MIDI file, nothing was sung
	Duration    Number         `json:"duration"`        // s
	TuningCents Number         `json:"tuning_cents"`    // the take's own tuning above A4 = 440 Hz
	Bleed       *BleedDocument `json:"bleed,omitempty"` // only where the loop's sound was given and taken out
	Notes       []SungDocument `json:"notes"`
}

// BleedDocument says how much of the loop the microphone heard beside the voice, and what is left of it in the take that was judged.
type BleedDocument struct {
	Present      bool   `json:"present"`       // the loop can be heard in the take at all
	LevelDB      Number `json:"level_db"`      // of the loop over the voice while somebody sings; -100 where not present, null where nobody sings
	LeftDB       Number `json:"left_db"`       // expected to be left of it over the voice, dB
	Method       string `json:"method"`        // untouched, fixed, pieces, tracked
	Verdict      string `json:"verdict"`       // usual, some bleed, marked
	UnclearNotes int    `json:"unclear_notes"` // unclear since too much of the loop is left beside them
}

// SungDocument is one sung note.
type SungDocument struct {
	Onset        Number    `json:"onset"`                  // s since the start of the take
	Offset       Number    `json:"offset"`                 // s
	Pitch        Number    `json:"pitch"`                  // MIDI number as it sounded; 60.13 is C4 plus 13 cents
	Semitone     int       `json:"semitone"`               // likeliest tempered pitch, MIDI number
	Letter       string    `json:"letter"`                 // of Semitone, spelled in the key: "Eb"
	Octave       int       `json:"octave"`                 // of the letter; middle C is 4
	Degree       string    `json:"degree"`                 // of Semitone in the key: "b3"
	CentreCents  Number    `json:"centre_cents"`           // distance from Semitone on the take's own tuning
	SpreadCents  Number    `json:"spread_cents"`           // interquartile range of the pitch
	Level        Number    `json:"level_dbfs"`             // median; null where the note was written
	Chance       [3]Number `json:"chance"`                 // that Semitone-1, Semitone, Semitone+1 was meant
	Confidence   Number    `json:"confidence"`             // 0 to 1
	Unclear      bool      `json:"unclear"`                // the voice does not decide
	Chord        string    `json:"chord,omitempty"`        // that sounds at the onset; only with a chart
	ChordDegree  string    `json:"chord_degree,omitempty"` // of Semitone counted from the chord's root, against major
	ReferenceCts Number    `json:"reference_cents"`        // where the take's own tuning lay at this note
}

// AgreeDocument compares take 2 with take 1.
type AgreeDocument struct {
	SamePhrase        bool     `json:"same_phrase"`
	Pairs             [][2]int `json:"pairs"`               // [note of take 1, note of take 2]
	CentreChangeCents Number   `json:"centre_change_cents"` // median change of |centre|; negative is closer
	SpreadChangeCents Number   `json:"spread_change_cents"` // median change of spread; negative is steadier
}

// SettledDocument is a note of the last take as it was matched, after take 1 had its say.
type SettledDocument struct {
	Sung     int    `json:"sung"`
	Semitone int    `json:"semitone"` // MIDI number
	Letter   string `json:"letter"`
	Octave   int    `json:"octave"`
	Degree   string `json:"degree"`
	Unclear  bool   `json:"unclear"`
}

// AnswerDocument is what was played.
type AnswerDocument struct {
	File  string           `json:"file"`
	Notes []PlayedDocument `json:"notes"`
}

// PlayedDocument is one played note.
type PlayedDocument struct {
	Onset       Number `json:"onset"`  // s since the answer's zero
	Offset      Number `json:"offset"` // s
	Pitch       Number `json:"pitch"`  // MIDI number as it sounded, pitch bend included
	Letter      string `json:"letter"`
	Octave      int    `json:"octave"`
	Degree      string `json:"degree"`
	Velocity    int    `json:"velocity"` // 1 to 127
	Channel     int    `json:"channel"`  // 0 to 15
	Chord       string `json:"chord,omitempty"`
	ChordDegree string `json:"chord_degree,omitempty"`
}

// AlignmentDocument lays the answer beside the phrase.
type AlignmentDocument struct {
	Octaves       int            `json:"octaves"`       // that the answer lies above the voice
	Transposition int            `json:"transposition"` // semitones that the whole answer lies off besides; 0 is as sung
	TuningShift   int            `json:"tuning_shift"`  // semitones by which the voice lay between the keys: -1, 0 or 1
	VoiceCents    Number         `json:"voice_cents"`   // how far the voice lay above the instrument
	TempoRatio    Number         `json:"tempo_ratio"`   // played seconds per sung second
	Pairs         []PairDocument `json:"pairs"`         // in time order; each note stands in exactly one
}

// PairDocument joins a sung and a played note.
type PairDocument struct {
	Sung    *int   `json:"sung"`    // null where the played note was added
	Played  *int   `json:"played"`  // null where the sung note was not answered
	Verdict string `json:"verdict"` // same, different, unclear, left out, added
}

// FindingDocument says whether the answer was known.
type FindingDocument struct {
	Searched Number             `json:"searched"` // probability, 0 to 1
	Label    string             `json:"label"`    // known, unsure, searched
	Evidence []EvidenceDocument `json:"evidence"` // in time order
}

// EvidenceDocument is one place that speaks for searching.
type EvidenceDocument struct {
	Kind   string `json:"kind"`  // correction, creep, hesitation, restart, touch
	Onset  Number `json:"onset"` // s on the answer's clock
	Offset Number `json:"offset"`
	Sung   []int  `json:"sung"`
	Played []int  `json:"played"`
	Text   string `json:"text"`
	Weight Number `json:"weight"` // its share of the log-odds
}

// NotesDocument is one take by itself.
type NotesDocument struct {
	Schema     string `json:"schema"` // NotesSchema
	Key        string `json:"key"`
	KeyGuessed bool   `json:"key_guessed"`
	Numbering  string `json:"numbering"`
	TakeDocument
	Remarks []string `json:"remarks"`
}

// PitchDocument is the frames of one take.
type PitchDocument struct {
	Schema   string          `json:"schema"` // PitchSchema
	File     string          `json:"file"`
	Duration Number          `json:"duration"` // s
	Frames   []FrameDocument `json:"frames"`
	Remarks  []string        `json:"remarks"`
}

// FrameDocument is one frame.
type FrameDocument struct {
	Time   Number `json:"time"`       // s; the frame is centred here
	F0     Number `json:"f0"`         // Hz; null where unvoiced
	Voiced Number `json:"voiced"`     // 0 to 1
	Level  Number `json:"level_dbfs"` //
}

// JSON writes a round as a RoundDocument, on one line.
func JSON(w io.Writer, r round.Round) error { return json.NewEncoder(w).Encode(NewRoundDocument(r)) }

// NewRoundDocument makes the document of a round.
func NewRoundDocument(r round.Round) RoundDocument {
	d := RoundDocument{
		Schema:     RoundSchema,
		Key:        r.Key.String(),
		KeyGuessed: r.KeyGuessed,
		Numbering:  r.Numbering.String(),
		Takes:      []TakeDocument{},
		Answer:     answerDocument(r),
		Alignment:  alignmentDocument(r.Alignment),
		Finding:    findingDocument(r),
		Settled:    settledDocuments(r),
		Borrowed:   r.Borrowed,
		Steps:      stepsDocument(r),
		Helped:     r.Helped,
		Remarks:    filled(r.Remarks),
	}
	for i, take := range r.Takes {
		t := takeDocument(take, r.Key, r.Numbering)
		for j := range t.Notes {
			t.Notes[j].Chord, t.Notes[j].ChordDegree = r.SungChord(i, j)
		}
		d.Takes = append(d.Takes, t)
	}
	for _, begins := range r.Pieces {
		d.Pieces = append(d.Pieces, rounded(begins, timeDigits))
	}
	if a := r.Agreement; a != nil {
		d.TakesAgree = &AgreeDocument{
			SamePhrase:        a.SamePhrase,
			Pairs:             filled(a.Pairs),
			CentreChangeCents: rounded(a.CentreChangeCents, centsDigits),
			SpreadChangeCents: rounded(a.SpreadChangeCents, centsDigits),
		}
	}
	if r.ResponseSeconds != nil {
		response := rounded(*r.ResponseSeconds, timeDigits)
		d.Response = &response
	}
	return d
}

// filled is list, or an empty one instead of nil, which JSON would write as null.
func filled[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func takeDocument(take round.Take, key music.Key, numbering music.Numbering) TakeDocument {
	t := TakeDocument{
		File:        take.File,
		Written:     take.Written,
		Duration:    rounded(take.Voice.Duration, timeDigits),
		TuningCents: rounded(take.Voice.TuningCents, centsDigits),
		Notes:       []SungDocument{},
	}
	if b := take.Bleed; b != nil {
		t.Bleed = &BleedDocument{Present: b.Present, LevelDB: rounded(b.LevelDB, levelDigits), LeftDB: rounded(b.LeftDB, levelDigits),
			Method: string(b.Method), Verdict: b.Verdict.String(), UnclearNotes: b.Unclear}
	}
	for _, n := range take.Voice.Notes {
		t.Notes = append(t.Notes, sungDocument(n, key, numbering))
	}
	return t
}

func sungDocument(n voice.Note, key music.Key, numbering music.Numbering) SungDocument {
	spelling := key.Letter(n.Semitone)
	d := SungDocument{
		Onset:        rounded(n.Onset, timeDigits),
		Offset:       rounded(n.Offset, timeDigits),
		Pitch:        rounded(n.Pitch, pitchDigits),
		Semitone:     n.Semitone,
		Letter:       spelling.Letter,
		Octave:       spelling.Octave,
		Degree:       key.Degree(n.Semitone, numbering),
		CentreCents:  rounded(n.CentreCents, centsDigits),
		SpreadCents:  rounded(n.SpreadCents, centsDigits),
		Level:        rounded(n.Level, levelDigits),
		Confidence:   rounded(n.Confidence, chanceDigits),
		Unclear:      n.Unclear,
		ReferenceCts: rounded(n.ReferenceCents, centsDigits),
	}
	for i, chance := range n.Chance {
		d.Chance[i] = rounded(chance, chanceDigits)
	}
	return d
}

func settledDocuments(r round.Round) []SettledDocument {
	out := []SettledDocument{}
	for _, i := range r.Settled {
		n := r.Phrase[i]
		spelling := r.Key.Letter(n.Semitone)
		out = append(out, SettledDocument{Sung: i, Semitone: n.Semitone, Letter: spelling.Letter, Octave: spelling.Octave,
			Degree: r.Key.Degree(n.Semitone, r.Numbering), Unclear: n.Unclear})
	}
	return out
}

func answerDocument(r round.Round) AnswerDocument {
	d := AnswerDocument{File: r.Answer.File, Notes: []PlayedDocument{}}
	for i, n := range r.Answer.Notes {
		semitone := int(math.Round(n.Pitch))
		spelling := r.Key.Letter(semitone)
		chord, chordDegree := r.PlayedChord(i)
		d.Notes = append(d.Notes, PlayedDocument{
			Onset:       rounded(n.Onset, timeDigits),
			Offset:      rounded(n.Offset, timeDigits),
			Pitch:       rounded(n.Pitch, pitchDigits),
			Letter:      spelling.Letter,
			Octave:      spelling.Octave,
			Degree:      r.Key.Degree(semitone, r.Numbering),
			Velocity:    n.Velocity,
			Channel:     n.Channel,
			Chord:       chord,
			ChordDegree: chordDegree,
		})
	}
	return d
}

func alignmentDocument(a match.Alignment) AlignmentDocument {
	d := AlignmentDocument{
		Octaves:       a.Octaves,
		Transposition: a.Transposition,
		TuningShift:   a.TuningShift,
		VoiceCents:    rounded(a.VoiceCents, centsDigits),
		TempoRatio:    rounded(a.TempoRatio, ratioDigits),
		Pairs:         []PairDocument{},
	}
	for _, p := range a.Pairs {
		d.Pairs = append(d.Pairs, PairDocument{Sung: noteOrNull(p.Sung), Played: noteOrNull(p.Played), Verdict: string(p.Verdict)})
	}
	return d
}

func noteOrNull(index int) *int {
	if index == match.None {
		return nil
	}
	return &index
}

func findingDocument(r round.Round) FindingDocument {
	d := FindingDocument{
		Searched: rounded(r.Finding.Searched, chanceDigits),
		Label:    string(r.Finding.Label),
		Evidence: []EvidenceDocument{},
	}
	for _, e := range r.Finding.Evidence {
		d.Evidence = append(d.Evidence, EvidenceDocument{
			Kind:   string(e.Kind),
			Onset:  rounded(e.Onset, timeDigits),
			Offset: rounded(e.Offset, timeDigits),
			Sung:   filled(e.Sung),
			Played: filled(e.Played),
			Text:   e.Text,
			Weight: rounded(e.Weight, ratioDigits),
		})
	}
	return d
}
