package midiin

import (
	"math"
	"slices"
)

// The rule for ghosts, the false notes of a pitch-to-MIDI converter. Own; common practice, no source, says that they are very
// short, very soft, and often an octave or a fifth off or on a neighbouring string. The first two alone would also take soft
// grace notes and muted notes of a line, so a ghost must also have a louder note that explains it.
const (
	ghostSeconds       = 0.060 // a ghost is shorter than this, key down to key up
	ghostVelocity      = 0.45  // and softer than this share of its neighbours' velocity, and of the louder note's
	ghostNeighbours    = 3     // neighbours on each side whose velocity counts
	ghostPercentile    = 0.67  // which of the neighbours' velocities is the measure: few of them are soft
	ghostAttackSeconds = 0.050 // noise of the pick and of the other strings comes within this time of the louder note's onset (a chord's natural spread: Hove, Keller, Krumhansl 2007)
	ghostTailSeconds   = 0.050 // as a string dies away its converter jumps to a partial, within this time of the note's end (own choice)
	ghostSearchNotes   = 64    // notes to each side among which the louder note is looked for (own choice; bounds the time)
)

// ghostIntervals are semitones, up or down, between a string's note and what a converter mistakes it for: the partials
// 1 to 6, 8 (unison, octave, twelfth, two octaves, two octaves and a third, and so on), and the fifth between partials 2 and 3.
var ghostIntervals = []int{0, 7, 12, 19, 24, 28, 31, 36}

// DropGhosts leaves out the ghost notes of a guitar converter and says how many there were. The notes must be in the order
// of their onsets; they are not changed.
//
// A ghost lasts less than 60 ms, has less than 0.45 of its neighbours' velocity (the 67th percentile of up to three on each
// side), and stands beside a note of which it has less than 0.45 of the velocity, in one of these ways:
//   - inside: it begins and ends while that note is held;
//   - at the attack: the two begin within 50 ms of one another, on neighbouring channels (one channel per string) or a
//     partial apart (unison, fifth, octave, twelfth, ...);
//   - at the tail: it begins within 50 ms after that note's end, a partial apart.
//
// What this costs: a true note that is that short and that soft is lost when it is played inside a held one (a muted note over a
// bass that rings), or right beside a loud note on the next string or an octave or fifth from it. A grace note by step on the
// same string, and a short soft note alone in its place, stay.
func DropGhosts(notes []Note) (kept []Note, dropped int) {
	kept = make([]Note, 0, len(notes))
	for i := range notes {
		if isGhost(notes, i) {
			dropped++
			continue
		}
		kept = append(kept, notes[i])
	}
	return kept, dropped
}

func isGhost(notes []Note, i int) bool {
	n := &notes[i]
	if n.Released-n.Onset >= ghostSeconds || float64(n.Velocity) >= ghostVelocity*neighbourVelocity(notes, i) {
		return false
	}
	for j := max(0, i-ghostSearchNotes); j < min(len(notes), i+ghostSearchNotes+1); j++ {
		if float64(n.Velocity) < ghostVelocity*float64(notes[j].Velocity) && explains(&notes[j], n) {
			return true
		}
	}
	return false
}

// explains tells whether a louder note accounts for a ghost.
func explains(loud, ghost *Note) bool {
	apart := ghost.Onset - loud.Onset
	partial := slices.Contains(ghostIntervals, abs(ghost.Key-loud.Key))
	switch {
	case loud.Onset < ghost.Onset && loud.Released > ghost.Released:
		return true
	case math.Abs(apart) <= ghostAttackSeconds:
		return partial || abs(ghost.Channel-loud.Channel) == 1
	case apart > 0:
		afterEnd := ghost.Onset - loud.Released
		return partial && afterEnd >= 0 && afterEnd <= ghostTailSeconds
	}
	return false
}

// neighbourVelocity is the 67th percentile (linear between ranks) of the velocities around note i; 0 for a lone note.
func neighbourVelocity(notes []Note, i int) float64 {
	var room [2 * ghostNeighbours]int
	around := room[:0]
	for j := max(0, i-ghostNeighbours); j < min(len(notes), i+ghostNeighbours+1); j++ {
		if j != i {
			around = append(around, notes[j].Velocity)
		}
	}
	if len(around) == 0 {
		return 0
	}
	slices.Sort(around)
	rank := ghostPercentile * float64(len(around)-1)
	low := int(rank)
	high := min(low+1, len(around)-1)
	return float64(around[low]) + (rank-float64(low))*float64(around[high]-around[low])
}

func abs(n int) int { return max(n, -n) }
