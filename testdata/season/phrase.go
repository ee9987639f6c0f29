package main

import (
	"math/rand/v2"
	"strings"

	"larkhand/internal/music"
	"larkhand/match"
)

// phrase is what a player means to sing.
type phrase struct {
	key   music.Key
	tempo float64 // quarter notes a minute
	notes []note
}

// note is one note of a phrase; times in quarter notes after the first one.
type note struct {
	beat, length float64
	pitch        int // MIDI number
	degree       int // 1 to 7
}

// Sizes of a phrase.
const (
	fewestNotes, mostNotes = 5, 7
	slowest, fastest       = 84, 108 // quarter notes a minute
	lowest, highest        = -2, 8   // scale steps from the tonic
	leap                   = 5       // semitones: larger than a third
)

// walks are the steps of a phrase's melody, in steps of the scale: mostly by step, some thirds, leaps up and down.
var walks = []int{1, 1, 1, -1, -1, -1, 2, -2, 3, 4, -3}

// lengths are the notes' lengths, quarter notes.
var lengths = []float64{0.5, 0.5, 1, 1, 1.5}

func newPhrase(rng *rand.Rand, key music.Key, tonic int) phrase {
	p := phrase{key: key, tempo: float64(slowest + 4*rng.IntN((fastest-slowest)/4+1))}
	classes := key.PitchClasses()
	step, beat := rng.IntN(5), 0.0
	for range fewestNotes + rng.IntN(mostNotes-fewestNotes+1) {
		length := lengths[rng.IntN(len(lengths))]
		octave, place := (step+7)/7-1, (step+7)%7
		above := (classes[place] - classes[0] + 12) % 12
		p.notes = append(p.notes, note{beat, 0.85 * length, tonic + classOffset(classes[0], tonic) + 12*octave + above, place + 1})
		beat += length
		next := step
		for next == step || next < lowest || next > highest {
			next = step + walks[rng.IntN(len(walks))]
		}
		step = next
	}
	return p
}

// classOffset is the way from a note to the nearest one of a pitch class, -5 to 6 semitones.
func classOffset(class, from int) int { return (class-from+12*12+5)%12 - 5 }

// leapUp is a note that a leap up leads to; match.None where there is none.
func (p phrase) leapUp() int {
	for i := 1; i < len(p.notes); i++ {
		if p.notes[i].pitch-p.notes[i-1].pitch >= leap {
			return i
		}
	}
	return match.None
}

// sixth is a note on the sixth degree that is not the first; match.None where there is none.
func (p phrase) sixth() int {
	for i := 1; i < len(p.notes); i++ {
		if p.notes[i].degree == 6 {
			return i
		}
	}
	return match.None
}

// flats are the notes whose letter has a flat.
func (p phrase) flats() (at []int) {
	for i, n := range p.notes {
		if strings.HasSuffix(p.key.Letter(n.pitch).Letter, "b") {
			at = append(at, i)
		}
	}
	return at
}

// written is what the player writes down, the letter of one note without its flat; match.None for no such note.
func (p phrase) written(misnamed int) (numbers, letters string) {
	var n, l []string
	for i, note := range p.notes {
		letter := p.key.Letter(note.pitch).Letter
		if i == misnamed {
			letter = strings.TrimSuffix(letter, "b")
		}
		n, l = append(n, p.key.Degree(note.pitch, music.ScaleNumbers)), append(l, letter)
	}
	return strings.Join(n, " "), strings.Join(l, " ")
}
