package phrase

import (
	"fmt"
	"math"
	"strings"

	"larkhand/internal/music"
)

// MaxNotes is how many notes a phrase may have.
const MaxNotes = 128

// Note is one note of a phrase.
type Note struct {
	Semitones     int     // above the tonic; may be negative or more than an octave
	Start, Length float64 // quarter notes since the first note's start; Length > 0
}

// Phrase is a phrase of no key.
type Phrase struct {
	Name   string
	Tags   []string
	Chords string // chords it fits, as a chart in the key of C: "Dm7 | G7"; "" for none named
	Scale  string // that its numbers count: "minor", "dorian"
	Notes  []Note // in order of Start, not overlapping
}

// Key is the phrase's scale on a tonic, such as "Eb".
func (p Phrase) Key(tonic string) (music.Key, error) { return music.ParseKey(tonic + " " + p.Scale) }

// UsualKey is the phrase's scale on a pitch class, named with the fewest accidentals in its scale: F# minor rather than Gb minor.
func (p Phrase) UsualKey(class int) (music.Key, error) {
	best, err := p.Key(Tonic(class))
	if err != nil {
		return best, err
	}
	for _, name := range [...]string{"C#", "D#", "F#", "G#", "A#"} {
		key, err := p.Key(name)
		if err == nil && key.PitchClasses()[0] == best.PitchClasses()[0] && signsIn(key) < signsIn(best) {
			best = key
		}
	}
	return best, nil
}

// signsIn counts the accidentals of a key's scale.
func signsIn(key music.Key) int {
	all := strings.Join(key.Scale(), "")
	return strings.Count(all, "#") + strings.Count(all, "b")
}

// In are the pitches of the phrase on the tonic of a key, MIDI numbers, in the octave where their middle lies nearest to near.
func (p Phrase) In(key music.Key, near float64) []int {
	tonic := key.PitchClasses()[0]
	low, high := math.MaxInt, math.MinInt
	for _, n := range p.Notes {
		low, high = min(low, n.Semitones), max(high, n.Semitones)
	}
	octave := math.Round((near - float64(tonic) - float64(low+high)/2) / semitones)
	out := make([]int, len(p.Notes))
	for i, n := range p.Notes {
		out[i] = tonic + semitones*int(octave) + n.Semitones
	}
	return out
}

const semitones = 12

// Of makes a phrase of notes in a key: pitches as MIDI numbers, onsets and offsets in s, at a tempo in quarter notes a minute. The
// rhythm goes to the nearest sixteenth or eighth triplet.
func Of(key music.Key, pitches []int, onsets, offsets []float64, tempo float64) (Phrase, error) {
	if len(pitches) == 0 || len(pitches) > MaxNotes {
		return Phrase{}, fmt.Errorf("a phrase has 1 to %d notes, not %d", MaxNotes, len(pitches))
	}
	_, scale, _ := strings.Cut(key.String(), " ")
	p := Phrase{Scale: scale}
	tonic := below(pitches[0], key.PitchClasses()[0])
	quarters := func(s float64) float64 { return snapped((s - onsets[0]) * tempo / 60) }
	for i, pitch := range pitches {
		n := Note{Semitones: pitch - tonic, Start: quarters(onsets[i])}
		if i > 0 {
			last := &p.Notes[i-1]
			n.Start = math.Max(n.Start, last.Start+shortest)
			if gap := n.Start - last.Start; last.Length >= legato*gap {
				last.Length = gap
			}
		}
		n.Length = math.Max(math.Round((offsets[i]-onsets[i])*tempo/60*4)/4, shortest)
		p.Notes = append(p.Notes, n)
	}
	return p, nil
}

// below is the highest pitch of a pitch class at or below a pitch.
func below(pitch, class int) int { return pitch - (((pitch-class)%semitones)+semitones)%semitones }

// legato is the share of the time to the next note from which on a note is held until there. Own.
const legato = 0.7

// shortest is the shortest length of a note, quarter notes: a thirty-second.
const shortest = 1.0 / 8

// snapped is the nearest sixteenth or eighth triplet.
func snapped(quarters float64) float64 {
	straight, triplet := math.Round(quarters*4)/4, math.Round(quarters*3)/3
	if math.Abs(triplet-quarters)+tripletCost < math.Abs(straight-quarters) {
		return triplet
	}
	return straight
}

// tripletCost is how much nearer a triplet must lie than a sixteenth, quarter notes. Own.
const tripletCost = 0.03

// Quarters is how long the phrase lasts.
func (p Phrase) Quarters() float64 {
	if len(p.Notes) == 0 {
		return 0
	}
	last := p.Notes[len(p.Notes)-1]
	return last.Start + last.Length
}
