package match

import (
	"cmp"
	"math"
	"slices"
)

// Pitches outside these bounds (MIDI numbers) are no pitches; they and those that are not finite become noPitch, which
// is far from every real one.
const (
	lowestPitch  = -100
	highestPitch = 250
	noPitch      = -1000
)

// latestOnset bounds times to about 30 years, so that differences of them stay exact enough and finite, s.
const latestOnset = 1e9

// mostNotes bounds time and memory: no more notes of a list are compared, the first ones in order of onset. A thousand
// notes on either side take about a second and 40 MB; a sung phrase has three to twelve. Own.
const mostNotes = 1000

// chordSpread is how far apart the onsets of one chord may lie, s: simultaneous notes of pianists fall within 30 to
// 50 ms (Goebl 2001, J. Acoust. Soc. Am. 110:563; Hove, Keller, Krumhansl 2007, Percept. Psychophys. 69:699).
const chordSpread = 0.05

// leastShare is the least that the likeliest of three chances can be.
const leastShare = 1.0 / 3

// bendTolerance is how near to a key, in semitones, a bent pitch counts as that key: one bend step of a range of
// +-48 semitones is 0.006 semitones.
const bendTolerance = 0.01

func cleanTime(t float64) float64 {
	if math.IsNaN(t) || math.Abs(t) > latestOnset {
		return 0
	}
	return t
}

func cleanPitch(p float64) float64 {
	if !(p >= lowestPitch && p <= highestPitch) {
		return noPitch
	}
	return p
}

// cleanChance makes c three probabilities that sum to 1.
func cleanChance(c [3]float64) [3]float64 {
	sum := 0.0
	for k, p := range c {
		if !(p > 0) {
			c[k] = 0
		} else if p > 1 {
			c[k] = 1
		}
		sum += c[k]
	}
	if sum == 0 {
		return [3]float64{0, 1, 0}
	}
	for k := range c {
		c[k] /= sum
	}
	return c
}

// existence returns the probability that a note is one note of its own: Confidence without its share of pitch, which
// the middle one of the clean chances holds.
func existence(confidence float64, chance [3]float64) float64 {
	if !(confidence > 0) {
		return 0
	}
	return math.Min(confidence/math.Max(chance[1], leastShare), 1)
}

// byOnset returns the indices 0 to n-1 in order of onset; equal onsets keep their order.
func byOnset(n int, onset func(int) float64) []int {
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(onset(a), onset(b)) })
	return order
}

// sources makes the sung notes ready, in order of onset; order[i] is the index in notes of the i-th.
func sources(notes []Sung) (list []source, order []int) {
	order = byOnset(len(notes), func(i int) float64 { return cleanTime(notes[i].Onset) })
	list = make([]source, len(notes))
	for i, at := range order {
		list[i] = sourceOf(notes[at])
	}
	return list, order
}

func sourceOf(n Sung) source {
	chance := cleanChance(n.Chance)
	s := source{
		onset: cleanTime(n.Onset), offset: cleanTime(n.Offset),
		pitch:     cleanPitch(n.Pitch),
		semitone:  int(cleanPitch(float64(n.Semitone))),
		chance:    chance,
		existence: existence(n.Confidence, chance),
		unclear:   n.Unclear,
	}
	s.prepare()
	return s
}

// targets makes the played notes ready, in order of onset; order[j] is the index in notes of the j-th.
func targets(notes []Played) (list []target, order []int) {
	order = byOnset(len(notes), func(j int) float64 { return cleanTime(notes[j].Onset) })
	list = make([]target, len(notes))
	for j, at := range order {
		list[j] = targetOf(notes[at])
	}
	return list, order
}

// targetOf shares a bent pitch between the two keys around it, in proportion to its nearness.
func targetOf(n Played) target {
	t := target{
		onset: cleanTime(n.Onset),
		pitch: cleanPitch(n.Pitch),
		extra: math.Log(addedRate / addedPitches),
	}
	if near := math.Round(t.pitch); math.Abs(t.pitch-near) <= bendTolerance {
		t.base, t.weight = int(near), [3]float64{1, 0, 0}
		return t
	}
	low := math.Floor(t.pitch)
	t.base, t.weight = int(low), [3]float64{low + 1 - t.pitch, t.pitch - low, 0}
	return t
}

// chords groups targets that begin within chordSpread of the first of their group; spread 0 or less gives one group a
// note. A group is a range [from, to) of targets.
func chords(list []target, spread float64) []group {
	var groups []group
	for from := 0; from < len(list); {
		to := from + 1
		for spread > 0 && to < len(list) && list[to].onset-list[from].onset <= spread {
			to++
		}
		groups = append(groups, group{from: from, to: to})
		from = to
	}
	return groups
}
