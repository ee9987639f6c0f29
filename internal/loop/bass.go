package loop

import (
	"math"
	"slices"

	"larkhand/internal/music"
)

// BassLine is how the bass plays a chart.
type BassLine uint8

// The ways of the bass.
const (
	BassByFeel BassLine = iota // Walking with a swing feel, RootFifth with a straight one
	Walking                    // a note on every pulse, from the root of each chord to the root of the next by chord notes and a last step
	RootFifth                  // the root where a chord begins, its fifth half way through the bar
)

// Range of the bass as MIDI note numbers, E1 to D3 of a double bass, and the note near which the line begins (own choice).
const (
	lowestBass  = 28
	highestBass = 50
	homeBass    = 36
)

// Bass velocities (own choice): the first note of a chord carries, the others are a little lighter.
const (
	bassFirst = 96
	bassOther = 86
)

// Parts of the time to the next note for which a bass note is held (own choice): a walking line is nearly legato, root and fifth are lifted.
const (
	walkingHold   = 0.95
	rootFifthHold = 0.8
)

// crowded is how near after the start of a chord a pulse is skipped, in quarter notes, so that a chord that begins just before a beat gets one note.
const crowded = 0.26

// slot is where a bass note begins.
type slot struct {
	at, long float64 // quarter notes from the start of the bar, and until the next slot of the segment
}

// planBass plans the bass of each bar.
func planBass(m music.Meter, segments []segment, o Options) [][]planned {
	bars := make([][]planned, segments[len(segments)-1].bar+1)
	walks := o.Bass == Walking || o.Bass == BassByFeel && !o.Feel.straight()
	roots := bassRoots(segments)
	for i, s := range segments {
		if !s.sounds() {
			continue
		}
		var slots []slot
		var keys []int
		hold := walkingHold
		if walks {
			slots = slotsOf(s, pulses(m))
			keys = walk(s.chord, roots[i], nextRoot(segments, roots, i), len(slots), s.bar%2 == 0)
		} else {
			slots = slotsOf(s, strongPulses(m))
			keys = alternate(s.chord, roots[i], len(slots))
			hold = rootFifthHold
		}
		for j, sl := range slots {
			n := planned{at: sl.at, long: sl.long * hold, key: keys[j], velocity: bassOther, part: Bass}
			if j == 0 {
				n.velocity = bassFirst
			}
			bars[s.bar] = append(bars[s.bar], n)
		}
	}
	return bars
}

// slotsOf gives the start of the segment and the pulses in it.
func slotsOf(s segment, pulses []pulse) []slot {
	out := []slot{{at: s.from}}
	for _, p := range pulses {
		if p.at > s.from+crowded && p.at < s.to {
			out = append(out, slot{at: p.at})
		}
	}
	for i := range out {
		end := s.to
		if i+1 < len(out) {
			end = out[i+1].at
		}
		out[i].long = end - out[i].at
	}
	return out
}

// strongPulses gives the first pulse of the bar and the one half way through; of three, the last.
func strongPulses(m music.Meter) []pulse {
	all := pulses(m)
	if len(all) < 2 {
		return all
	}
	return []pulse{all[0], all[(len(all)+1)/2]}
}

// bassRoots places the lowest note of each segment's chord: each as near as can be to the one before. 0 for a segment without a chord.
func bassRoots(segments []segment) []int {
	roots := make([]int, len(segments))
	near := homeBass
	for i, s := range segments {
		if _, class, ok := s.chord.Bass(); ok {
			near = nearest(class, near)
			roots[i] = near
		}
	}
	return roots
}

// nearest is the note of a pitch class within the bass's range that is nearest to a note; of two equally near ones the one nearer to home.
func nearest(class, to int) int {
	best, least := 0, math.Inf(1)
	for key := lowestBass; key <= highestBass; key++ {
		const tie = 0.01 // semitones: only decides between equals
		if distance := math.Abs(float64(key-to)) + tie*math.Abs(float64(key-homeBass)); mod(key) == class && distance < least {
			best, least = key, distance
		}
	}
	return best
}

func mod(key int) int {
	return (key%semitones + semitones) % semitones
}

// nextRoot is the lowest note of the next segment that has a chord, round the end of the chart.
func nextRoot(segments []segment, roots []int, i int) int {
	for j := 1; ; j++ {
		if next := (i + j) % len(segments); segments[next].sounds() {
			return roots[next]
		}
	}
}

// classes gives the pitch classes of a chord's notes, the root first.
func classes(c music.Chord) (out []int) {
	for _, n := range c.Notes() {
		out = append(out, n.PitchClass)
	}
	return out
}

