package loop

import (
	"math"
	"slices"

	"larkhand/internal/music"
)

// Range of the comping as MIDI note numbers, E3 to F5, and its middle (own choice): above the bass, about the middle of the keyboard.
const (
	lowestComping  = 52
	highestComping = 77
	middleComping  = 62.5
)

const (
	mostVoices  = 4  // notes of a voicing
	fewVoices   = 3  // below this fifth and root fill up
	widestChord = 17 // semitones from the lowest to the highest note of a voicing
	widestGap   = 9  // semitones between neighbouring notes of a voicing
	minorNinth  = 13 // semitones: the interval that voicings avoid
)

// Costs of voicings in semitones of movement (own rules on common practice, no source).
const (
	costMinorNinth = 6.0
	costTopSecond  = 3.0 // a semitone between the two highest notes hides the top
	costOffMiddle  = 0.6 // for each semitone of the voicing's mean from the middle of the range
)

// Comping velocities (own choice).
const (
	compAccent = 74
	compPlain  = 64
)

// tensions holds the degrees that a voicing takes after third and seventh, the most telling first.
var tensions = []string{"b5", "#5", "b9", "#9", "9", "b13", "13", "#11", "11", "b6", "6", "2", "4"}

// hit is a chord of the comping rhythm.
type hit struct {
	at, long float64 // quarter notes
}

// compRhythms holds the rhythm of a bar, by pulses a bar and feel, for even and odd bars (own, on common practice: the swung four is the Charleston figure and
// its turn).
var compRhythms = map[int]map[bool][2][]hit{
	4: {
		true:  {{{0, 1.4}, {1.5, 0.4}}, {{0, 0.4}, {2.5, 1.2}}},
		false: {{{0, 1.4}, {1.5, 1.4}, {3, 0.9}}, {{0, 1.4}, {2, 0.9}, {3, 0.9}}},
	},
	3: {
		true:  {{{0, 1.4}, {1.5, 0.9}}, {{0, 0.4}, {2, 0.9}}},
		false: {{{0, 0.9}, {1, 0.9}, {2, 0.9}}, {{0, 1.8}, {2, 0.9}}},
	},
}

// planComping plans the comping of each bar.
func planComping(m music.Meter, segments []segment, f Feel) [][]planned {
	bars := make([][]planned, segments[len(segments)-1].bar+1)
	voicings := voice(segments)
	for i, s := range segments {
		for j, h := range hitsOf(s, rhythm(m, f, s.bar)) {
			velocity := compPlain
			if j == 0 {
				velocity = compAccent
			}
			for _, key := range voicings[i] {
				bars[s.bar] = append(bars[s.bar], planned{at: h.at, long: h.long, key: key, velocity: velocity, part: Comping})
			}
		}
	}
	return bars
}

// rhythm gives the hits of a bar. Meters without a rhythm of their own have one on each pulse.
func rhythm(m music.Meter, f Feel, bar int) []hit {
	all := pulses(m)
	const quarters = 4 // the meter's beats are quarter notes
	if own, ok := compRhythms[len(all)]; ok && m.Unit == quarters {
		return own[!f.straight()][bar%2]
	}
	const held = 0.9 // of a pulse
	hits := make([]hit, len(all))
	for i, p := range all {
		hits[i] = hit{p.at, p.long * held}
	}
	return hits
}

// hitsOf gives the hits of a rhythm within a segment. A chord is always heard where it begins. None goes on into the next chord.
func hitsOf(s segment, rhythm []hit) []hit {
	out := []hit{{s.from, s.to - s.from}}
	for _, h := range rhythm {
		switch {
		case h.at < s.from || h.at >= s.to:
		case h.at < s.from+crowded:
			out[0].long = h.long
		default:
			out = append(out, h)
		}
	}
	for i := range out {
		end := s.to
		if i+1 < len(out) {
			end = out[i+1].at
		}
		out[i].long = math.Min(out[i].long, end-out[i].at)
	}
	return out
}

// voiceClasses chooses which notes of a chord are played: third and seventh (or what stands for them) first, then tensions, and where these are
// few the fifth and the root. The root is the bass's.
func voiceClasses(c music.Chord) []int {
	var out []int
	add := func(degrees ...string) {
		if class, ok := pick(c, degrees...); ok && !slices.Contains(out, class) {
			out = append(out, class)
		}
	}
	add("3", "b3", "4", "2", "11")
	add("7", "b7", "bb7", "6")
	for _, d := range tensions {
		if len(out) < mostVoices {
			add(d)
		}
	}
	for _, d := range []string{"5", "1"} {
		if len(out) < fewVoices {
			add(d)
		}
	}
	return out
}

