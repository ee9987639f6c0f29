package metrics

import "math"

// Bounds of the error kinds; own definitions in the spirit of the error classes of Molina et al. 2014, who also sort by overlap
// in time.
const (
	samePitchSemitones = 0.5  // within one note's half semitone: the same pitch sung again
	repeatGap          = 0.35 // s; a longer rest before a note of the same pitch separates phrases
	mostOfANote        = 0.5  // share of a note that another one must cover to belong to it
	octaveSemitones    = 12.0
)

// Anatomy counts the errors of a transcription by kind.
type Anatomy struct {
	Ref, Repeats int // reference notes; those of them that repeat the pitch of the note right before
	Split        int // extra notes of the same pitch inside a reference note
	Spurious     int // notes that belong to no reference note, or stand inside one at another pitch
	MergedRepeat int // repeated notes swallowed by the note before or after
	MergedChange int // notes of a new pitch swallowed by a neighbour
	PitchOff     int // notes found, but more than 50 cents off (octaves not counted)
	Octave       int // notes found, but one or more whole octaves off
	Missed       int // notes where nothing was found
}

// Add sums two anatomies.
func (a Anatomy) Add(b Anatomy) Anatomy {
	return Anatomy{a.Ref + b.Ref, a.Repeats + b.Repeats, a.Split + b.Split, a.Spurious + b.Spurious,
		a.MergedRepeat + b.MergedRepeat, a.MergedChange + b.MergedChange, a.PitchOff + b.PitchOff, a.Octave + b.Octave, a.Missed + b.Missed}
}

// Per100 is a count of errors per 100 reference notes.
func (a Anatomy) Per100(count int) float64 { return 100 * share(float64(count), float64(a.Ref)) }

// RepeatsLost is the share of repeated notes that were merged, 0 to 1.
func (a Anatomy) RepeatsLost() float64 { return share(float64(a.MergedRepeat), float64(a.Repeats)) }

// Errors sorts the errors of est. Each estimated note belongs to the reference note that it shares most time with, if that
// time is at least half of either note; a reference note without an own note is merged if another note covers half of it, else
// missed. Both lists are in order of onset.
func Errors(ref, est []Note) Anatomy {
	a := Anatomy{Ref: len(ref)}
	owner, owned := assign(ref, est)
	for _, i := range owner {
		if i < 0 {
			a.Spurious++
		}
	}
	for i := range ref {
		repeat := i > 0 && isRepeat(ref[i-1], ref[i])
		if repeat {
			a.Repeats++
		}
		if len(owned[i]) > 0 {
			a.found(ref[i], est, owned[i])
		} else {
			a.lost(ref, est, owner, i)
		}
	}
	return a
}

// assign gives each estimated note its reference note (-1: none) and each reference note its estimated notes.
func assign(ref, est []Note) (owner []int, owned [][]int) {
	owner, owned = filled(len(est), -1), make([][]int, len(ref))
	for j, e := range est {
		best := 0.0
		for i, r := range ref {
			o := overlap(r, e)
			if o > best && (o >= mostOfANote*length(e) || o >= mostOfANote*length(r)) {
				best, owner[j] = o, i
			}
		}
		if owner[j] >= 0 {
			owned[owner[j]] = append(owned[owner[j]], j)
		}
	}
	return owner, owned
}

// found judges the notes that belong to reference note r: the longest overlap is its note, the others are splits or spurious.
func (a *Anatomy) found(r Note, est []Note, own []int) {
	main := own[0]
	for _, j := range own {
		if overlap(r, est[j]) > overlap(r, est[main]) {
			main = j
		}
	}
	for _, j := range own {
		switch {
		case j == main:
		case math.Abs(est[j].Pitch-est[main].Pitch) <= samePitchSemitones:
			a.Split++
		default:
			a.Spurious++
		}
	}
	distance := math.Abs(est[main].Pitch - r.Pitch)
	switch octaves := math.Round(distance / octaveSemitones); {
	case distance <= PitchCents/semitoneCents:
	case octaves > 0 && math.Abs(distance-octaves*octaveSemitones) <= PitchCents/semitoneCents:
		a.Octave++
	default:
		a.PitchOff++
	}
}

// lost judges reference note i, which has no note of its own.
func (a *Anatomy) lost(ref, est []Note, owner []int, i int) {
	for j, e := range est {
		if overlap(ref[i], e) < mostOfANote*length(ref[i]) || owner[j] < 0 {
			continue
		}
		if isRepeat(ref[min(i, owner[j])], ref[max(i, owner[j])]) {
			a.MergedRepeat++
		} else {
			a.MergedChange++
		}
		return
	}
	a.Missed++
}

// isRepeat tells whether b repeats the pitch of a right after it.
func isRepeat(a, b Note) bool {
	return math.Abs(a.Pitch-b.Pitch) <= samePitchSemitones && b.Onset-a.Offset <= repeatGap
}

// overlap is the time that two notes share, s.
func overlap(a, b Note) float64 {
	return math.Max(0, math.Min(a.Offset, b.Offset)-math.Max(a.Onset, b.Onset))
}

// length is the duration of a note, s.
func length(n Note) float64 { return n.Offset - n.Onset }
