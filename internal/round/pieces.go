package round

import (
	"fmt"
	"math"
	"slices"

	"larkhand/hunt"
	"larkhand/match"
)

const (
	// pieceSlack is how much later than its first note a piece may be said to begin, s: MIDI files round times, and converters report late. Own.
	pieceSlack = 0.01
	// usualInterval is the interval from one note to the next, s, where nothing says how long it should be. Own.
	usualInterval = 0.5
	// togetherBelow is the interval, s, below which two notes were struck as one (as in doc of match).
	togetherBelow = chordSpread
)

// joints are the pauses between the pieces of an answer: how much of the time was taken out before each piece.
type joints struct {
	starts []float64 // s on the clock without pauses: where each piece but the first begins, rising
	out    []float64 // s that were taken out before it in all, rising
}

// joined lays the pieces of an answer together: where a new piece begins, it comes after the note before as the rhythm of the phrase asks for. first is
// the alignment of the answer as it was played.
func joined(phrase []match.Sung, played []match.Played, first match.Alignment, pieces []float64) ([]match.Played, joints) {
	breaks := breaksAt(played, pieces)
	if len(breaks) == 0 {
		return played, joints{}
	}
	rhythm := newRhythm(phrase, played, first, breaks)
	out := slices.Clone(played)
	var j joints
	removed := 0.0
	for i := range out {
		if slices.Contains(breaks, i) {
			pause := played[i].Onset - played[i-1].Onset
			removed += math.Max(0, pause-rhythm.after(i))
			start := played[i].Onset - removed
			j.starts, j.out = append(j.starts, start), append(j.out, removed)
			for k := range out[:i] { // what was held into the pause is held into nothing
				out[k].Offset = math.Min(out[k].Offset, math.Max(start, out[k].Onset))
			}
		}
		out[i].Onset -= removed
		out[i].Offset -= removed
	}
	return out, j
}

// breaksAt are the notes with which a piece begins that is not the first.
func breaksAt(played []match.Played, pieces []float64) (notes []int) {
	for i := 1; i < len(played); i++ {
		if slices.ContainsFunc(pieces, func(at float64) bool { return at > played[i-1].Onset+pieceSlack && at <= played[i].Onset+pieceSlack }) {
			notes = append(notes, i)
		}
	}
	return notes
}

// rhythm says how long the interval before a piece would be without a pause.
type rhythm struct {
	phrase  []match.Sung
	partner []int   // of the played notes; match.None
	ratio   float64 // played seconds for a sung one, inside the pieces
	usual   float64 // s, the median interval inside the pieces
}

func newRhythm(phrase []match.Sung, played []match.Played, first match.Alignment, breaks []int) rhythm {
	r := rhythm{phrase: phrase, partner: slices.Repeat([]int{match.None}, len(played)), ratio: 1, usual: usualInterval}
	for _, p := range first.Pairs {
		if p.Played != match.None {
			r.partner[p.Played] = p.Sung
		}
	}
	var ratios, intervals []float64
	for i := 1; i < len(played); i++ {
		interval := played[i].Onset - played[i-1].Onset
		if slices.Contains(breaks, i) || interval < togetherBelow {
			continue
		}
		intervals = append(intervals, interval)
		if sung := r.sung(i-1, i); sung > 0 {
			ratios = append(ratios, interval/sung)
		}
	}
	if len(ratios) > 0 {
		r.ratio = median(ratios)
	}
	if len(intervals) > 0 {
		r.usual = median(intervals)
	}
	return r
}

// sung is the sung interval between the partners of two played notes; 0 where there is none.
func (r rhythm) sung(before, after int) float64 {
	a, b := r.partner[before], r.partner[after]
	if a == match.None || b == match.None || b <= a {
		return 0
	}
	return r.phrase[b].Onset - r.phrase[a].Onset
}

// after is how long after the note before it a note would come with which a piece begins, s. Where one of the two is no note of the phrase, the nearest
// ones that are say it.
func (r rhythm) after(note int) float64 {
	before, next := note-1, note
	for before > 0 && r.partner[before] == match.None {
		before--
	}
	for next < len(r.partner)-1 && r.partner[next] == match.None {
		next++
	}
	if sung := r.sung(before, next); sung > 0 {
		return r.ratio * sung
	}
	return r.usual
}

// played is a time on the clock of the answer as it was played, of one on the clock without pauses. ending says that something ends there.
func (j joints) played(t float64, ending bool) float64 {
	out := 0.0
	for i, start := range j.starts {
		if t > start || t == start && !ending {
			out = j.out[i]
		}
	}
	return t + out
}

// undo puts the evidence of a finding back to where it was played.
func (j joints) undo(f *hunt.Finding) {
	f.Evidence = slices.Clone(f.Evidence) // two findings may share it
	for i := range f.Evidence {
		e := &f.Evidence[i]
		e.Onset, e.Offset = j.played(e.Onset, false), j.played(e.Offset, true)
	}
}

// piecesRemark says in how many pieces the answer was played.
func (r *Round) piecesRemark() string {
	breaks := len(breaksAt(Played(r.Answer.Notes), r.Pieces))
	if breaks == 0 {
		return ""
	}
	return fmt.Sprintf("Played in %d pieces; the pauses between them do not count.", breaks+1)
}

// helpedRemarks say what the player heard again and sang again before the answer.
func (r *Round) helpedRemarks() (out []string) {
	if heard := r.Helped.heard(); heard != "" {
		until := "before the answer"
		if len(r.Pieces) > 0 {
			until += " or between its pieces"
		}
		out = append(out, fmt.Sprintf("Heard %s %s.", heard, until))
	}
	if n := r.Helped.SungAgain; n > 0 {
		out = append(out, fmt.Sprintf("Sang take 2 anew%s; only the last one is judged.", times(n)))
	}
	return out
}

// Straight reports whether the answer followed the singing with nothing in between: no steps written down, nothing heard or sung again, not in pieces. Only
// then does its response time compare with that of other rounds.
func (r *Round) Straight() bool {
	return r.Written == nil && r.Helped.Zero() && len(r.Pieces) == 0
}
