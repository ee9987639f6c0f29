package metrics

import (
	"fmt"
	"math"
)

// The published tolerances (Molina et al. 2014; the same in Raffel et al. 2014).
const (
	OnsetTolerance     = 0.05 // s
	PitchCents         = 50.0 // cents
	OffsetRatio        = 0.2  // of the reference note's duration
	OffsetMinTolerance = 0.05 // s

	distanceDecimals = 1e4 // distances are rounded to 4 decimals before they are compared
	semitoneCents    = 100.0
)

// Note is one note of a transcription.
type Note struct {
	Onset, Offset float64 // s; Offset > Onset
	Pitch         float64 // MIDI number
}

// Tolerance says when a reference note and an estimated note may be paired. A negative value means "do not look at it".
type Tolerance struct {
	Onset       float64 // s
	PitchCents  float64 // cents
	OffsetRatio float64 // of the reference duration; the tolerance is the larger of this and OffsetMin
	OffsetMin   float64 // s
	Strict      bool    // true: a distance must be below its tolerance; false: at most
}

// The usual classes of Molina et al. 2014, and offsets alone.
var (
	COn        = Tolerance{Onset: OnsetTolerance, PitchCents: -1, OffsetRatio: -1}
	COnP       = Tolerance{Onset: OnsetTolerance, PitchCents: PitchCents, OffsetRatio: -1}
	COnPOff    = Tolerance{Onset: OnsetTolerance, PitchCents: PitchCents, OffsetRatio: OffsetRatio, OffsetMin: OffsetMinTolerance}
	OffsetOnly = Tolerance{Onset: -1, PitchCents: -1, OffsetRatio: OffsetRatio, OffsetMin: OffsetMinTolerance}
)

// Match pairs reference note Ref with estimated note Est (indices).
type Match struct{ Ref, Est int }

// Score is what a matching says. All values are 0 to 1 but the counts.
type Score struct {
	Matched, Ref, Est    int // notes
	Precision, Recall, F float64
	Overlap              float64 // mean of intersection over union of the paired notes' intervals
}

// CheckNotes says what is wrong with a list of notes.
func CheckNotes(notes []Note) error {
	for i, n := range notes {
		if math.IsNaN(n.Onset+n.Offset+n.Pitch) || n.Onset < 0 || n.Offset <= n.Onset {
			return fmt.Errorf("note %d lasts from %v to %v s at pitch %v; give an onset from 0 on, a later offset and a number for the pitch", i, n.Onset, n.Offset, n.Pitch)
		}
	}
	return nil
}

// MatchNotes pairs as many notes as the tolerance allows, each at most once (maximum bipartite matching), in order of Ref.
func MatchNotes(ref, est []Note, tol Tolerance) []Match {
	edges := make([][]int, len(est))
	for j, e := range est {
		for i, r := range ref {
			if tol.allows(r, e) {
				edges[j] = append(edges[j], i)
			}
		}
	}
	of := filled(len(ref), -1)
	for j, i := range maximumMatching(edges, len(ref)) {
		if i >= 0 {
			of[i] = j
		}
	}
	var pairs []Match
	for i, j := range of {
		if j >= 0 {
			pairs = append(pairs, Match{Ref: i, Est: j})
		}
	}
	return pairs
}

// OffsetTolerance is how far the offset may lie from that of reference note r, s.
func (t Tolerance) OffsetTolerance(r Note) float64 {
	return math.Max(t.OffsetRatio*(r.Offset-r.Onset), t.OffsetMin)
}

// allows tells whether the two notes may be paired.
func (t Tolerance) allows(r, e Note) bool {
	if t.Onset >= 0 && !t.within(r.Onset-e.Onset, t.Onset) {
		return false
	}
	if t.PitchCents >= 0 && !t.within(semitoneCents*(r.Pitch-e.Pitch), t.PitchCents) {
		return false
	}
	return t.OffsetRatio < 0 || t.within(r.Offset-e.Offset, t.OffsetTolerance(r))
}

// within compares a distance, rounded to 4 decimals, with a tolerance.
func (t Tolerance) within(distance, tolerance float64) bool {
	d := roundDistance(distance)
	if t.Strict {
		return d < tolerance
	}
	return d <= tolerance
}

// roundDistance is the absolute distance to 4 decimals.
func roundDistance(distance float64) float64 {
	return math.RoundToEven(math.Abs(distance)*distanceDecimals) / distanceDecimals
}

// Transcription matches and scores in one step.
func Transcription(ref, est []Note, tol Tolerance) Score {
	pairs := MatchNotes(ref, est, tol)
	s := FromCounts(len(pairs), len(ref), len(est))
	for _, p := range pairs {
		r, e := ref[p.Ref], est[p.Est]
		both := math.Min(r.Offset, e.Offset) - math.Max(r.Onset, e.Onset)
		either := math.Max(r.Offset, e.Offset) - math.Min(r.Onset, e.Onset)
		s.Overlap += both / either / float64(len(pairs))
	}
	return s
}

// Onsets scores onsets alone, with a tolerance in seconds (inclusive).
func Onsets(ref, est []Note, tolerance float64) Score {
	return Transcription(ref, est, Tolerance{Onset: tolerance, PitchCents: -1, OffsetRatio: -1})
}

// Offsets scores offsets alone, with the published tolerance.
func Offsets(ref, est []Note) Score { return Transcription(ref, est, OffsetOnly) }

// FromCounts is precision, recall and F of counts; use it to pool several recordings (add the counts, not the shares).
func FromCounts(matched, ref, est int) Score {
	s := Score{Matched: matched, Ref: ref, Est: est}
	s.Precision = share(float64(matched), float64(est))
	s.Recall = share(float64(matched), float64(ref))
	s.F = share(2*float64(matched), float64(ref+est))
	return s
}
