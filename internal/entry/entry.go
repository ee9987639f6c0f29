package entry

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"larkhand/internal/music"
)

// Kind is what was typed.
type Kind int

// The kinds.
const (
	Numbers Kind = iota
	Letters
)

// String is the kind in words.
func (k Kind) String() string {
	if k == Letters {
		return "letters"
	}
	return "numbers"
}

// Unheard is the pitch class of a note that the player did not hear, typed as a question mark.
const Unheard = -1

// MaxNotes is how many notes one entry may have: more than any phrase that is sung from memory.
const MaxNotes = 256

// Note is one note that was typed.
type Note struct {
	Class int    // pitch class, 0 to 11 (C is 0), or Unheard
	Typed string // as it was typed, its signs made plain: "b3", "D#", "?"
}

// Reader reads entries in one key.
type Reader struct {
	Key       music.Key
	Numbering music.Numbering // of numbers
}

// Read reads what was typed. An error says which part cannot be read and what would be; an empty entry has no notes.
func (r Reader) Read(kind Kind, typed string) ([]Note, error) {
	read := r.number
	if kind == Letters {
		read = letter
	}
	var notes []Note
	for rest := []rune(plain.Replace(typed)); ; {
		rest = skipGaps(rest)
		if len(rest) == 0 {
			return notes, nil
		}
		if len(notes) == MaxNotes {
			return nil, fmt.Errorf("an entry has at most %d notes: type one phrase", MaxNotes)
		}
		note, length, err := read(rest)
		if rest[0] == '?' {
			note, length, err = Note{Class: Unheard, Typed: "?"}, 1, nil
		}
		if err != nil {
			return nil, err
		}
		notes, rest = append(notes, note), rest[length:]
	}
}

// Write spells notes in the reader's key, with spaces between them; Read reads them back to the same pitch classes.
func (r Reader) Write(kind Kind, classes []int) string {
	words := make([]string, len(classes))
	for i, class := range classes {
		words[i] = r.Name(kind, class)
	}
	return strings.Join(words, " ")
}

// Name is the number or letter of one pitch class, or "?" for Unheard.
func (r Reader) Name(kind Kind, class int) string {
	switch {
	case class == Unheard:
		return "?"
	case kind == Letters:
		return r.Key.Letter(class).Letter
	}
	return r.Key.Degree(class, r.Numbering)
}

// Classes are the pitch classes of notes.
func Classes(notes []Note) []int {
	classes := make([]int, len(notes))
	for i, n := range notes {
		classes[i] = n.Class
	}
	return classes
}

// Respelled lists the notes that were typed otherwise than the key writes them, each name once: D# where the key has Eb.
func (r Reader) Respelled(kind Kind, notes []Note) (typed, own []string) {
	for _, n := range notes {
		name := r.Name(kind, n.Class)
		if n.Typed != name && !slices.Contains(typed, n.Typed) {
			typed, own = append(typed, n.Typed), append(own, name)
		}
	}
	return typed, own
}

// plain makes the signs of print those of a keyboard, and full-width digits plain ones.
var plain = strings.NewReplacer("♭", "b", "♯", "#", "♮", "n", "𝄫", "bb", "𝄪", "##", "’", "'",
	"１", "1", "２", "2", "３", "3", "４", "4", "５", "5", "６", "6", "７", "7", "８", "8")

func skipGaps(rest []rune) []rune {
	for len(rest) > 0 && (unicode.IsSpace(rest[0]) || strings.ContainsRune(",;|-–—/.()[]", rest[0])) {
		rest = rest[1:]
	}
	return rest
}

// most is how many accidentals one note may have.
const most = 2

// number reads one number at the beginning of rest.
func (r Reader) number(rest []rune) (Note, int, error) {
	signs := 0
	for signs < len(rest) && strings.ContainsRune("#bBn", rest[signs]) {
		signs++
	}
	accidentals := strings.ReplaceAll(strings.ToLower(string(rest[:signs])), "n", "")
	length := signs + 1
	if length > len(rest) || rest[signs] < '1' || rest[signs] > '8' || len(accidentals) > most || strings.Contains(accidentals, "#") && strings.Contains(accidentals, "b") {
		return Note{}, 0, fmt.Errorf("%q is no number: write 1 to 7, with # or b before it where needed, as in \"1 1 2 b3\"", word(rest))
	}
	digit := string(rest[signs])
	if digit == "8" {
		digit = "1"
	}
	typed, meant := accidentals+digit, accidentals+digit
	if r.againstMajor(accidentals, digit) {
		meant = digit
	}
	midi, err := r.Key.Pitch(meant, r.Numbering, middle)
	if err != nil {
		return Note{}, 0, err
	}
	return Note{Class: midi % semitones, Typed: typed}, length, nil
}

// againstMajor reports whether accidentals say only what the key's own degree is already, counted against major: b3 in a minor
// key, #4 in a lydian one. Numbers of the key's own scale never need these names: the note that they would be has a plain one.
func (r Reader) againstMajor(accidentals, digit string) bool {
	if r.Numbering != music.ScaleNumbers || accidentals == "" {
		return false
	}
	own, err1 := r.Key.Pitch(digit, music.ScaleNumbers, middle)
	major, err2 := r.Key.Pitch(accidentals+digit, music.AlteredNumbers, middle)
	plain, err3 := r.Key.Pitch(digit, music.AlteredNumbers, middle)
	return err1 == nil && err2 == nil && err3 == nil && plain != major && (own-major)%semitones == 0
}

const (
	semitones = 12
	middle    = 60 // middle C: any octave above 0 does
)

// letter reads one letter at the beginning of rest.
func letter(rest []rune) (Note, int, error) {
	name := unicode.ToUpper(rest[0])
	class := strings.IndexRune("C D EF G A B", name)
	if class < 0 || name == ' ' {
		return Note{}, 0, fmt.Errorf("%q is no letter name: write A to G, with # or b after it where needed, as in \"C C D Eb\"", word(rest))
	}
	length := 1
	for length < len(rest) && length <= most && (rest[length] == '#' || rest[length] == 'b') && rest[length] == rest[1] {
		length++
	}
	signs := string(rest[1:length])
	class += strings.Count(signs, "#") - strings.Count(signs, "b")
	if length < len(rest) && rest[length] == 'n' && signs == "" {
		length++
	}
	return Note{Class: (class + semitones) % semitones, Typed: string(name) + signs}, length, nil
}

// word is the part of rest up to the next space, cut short, for an error.
func word(rest []rune) string {
	const long = 12
	end := 1
	for end < len(rest) && end < long && !unicode.IsSpace(rest[end]) {
		end++
	}
	return string(rest[:end])
}
