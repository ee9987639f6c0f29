package render

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Style is a manner of singing.
type Style int

// The styles. The first five are slow, as a phrase is sung to be remembered; the others follow the pace that is asked for.
const (
	Hummed Style = iota
	La
	Scat
	LegatoWords
	Soft // la, every second note 6 to 14 dB down
	Ghosts
	Scoops
	Falls
	Enclosures
	Runs // scat
	Styles
)

// String names the style.
func (s Style) String() string {
	return [...]string{"hummed", "la", "scat", "legato words", "soft notes", "ghost notes", "scoops", "falls", "enclosures", "runs"}[s]
}

// Slow tells whether the style is sung at a singer's pace whatever the pace asked for.
func (s Style) Slow() bool { return s < Ghosts }

// How phrases are performed; own but where a source is named.
const (
	firstOnset      = 0.5    // s
	slowLeast       = 0.25   // s, median interval between onsets of slow phrases
	slowMost        = 0.45   // s
	briefest        = 0.8    // of the pace: no interval is shorter, so that the pace is what it says
	longestTimes    = 4.0    // of the pace: no interval is longer
	heldShare       = 0.75   // of the interval: a note that was held at least so long in the solo is joined to the next
	restGap         = 0.03   // s, the least silence where it was not
	shortestNote    = 0.05   // s
	intonationCents = 15.0   // standard deviation of single notes; about the 19 of Mauch, Frieler and Dixon, JASA 136 (2014) 401
	low, high       = 45, 69 // MIDI numbers, the range that phrases are brought into
	vibratoLeast    = 0.4    // s, shortest note with vibrato
	vibratoMost     = 60.0   // cents
	ghostChance     = 0.25   // a note
	ornamentChance  = 0.4    // a note: scoops, falls, enclosures
	melismaChance   = 0.2    // a note of legato words
	enclosureRoom   = 0.30   // s, the least interval that two notes more fit into: three notes of 100 ms
	enclosureMost   = 0.15   // s, the longest note of an enclosure: eighths at 200 quarter notes a minute
)

var (
	scatSyllables = []string{"ba", "da", "du", "dn", "bu"}
	words         = []string{"love", "moon", "rain", "you", "all", "are", "my", "now", "we", "low", "I"}
)

// Perform sings the keys with the rhythm of onsets and durations (s; one list length, at least two notes) in a style, at a median interval of pace
// seconds between onsets (slow styles draw their own).
func Perform(rng *rand.Rand, style Style, pace float64, keys []int, onsets, durations []float64) []Note {
	if style.Slow() {
		pace = slowLeast + (slowMost-slowLeast)*rng.Float64()
	}
	intervals, held := rhythm(onsets, durations, pace)
	shift := intoRange(rng, keys)
	var notes []Note
	at := firstOnset
	for i, key := range keys {
		n := Note{Onset: at, Offset: at + intervals[i], Pitch: float64(key + shift), Syllable: pick(rng, scatSyllables)}
		if held[i] < heldShare || i+1 == len(keys) {
			n.Offset = at + math.Max(shortestNote, math.Min(held[i]*intervals[i], intervals[i]-restGap))
		}
		notes = append(notes, n)
		at += intervals[i]
	}
	notes = dress(rng, style, notes)
	for i := range notes {
		notes[i].Pitch += intonationCents / 100 * rng.NormFloat64()
		if style.Slow() && notes[i].Offset-notes[i].Onset > vibratoLeast && rng.IntN(2) == 0 {
			notes[i].VibratoCents = vibratoMost * rng.Float64()
		}
	}
	return notes
}

