package round

import (
	"fmt"
	"math"

	"larkhand/midiin"
	"larkhand/voice"
)

// Take is one singing of the phrase, ready to be judged.
type Take struct {
	// File is the name shown to the player; may be empty.
	File string
	// Voice is the analysed take. Frames is empty where the notes came from a MIDI file.
	Voice voice.Take
	// Written is true where the notes came from a MIDI file: the phrase was known beforehand and nothing was sung.
	Written bool
	// Bleed says how much of the loop was in the take and is left of it; nil where no loop was taken out.
	Bleed *BleedLevels
	// Remarks are sentences for the player about this take, such as "The microphone was overdriven ...".
	Remarks []string
}

// Answer is the phrase played back on the instrument.
type Answer struct {
	// File is the name shown to the player; may be empty.
	File string
	// Notes are in order of onset, s on the answer's clock.
	Notes []midiin.Note
	// Remarks are sentences for the player about the answer, such as how many false notes of a guitar converter were
	// left out.
	Remarks []string
}

// SungTake analyses one singing of the phrase. samples are mono, full scale 1, rate in Hz (voice.MinRate to voice.MaxRate).
// What a player can mend in the sound becomes remarks. An error says that the sound cannot be analysed at all; a take
// without notes is no error here, Judge refuses it.
func SungTake(file string, samples []float32, rate int) (Take, error) {
	analysed, err := voice.Analyse(samples, rate)
	if err != nil {
		return Take{}, err
	}
	take := Take{File: file, Voice: analysed}
	take.Remarks = soundRemarks(analysed)
	return take, nil
}

// WrittenTake makes a take of notes that were known beforehand, for example from a MIDI file. Every note counts as
// sure and exactly in tune with itself: its tempered pitch is the nearest one to how it sounded, pitch bend included.
func WrittenTake(file string, notes []midiin.Note) Take {
	take := Take{File: file, Written: true}
	for _, n := range notes {
		semitone := int(math.Round(n.Pitch))
		take.Voice.Notes = append(take.Voice.Notes, voice.Note{
			Onset: n.Onset, Offset: n.Offset,
			Pitch: n.Pitch, Semitone: semitone,
			Chance:      [3]float64{0, 1, 0},
			CentreCents: 100 * (n.Pitch - float64(semitone)),
			Level:       math.NaN(),
			Confidence:  1,
		})
		take.Voice.Duration = math.Max(take.Voice.Duration, n.Offset)
	}
	return take
}

// Name is the file's name, or "take 1" and so on where there is none. index counts from 0.
func (t Take) Name(index int) string {
	if t.File != "" {
		return t.File
	}
	return fmt.Sprintf("take %d", index+1)
}
