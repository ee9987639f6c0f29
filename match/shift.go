package match

import (
	"math"
	"slices"
)

const (
	// shiftReach is how far around the difference of the median pitches a shift is looked for, semitones: an octave
	// and a half, so that at least three octaves are tried even where added notes pull the median away. Own.
	shiftReach = 18

	// A transposition is a finding of its own only where it clearly explains more than none does: at least
	// clearlyMore notes more (three clear notes make about 2.9; two notes share one interval by chance too often), and
	// explainedShare of all notes that the voice is sure of. So a phrase of one or two notes has no transposition. A
	// phrase of wholeLeast notes or more may also be transposed as a whole, each note answered and nothing added, even
	// where a run of its own notes repeats it a step further (a scale played from its second note). Own.
	clearlyMore    = 2.5
	explainedShare = 2.0 / 3
	wholeLeast     = 4

	// voiceReach is how far the voice may lie from the instrument, cents, for a shift of one semitone to count as the
	// voice's tuning instead of a transposition. A phrase sung 70 cents sharp must count as tuning. Own.
	voiceReach = 75
	// voiceSD is the standard deviation of a take's tuning around the instrument, cents: the median error of single
	// notes is 19 cents (Mauch, Frieler, Dixon 2014, J. Acoust. Soc. Am. 136:401), which is an SD of 28; a take's
	// median is steadier. Own estimate.
	voiceSD = 20
)

// fitting is the best path at one shift.
type fitting struct {
	shift     int
	score     float64
	mate      []int
	explained float64 // expected number of sung notes that are answered as they were meant
}

// candidates returns the shifts worth trying, the smallest first.
func candidates(sources []source, targets []target) []int {
	middle := int(math.Round(medianPitch(len(targets), func(j int) float64 { return targets[j].pitch }) -
		medianPitch(len(sources), func(i int) float64 { return float64(sources[i].semitone) })))
	var list []int
	for shift := middle - shiftReach; shift <= middle+shiftReach; shift++ {
		list = append(list, shift)
	}
	slices.SortStableFunc(list, func(a, b int) int { return max(a, -a) - max(b, -b) })
	return list
}

// medianPitch returns the upper median of the n pitches, without those that are noPitch; 0 where none is left.
func medianPitch(n int, pitch func(int) float64) float64 {
	var list []float64
	for i := range n {
		if p := pitch(i); p != noPitch {
			list = append(list, p)
		}
	}
	if len(list) == 0 {
		return 0
	}
	slices.Sort(list)
	return list[len(list)/2]
}

// split takes a shift apart into whole octaves and -6 to +6 semitones; of +6 and -6 it takes the one with fewer octaves.
func split(shift int) (octaves, transposition int) {
	octaves = shift / 12
	switch transposition = shift % 12; {
	case transposition > 6:
		return octaves + 1, transposition - 12
	case transposition < -6:
		return octaves - 1, transposition + 12
	}
	return octaves, transposition
}

// mapping is how the pitch of the sources relates to that of the targets.
type mapping struct {
	fitting
	octaves, transposition, tuningShift int
}

// findShift tries all candidates and decides between them.
func (l *lattice) findShift(tuningCents float64) mapping {
	var best [12]fitting // by transposition modulo 12
	var tried [12]bool
	for _, shift := range candidates(l.sources, l.targets) {
		_, t := split(shift)
		k := (t + 12) % 12
		if score := l.score(shift); !tried[k] || score > best[k].score+same {
			tried[k], best[k] = true, fitting{shift: shift, score: score}
		}
	}
	plain := l.settle(best[0].shift)
	m := mapping{fitting: plain, octaves: plain.shift / 12}
	if tau := tuningShift(tuningCents); tau != 0 {
		if tuned := l.settle(best[(tau+12)%12].shift); tuned.score-tuningCost(tuningCents, tau) > plain.score+same {
			m = mapping{fitting: tuned, octaves: (tuned.shift - tau) / 12, tuningShift: tau}
		}
	}
	moved := l.settle(best[bestMoved(best)].shift)
	if !l.clearlyBetter(moved, m.fitting) {
		return m
	}
	octaves, t := split(moved.shift)
	if tau := tuningShift(tuningCents); tau != 0 && t == tau {
		return mapping{fitting: moved, octaves: octaves, tuningShift: tau}
	}
	return mapping{fitting: moved, octaves: octaves, transposition: t}
}

// bestMoved returns the index of the best transposition other than 0; of equal ones the smallest.
func bestMoved(best [12]fitting) int {
	at := 1
	for _, k := range []int{11, 2, 10, 3, 9, 4, 8, 5, 7, 6} {
		if best[k].score > best[at].score+same {
			at = k
		}
	}
	return at
}

// settle runs the lattice at shift and keeps the path.
func (l *lattice) settle(shift int) fitting {
	l.fill(shift)
	f := fitting{shift: shift, score: l.run()}
	f.mate = l.path()
	for i, j := range f.mate {
		if j != None {
			f.explained += chanceOf(&l.sources[i], &l.targets[j], shift)
		}
	}
	return f
}

// clearlyBetter reports whether moved explains clearly more notes than plain.
func (l *lattice) clearlyBetter(moved, plain fitting) bool {
	if moved.score <= plain.score+same {
		return false
	}
	if l.whole(moved) {
		return !l.whole(plain)
	}
	sure := 0
	for i := range l.sources {
		if !l.sources[i].doubtful() {
			sure++
		}
	}
	return moved.explained >= plain.explained+clearlyMore && moved.explained >= explainedShare*float64(sure)
}

// whole reports whether f answers each note of a phrase of some length as it was most likely meant, and adds none.
func (l *lattice) whole(f fitting) bool {
	if len(l.sources) < wholeLeast || len(l.targets) != len(l.sources) {
		return false
	}
	for i, j := range f.mate {
		if j == None || !l.sources[i].likeliest(l.targets[j].nearest()-f.shift-l.sources[i].semitone) {
			return false
		}
	}
	return true
}

// tuningShift returns by how many semitones the voice may have been misread at this tuning: a voice 70 cents sharp
// reads as one semitone too high and 30 cents flat. 0 where that would lie beyond voiceReach.
func tuningShift(tuningCents float64) int {
	switch {
	case tuningCents < 0 && tuningCents+100 <= voiceReach:
		return -1
	case tuningCents > 0 && 100-tuningCents <= voiceReach:
		return 1
	}
	return 0
}

// tuningCost returns how much less likely the tuning is with the shift tau than without, as a log-ratio of two normal
// densities of voiceSD around the instrument. A shift that brings the voice nearer costs nothing, but earns nothing
// either: the notes decide.
func tuningCost(tuningCents float64, tau int) float64 {
	with, without := tuningCents-100*float64(tau), tuningCents
	return math.Max(0, (with*with-without*without)/(2*voiceSD*voiceSD))
}