// voicingsOf gives all the ways to lay the notes of a chord into the range, each from the lowest note up.
func voicingsOf(c music.Chord) [][]int {
	var out [][]int
	var lay func(chosen []int, classes []int)
	lay = func(chosen, classes []int) {
		if len(classes) == 0 {
			keys := slices.Sorted(slices.Values(chosen))
			if playable(keys) {
				out = append(out, keys)
			}
			return
		}
		for key := lowestComping + mod(classes[0]-lowestComping); key <= highestComping; key += semitones {
			lay(append(chosen, key), classes[1:])
		}
	}
	lay(nil, voiceClasses(c))
	return out
}

// playable reports whether a voicing holds together.
func playable(keys []int) bool {
	for i := 1; i < len(keys); i++ {
		if keys[i]-keys[i-1] > widestGap {
			return false
		}
	}
	return keys[len(keys)-1]-keys[0] <= widestChord
}

// colour is the cost of a voicing by itself.
func colour(keys []int) (cost float64) {
	sum := 0
	for i, key := range keys {
		sum += key
		for _, low := range keys[:i] {
			if key-low == minorNinth {
				cost += costMinorNinth
			}
		}
	}
	if n := len(keys); n > 1 && keys[n-1]-keys[n-2] == 1 {
		cost += costTopSecond
	}
	return cost + costOffMiddle*math.Abs(float64(sum)/float64(len(keys))-middleComping)
}

// movement is how far the voices move from one voicing to another, in semitones: each note of the fuller one to the nearest of the other.
func movement(a, b []int) (sum float64) {
	if len(a) == len(b) {
		for i := range a {
			sum += math.Abs(float64(a[i] - b[i]))
		}
		return sum
	}
	if len(a) < len(b) {
		a, b = b, a
	}
	for _, key := range a {
		least := math.Inf(1)
		for _, other := range b {
			least = math.Min(least, math.Abs(float64(key-other)))
		}
		sum += least
	}
	return sum
}

// voice chooses a voicing for each segment, none for one without a chord: the sequence with the least movement and colour, round the end of
// the chart back to the first one (Viterbi search; the first voicing is the one that is best by itself).
func voice(segments []segment) [][]int {
	out := make([][]int, len(segments))
	var sounding []int
	for i, s := range segments {
		if s.sounds() {
			sounding = append(sounding, i)
		}
	}
	if len(sounding) == 0 {
		return out
	}
	states := make([][][]int, len(sounding))
	known := map[music.Chord][][]int{}
	for i, at := range sounding {
		chord := segments[at].chord
		if known[chord] == nil {
			known[chord] = voicingsOf(chord)
		}
		states[i] = known[chord]
	}
	home := slices.MinFunc(states[0], func(a, b []int) int {
		if colour(a) < colour(b) {
			return -1
		}
		return 1
	})
	states[0] = [][]int{home}
	for i, choice := range smoothest(states) {
		out[sounding[i]] = states[i][choice]
	}
	return out
}

// smoothest is the cheapest way through the states that ends near where it began: the number of the state chosen at each step.
func smoothest(states [][][]int) []int {
	from := make([][]int, len(states))
	cost := make([]float64, len(states[0]))
	for i := 1; i < len(states); i++ {
		now := make([]float64, len(states[i]))
		from[i] = make([]int, len(states[i]))
		for to, keys := range states[i] {
			now[to] = math.Inf(1)
			for before, old := range states[i-1] {
				if sum := cost[before] + movement(old, keys); sum < now[to] {
					now[to], from[i][to] = sum, before
				}
			}
			now[to] += colour(keys)
		}
		cost = now
	}
	last := len(states) - 1
	best, least := 0, math.Inf(1)
	for i, keys := range states[last] {
		if sum := cost[i] + movement(keys, states[0][0]); sum < least {
			best, least = i, sum
		}
	}
	path := make([]int, len(states))
	for i := last; i > 0; i-- {
		path[i] = best
		best = from[i][best]
	}
	return path
}
