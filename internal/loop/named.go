package loop

import (
	"fmt"
	"slices"
	"strings"

	"larkhand/internal/music"
)

// namedCharts holds the charts that have a name. A root is written as the semitones above the tonic in braces (common practice, no source).
var namedCharts = []struct{ name, bars string }{
	{"minor vamp", "{0}m7 | % | {5}m7 | %"},
	{"ii-V-I major", "{2}m7 | {7}7 | {0}maj7 | %"},
	{"ii-V-I minor", "{2}m7b5 | {7}7b9 | {0}m7 | %"},
	{"12-bar blues", "{0}7 | {5}7 | {0}7 | % | {5}7 | % | {0}7 | % | {7}7 | {5}7 | {0}7 | {7}7"},
	{"12-bar jazz blues", "{0}7 | {5}7 | {0}7 | % | {5}7 | {6}dim7 | {0}7 | {9}7 | {2}m7 | {7}7 | {0}7 {9}7 | {2}m7 {7}7"},
	{"12-bar minor blues", "{0}m7 | {5}m7 | {0}m7 | % | {5}m7 | % | {0}m7 | % | {8}7 | {7}7 | {0}m7 | {7}7b9"},
}

// Names lists the charts that Named knows.
func Names() []string {
	out := make([]string, len(namedCharts))
	for i, c := range namedCharts {
		out[i] = c.name
	}
	return out
}

// Named is a well-known chart on a tonic: "minor vamp", "ii-V-I major", "12-bar blues" and the others of Names. Of the key only the
// tonic counts: the chart says itself whether it is major or minor. Case does not matter.
func Named(name string, key music.Key) (music.Chart, error) {
	i := slices.IndexFunc(namedCharts, func(c struct{ name, bars string }) bool {
		return strings.EqualFold(c.name, strings.Join(strings.Fields(name), " "))
	})
	if i < 0 {
		return music.Chart{}, fmt.Errorf("there is no chart named %q; the named ones are %s, and any other can be typed, such as \"Cm7 | Fm7\"",
			name, strings.Join(Names(), ", "))
	}
	roots, err := letters(key)
	if err != nil {
		return music.Chart{}, err
	}
	return music.ParseChart(roots.Replace(namedCharts[i].bars))
}

// letters replaces the roots in braces by letters. They are spelled in the major key on the tonic, whose letters for notes outside it
// (b6 as a flat, #4 as a sharp) are those of chord symbols. Chord symbols have at most one accidental: what would need two gets the usual name
// of the same note, so that the b6 of Db is A.
func letters(key music.Key) (*strings.Replacer, error) {
	major, err := music.ParseKey(key.Tonic() + " major")
	if err != nil {
		return nil, fmt.Errorf("no chart on %s: %w", key.Tonic(), err)
	}
	tonic := major.PitchClasses()[0]
	var pairs []string
	for semis := range semitones {
		letter := major.Letter(tonic + semis).Letter
		if len(letter) > len("Eb") {
			letter = music.Key{}.Letter(tonic + semis).Letter // the zero key is C major
		}
		pairs = append(pairs, fmt.Sprintf("{%d}", semis), letter)
	}
	return strings.NewReplacer(pairs...), nil
}

const semitones = 12 // in an octave