// rhythm brings the intervals between onsets to a median of pace, none much shorter or longer, and says which share of each interval
// the note was held.
func rhythm(onsets, durations []float64, pace float64) (intervals, held []float64) {
	var raw []float64
	for i := 1; i < len(onsets); i++ {
		raw = append(raw, onsets[i]-onsets[i-1])
	}
	sorted := slices.Sorted(slices.Values(raw))
	median := math.Max(1e-3, sorted[len(sorted)/2])
	for i, d := range durations {
		interval := d / median * pace
		share := 1.0
		if i < len(raw) {
			interval = raw[i] / median * pace
			share = d / math.Max(1e-3, raw[i])
		}
		intervals = append(intervals, math.Max(briefest*pace, math.Min(longestTimes*pace, interval)))
		held = append(held, math.Min(1, share))
	}
	return intervals, held
}

// intoRange transposes the phrase so that its middle lies in the range's middle, give or take a fourth.
func intoRange(rng *rand.Rand, keys []int) int {
	middle := (slices.Min(keys) + slices.Max(keys)) / 2
	return (low+high)/2 - middle + rng.IntN(11) - 5
}

func pick(rng *rand.Rand, list []string) string { return list[rng.IntN(len(list))] }

// dress gives the notes what belongs to the style.
func dress(rng *rand.Rand, style Style, notes []Note) []Note {
	switch style {
	case Hummed:
		return slur(rng, notes, "m", 1)
	case La, Soft:
		for i := range notes {
			notes[i].Syllable = "la"
			if style == Soft && i%2 == 1 {
				notes[i].LevelDB = -6 - 8*rng.Float64()
			}
		}
	case LegatoWords:
		for i := range notes {
			notes[i].Syllable = pick(rng, words)
			if i+1 < len(notes) {
				notes[i].Offset = notes[i+1].Onset
			}
		}
		return slur(rng, notes, "", melismaChance)
	case Ghosts:
		for i := range notes {
			if rng.Float64() < ghostChance {
				notes[i].LevelDB = -12 - 8*rng.Float64()
			}
		}
	case Scoops:
		for i := range notes {
			if rng.Float64() < ornamentChance {
				notes[i].ScoopCents = 100 + 150*rng.Float64()
			}
		}
	case Falls:
		return fall(rng, notes)
	case Enclosures:
		return enclose(rng, notes)
	}
	return notes
}

// slur joins notes of different pitch that reach each other to one vowel with the given chance. A syllable, where one is given, is put
// on all others.
func slur(rng *rand.Rand, notes []Note, syllable string, chance float64) []Note {
	for i := range notes {
		if syllable != "" {
			notes[i].Syllable = syllable
		}
		if i > 0 && notes[i].Onset-notes[i-1].Offset < 1e-9 && math.Abs(notes[i].Pitch-notes[i-1].Pitch) > 0.5 && rng.Float64() < chance {
			notes[i].Syllable = ""
		}
	}
	return notes
}

// fall lets notes fall by 2 to 5 semitones and a short silence follow.
func fall(rng *rand.Rand, notes []Note) []Note {
	for i := range notes {
		if i+1 < len(notes) && rng.Float64() > ornamentChance {
			continue
		}
		notes[i].FallCents = 200 + 300*rng.Float64()
		if i+1 < len(notes) {
			notes[i].Offset = math.Min(notes[i].Offset, notes[i+1].Onset-restGap)
		}
	}
	return notes
}

// enclose puts two notes before some: a whole or half step above and a half step below, each of a third of the interval before.
func enclose(rng *rand.Rand, notes []Note) []Note {
	out := notes[:1:1]
	for _, n := range notes[1:] {
		before := &out[len(out)-1]
		if step := n.Onset - before.Onset; step >= enclosureRoom && rng.Float64() < ornamentChance {
			each := math.Min(step/3, enclosureMost)
			above := Note{Onset: n.Onset - 2*each, Offset: n.Onset - each, Pitch: n.Pitch + 1 + float64(rng.IntN(2)), Syllable: pick(rng, scatSyllables)}
			below := Note{Onset: n.Onset - each, Offset: n.Onset, Pitch: n.Pitch - 1, Syllable: pick(rng, scatSyllables)}
			before.Offset = math.Min(before.Offset, above.Onset)
			out = append(out, above, below)
		}
		out = append(out, n)
	}
	return out
}
