package music

import "slices"

// ScaleNote is one note of a scale upward from its first: its letter and pitch class.
type ScaleNote struct {
	Letter     string // "Eb"
	PitchClass int    // 0 to 11
	Chord      string // its number in the chord, "b7"; "" where the chord has it not
}

// ChordScale is a scale to play over a chord in a key: the key's own seven notes from the chord's root up, each bent to the chord's
// note where the chord has one on that letter, and dropped where the chord has its sound under another name. Over G7b9 in C minor it
// is G Ab B C D Eb F, over Bb7 in C major Bb C D E F G Ab. Own rule; for the chords of a key it gives the modes that are
// common practice (no source). N.C. has none.
func (k Key) ChordScale(c Chord) []ScaleNote {
	root := c.Root()
	if root == "" {
		return nil
	}
	chord := map[byte]ChordNote{}
	var sounds []int
	for _, n := range c.Notes() {
		if _, taken := chord[n.Letter[0]]; !taken {
			chord[n.Letter[0]] = n
			sounds = append(sounds, n.PitchClass)
		}
	}
	start := slices.Index([]byte(letters), root[0])
	var out []ScaleNote
	for i := range steps {
		letter := letters[(start+i)%steps]
		if n, ok := chord[letter]; ok {
			out = append(out, ScaleNote{n.Letter, n.PitchClass, n.Degree})
			continue
		}
		own := k.own(int8((start + i) % steps))
		if !slices.Contains(sounds, own.class()) {
			out = append(out, ScaleNote{own.String(), own.class(), ""})
		}
	}
	return out
}

// own is the note that the key's seven-note home has on a letter.
func (k Key) own(step int8) name {
	up := mod(int(step)-int(k.tonic.step), steps)
	return k.tonic.above(up, scales[k.scale].home[up])
}
