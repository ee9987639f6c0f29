package round

import (
	"strings"

	"larkhand/internal/music"
)

// tonics are all that a key can have.
var tonics = []string{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B", "C#", "D#", "Gb", "G#", "A#", "Cb", "Fb", "E#", "B#"}

// TransposedKey is the key so many semitones higher, under the tonic whose scale has the fewest accidentals. 0 changes nothing.
func TransposedKey(k music.Key, semitones int) music.Key {
	if mod12(semitones) == 0 {
		return k
	}
	scale := strings.TrimPrefix(k.String(), k.Tonic())
	class := mod12(k.PitchClasses()[0] + semitones)
	best, fewest := k, -1
	for _, tonic := range tonics {
		other, err := music.ParseKey(tonic + scale)
		if err != nil || other.PitchClasses()[0] != class {
			continue
		}
		if n := strings.Count(strings.Join(other.Scale(), ""), "b") + strings.Count(strings.Join(other.Scale(), ""), "#"); fewest < 0 || n < fewest {
			best, fewest = other, n
		}
	}
	return best
}

// TransposedChart is the chart so many semitones higher. Roots are spelled in the new key, or by their usual names where
// key is nil. 0 changes nothing; nothing is shared with c.
func TransposedChart(c music.Chart, key *music.Key, semitones int) music.Chart {
	out := music.Chart{Meter: c.Meter, Bars: make([]music.Bar, len(c.Bars))}
	for i, b := range c.Bars {
		out.Bars[i].Chords = make([]music.Chord, len(b.Chords))
		for k, chord := range b.Chords {
			out.Bars[i].Chords[k] = transposedChord(chord, key, semitones)
		}
	}
	return out
}

func transposedChord(c music.Chord, key *music.Key, semitones int) music.Chord {
	bass, class, ok := c.Bass()
	if !ok || mod12(semitones) == 0 {
		return c
	}
	symbol := strings.TrimPrefix(c.String(), c.Root())
	over := ""
	if bass != c.Root() {
		symbol = strings.TrimSuffix(symbol, "/"+bass)
		over = bass
	}
	root := c.Notes()[0].PitchClass + semitones
	for _, names := range []*music.Key{key, nil} { // a key may want a root with two accidentals, which symbols cannot have
		name := rootName(names, root)
		text := name + symbol
		if over != "" {
			text += "/" + rootName(names, class+semitones)
		}
		if moved, err := music.ParseChord(text); err == nil && moved.Root() == name {
			return moved
		}
	}
	panic("round: chord " + c.String() + " cannot be written on another root")
}

func rootName(key *music.Key, class int) string {
	if key != nil {
		return key.Letter(mod12(class)).Letter
	}
	return tonics[mod12(class)]
}

func mod12(n int) int { return (n%octave + octave) % octave }