// alternate plays the lowest note and, after it, another note of the chord: the root where the lowest note is another, else the fifth, else the
// seventh, else the root again.
func alternate(c music.Chord, root, count int) []int {
	other := mod(root)
	if first := c.Notes()[0].PitchClass; first != other {
		other = first
	} else if class, ok := pick(c, "5", "b5", "#5", "b7", "7"); ok {
		other = class
	}
	keys := make([]int, count)
	for i := range keys {
		keys[i] = root
		if i%2 == 1 {
			keys[i] = nearest(other, root)
		}
	}
	return keys
}

// pick is the pitch class of the first of the degrees that the chord has.
func pick(c music.Chord, degrees ...string) (class int, ok bool) {
	notes := c.Notes()
	for _, d := range degrees {
		if i := slices.IndexFunc(notes, func(n music.ChordNote) bool { return n.Degree == d }); i >= 0 {
			return notes[i].PitchClass, true
		}
	}
	return 0, false
}

// Costs of a walking line (own rules on common practice; the numbers were chosen by writing out lines over a blues and ii-V-I in all keys).
// What must never happen costs more than any line that keeps the rules.
const (
	costNever      = 1000.0
	costRepeat     = 6.0 // the same note twice running
	costReturn     = 3.0 // the first note of the chord once more
	costThird      = 0.5 // a step of 3 or 4 semitones; 1 and 2 are free
	costFourth     = 1.0 // 5 or 7 semitones
	costTritone    = 3.0
	costWide       = 4.0 // 8 or 9 semitones
	costWrongWay   = 0.7 // the first step goes down in a bar that should rise, or up in one that should fall
	costWholeStep  = 0.6 // into the next root by a whole step that is no chord note
	costDominant   = 0.8 // into the next root from the fifth above or the fourth below it
	widestBassStep = 9   // semitones, but for the octave
)

// walk gives one note for each of so many slots: the root first, notes of the chord between, and last a note that leads into the next root. It is the
// cheapest such line (Viterbi search over the notes of the bass's range). Of equally cheap ones the lower is taken.
func walk(c music.Chord, root, next, count int, rises bool) []int {
	const notes = highestBass - lowestBass + 1
	inChord := classes(c)
	cost := make([]float64, notes)
	for key := range cost {
		cost[key] = costNever
	}
	cost[root-lowestBass] = 0
	from := make([][]int, count)
	for i := 1; i < count; i++ {
		now := make([]float64, notes)
		from[i] = make([]int, notes)
		for to := range now {
			now[to] = math.Inf(1)
			for before := range cost {
				if sum := cost[before] + stepCost(to-before, i == 1, rises); sum < now[to] {
					now[to], from[i][to] = sum, before
				}
			}
			now[to] += placeCost(to+lowestBass, inChord, root, next, i == count-1)
		}
		cost = now
	}
	return traceBack(cost, from, next, count)
}

// traceBack follows the cheapest line from its end.
func traceBack(cost []float64, from [][]int, next, count int) []int {
	best, least := 0, math.Inf(1)
	for key := range cost {
		sum := cost[key]
		if count > 1 {
			sum += stepCost(next-lowestBass-key, false, false)
		}
		if sum < least {
			best, least = key, sum
		}
	}
	keys := make([]int, count)
	for i := count - 1; i >= 0; i-- {
		keys[i] = best + lowestBass
		if i > 0 {
			best = from[i][best]
		}
	}
	return keys
}

// stepCost is the cost of moving by so many semitones.
func stepCost(semis int, first, rises bool) (cost float64) {
	if first && semis != 0 && (semis > 0) != rises {
		cost = costWrongWay
	}
	switch size := max(semis, -semis); {
	case size == 0:
		return costRepeat
	case size <= 2:
		return cost
	case size <= 4:
		return cost + costThird
	case size == 5 || size == 7:
		return cost + costFourth
	case size == 6:
		return cost + costTritone
	case size <= widestBassStep || size == semitones:
		return cost + costWide
	}
	return costNever
}

// placeCost is the cost of a note where it stands: within the line it must be of the chord, at its end it must lead into the next root.
func placeCost(key int, inChord []int, root, next int, last bool) (cost float64) {
	if key == root {
		cost = costReturn
	}
	chordNote := slices.Contains(inChord, mod(key))
	if !last {
		if chordNote {
			return cost
		}
		return costNever
	}
	const halfStep, wholeStep, fifth, fourth = 1, 2, 7, -5
	switch step := key - next; {
	case max(step, -step) == halfStep:
		return cost
	case max(step, -step) == wholeStep && chordNote:
		return cost
	case max(step, -step) == wholeStep:
		return cost + costWholeStep
	case step == fifth || step == fourth:
		return cost + costDominant
	}
	return costNever
}
