package phrase

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"larkhand/internal/music"
)

// reference is the tonic on which numbers are read; any would do.
const reference = 60

// Read reads a typed phrase of a scale, such as "minor"; the package comment tells how it is typed. Errors name the word.
func Read(typed, scale string, numbering music.Numbering) (Phrase, error) {
	key, err := music.ParseKey("C " + scale)
	if err != nil {
		return Phrase{}, fmt.Errorf("%q is no scale: write one such as minor, major or dorian", scale)
	}
	_, scale, _ = strings.Cut(key.String(), " ")
	p, r := Phrase{Scale: scale}, typist{key: key, numbering: numbering, length: 1}
	for _, word := range strings.Fields(signs.Replace(typed)) {
		if word == "|" {
			continue
		}
		note, rest, err := r.word(word)
		if err != nil {
			return Phrase{}, err
		}
		if !rest {
			p.Notes = append(p.Notes, note)
		}
		if len(p.Notes) > MaxNotes {
			return Phrase{}, fmt.Errorf("a phrase has at most %d notes: keep it as several", MaxNotes)
		}
	}
	if len(p.Notes) == 0 {
		return Phrase{}, fmt.Errorf("a phrase needs at least one note: type its numbers, such as \"1 2 b3:2 5\"")
	}
	first := p.Notes[0].Start
	for i := range p.Notes {
		p.Notes[i].Start -= first
	}
	return p, nil
}

var signs = strings.NewReplacer("♭", "b", "♯", "#", "’", "'", "|", " | ")

// typist reads one word after the other.
type typist struct {
	key       music.Key
	numbering music.Numbering
	length    float64 // of notes without one of their own, quarter notes
	now       float64 // quarter notes
	before    *int    // semitones of the note before
}

// word reads one note or rest.
func (t *typist) word(word string) (n Note, rest bool, err error) {
	name, length, given := strings.Cut(word, ":")
	if given {
		if t.length, err = readLength(length); err != nil {
			return n, false, fmt.Errorf("%q has no length after the colon: write quarter notes, such as 2, 0.5 or 1/2", word)
		}
	}
	start := t.now
	t.now += t.length
	if name == "-" {
		return n, true, nil
	}
	up := strings.Count(name, "'") - strings.Count(name, ",")
	number := strings.Trim(name, "',")
	if number == "8" {
		number = "1"
	}
	near := reference + semitones/2 // the first note lies at or above the tonic
	if t.before != nil {
		near = reference + *t.before
	}
	pitch, err := t.key.Pitch(number, t.numbering, near)
	if err != nil || up > mostOctaves || up < -mostOctaves {
		return n, false, fmt.Errorf("%q is no note: write a number from 1 to 7 with # or b before it, ' or , after it for an octave up or down, such as b3'", word)
	}
	if t.before == nil && pitch < reference {
		pitch += semitones
	}
	n = Note{Semitones: pitch - reference + semitones*up, Start: start, Length: t.length}
	t.before = &n.Semitones
	return n, false, nil
}

const (
	mostOctaves   = 3
	longestLength = 64 // quarter notes of one note
)

func readLength(text string) (float64, error) {
	over, under, fraction := strings.Cut(text, "/")
	length, err := strconv.ParseFloat(over, 64)
	if fraction && err == nil {
		var by float64
		by, err = strconv.ParseFloat(under, 64)
		length /= by
	}
	if err != nil || !(length >= 1.0/16 && length <= longestLength) {
		return 0, strconv.ErrRange
	}
	return length, nil
}

// Write types a phrase; Read reads it back. near notes need no octave signs.
func (p Phrase) Write(numbering music.Numbering) (string, error) {
	key, err := p.Key("C")
	if err != nil {
		return "", err
	}
	var words []string
	length, now := 1.0, 0.0
	sized := func(name string, l float64) {
		if math.Abs(l-length) > 1e-9 {
			name += ":" + writeLength(l)
			length = l
		}
		words = append(words, name)
		now += l
	}
	before := semitones / 2
	for i, n := range p.Notes {
		if gap := n.Start - now; gap > 1e-6 {
			sized("-", gap)
		}
		name := key.Degree(reference+n.Semitones, numbering)
		plain, err := key.Pitch(name, numbering, reference+before)
		if err != nil {
			return "", err
		}
		if i == 0 && plain < reference {
			plain += semitones
		}
		octaves := (reference + n.Semitones - plain) / semitones
		name += strings.Repeat("'", max(octaves, 0)) + strings.Repeat(",", max(-octaves, 0))
		sized(name, n.Length)
		before = n.Semitones
	}
	return strings.Join(words, " "), nil
}

// writeLength writes quarter notes as a whole number or a fraction.
func writeLength(l float64) string {
	for _, under := range []float64{1, 2, 3, 4, 6, 8, 12, 16, 24} {
		if over := l * under; math.Abs(over-math.Round(over)) < 1e-6 {
			if under == 1 {
				return strconv.FormatFloat(math.Round(over), 'f', -1, 64)
			}
			return fmt.Sprintf("%.0f/%.0f", over, under)
		}
	}
	return strconv.FormatFloat(l, 'f', -1, 64)
}
