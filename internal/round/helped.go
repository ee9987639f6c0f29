package round

import (
	"fmt"
	"strings"

	"larkhand/internal/music"
)

// Helped is how often a player asked for help between singing and the end of the answer.
type Helped struct {
	Key       int `json:"key,omitempty"`        // the key note was heard
	Chord     int `json:"chord,omitempty"`      // a chord of the loop was heard
	Take1     int `json:"take1,omitempty"`      // take 1 was heard again
	Take2     int `json:"take2,omitempty"`      // take 2 was heard again
	Notes1    int `json:"notes1,omitempty"`     // what was understood of take 1 was heard
	Notes2    int `json:"notes2,omitempty"`     // what was understood of take 2 was heard
	SungAgain int `json:"sung_again,omitempty"` // take 2 was thrown away and sung anew
}

// Zero reports whether no help was asked for.
func (h Helped) Zero() bool { return h == Helped{} }

// Words says in a few words what helped: "heard take 2 again twice and the key note, sang take 2 anew"; "" for nothing.
func (h Helped) Words() string {
	var parts []string
	if heard := h.heard(); heard != "" {
		parts = append(parts, "heard "+heard)
	}
	if h.SungAgain > 0 {
		parts = append(parts, "sang take 2 anew"+times(h.SungAgain))
	}
	return strings.Join(parts, ", ")
}

// heard lists what was heard.
func (h Helped) heard() string {
	var list []string
	for _, sound := range []struct {
		name string
		n    int
	}{
		{"take 1 again", h.Take1}, {"take 2 again", h.Take2}, {"what was understood of take 1", h.Notes1}, {"what was understood of take 2", h.Notes2},
		{"the key note", h.Key}, {"a chord of the loop", h.Chord},
	} {
		if sound.n > 0 {
			list = append(list, sound.name+times(sound.n))
		}
	}
	if n := len(list); n > 1 {
		return strings.Join(list[:n-1], ", ") + " and " + list[n-1]
	}
	return strings.Join(list, "")
}

// times says how often, where that is more than once.
func times(n int) string {
	switch n {
	case 1:
		return ""
	case 2:
		return " twice"
	}
	return fmt.Sprintf(" %d times", n)
}

// count counts a sound that was asked for.
func (h *Helped) count(s Sound) {
	switch s.What {
	case KeySound:
		h.Key++
	case ChordSound:
		h.Chord++
	case TakeSound:
		*[...]*int{&h.Take1, &h.Take2}[s.Take-1]++
	case NotesSound:
		*[...]*int{&h.Notes1, &h.Notes2}[s.Take-1]++
	}
}

// SoundKind is a kind of sound that a player can ask for.
type SoundKind int

// The kinds of sound. What else of Sound they use stands beside them.
const (
	NoSound    SoundKind = iota
	KeySound             // Key
	ChordSound           // Chord
	TakeSound            // Take
	NotesSound           // Take: what was understood of it, as plain tones beside the voice
)

// Sound is something that a player can hear again.
type Sound struct {
	What  SoundKind
	Take  int // 1 or 2
	Key   music.Key
	Chord music.Chord
}

// String is the sound in words: "take 2", "what was understood of take 2", "the key note C", "the chord Fm7"; "" for none.
func (s Sound) String() string {
	switch s.What {
	case KeySound:
		return "the key note " + s.Key.Tonic()
	case ChordSound:
		return "the chord " + s.Chord.String()
	case TakeSound:
		return fmt.Sprintf("take %d", s.Take)
	case NotesSound:
		return fmt.Sprintf("what was understood of take %d", s.Take)
	}
	return ""
}
