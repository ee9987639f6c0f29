package hunt

import (
	"math"

	"larkhand/match"
)

// term is the part of the model that an extra note belongs to.
type term int

const (
	probe  term = iota // a wrong key
	creep              // one of several keys that move up to the wanted one
	replay             // a key of the phrase, played again
	touch              // a soft, short note
	terms              // how many there are
)

var termWeight = [terms]float64{probeWeight, creepWeight, replayWeight, touchWeight}

var termCap = [terms]float64{probeCap, creepCap, replayCap, touchCap}

// try is one extra note that may be a try.
type try struct {
	played        int
	before, after int     // the anchors (sung notes) around it, match.None where there is none
	term          term    // what it counts as
	loud          float64 // 0 to 1: strength that cost time
	quiet         float64 // 0 to quietShare: strength that cost none
	run           int     // number of the replayed run it belongs to, match.None outside
	repeats       int     // the sung note that it repeats, match.None where none
	waited        float64 // 0 to 2: hesitation between it and the first answered note, which it repeats
}

// tries lists the extra notes that may be tries, with their strengths and terms.
func (ans *answer) tries(intervals []interval, ratio float64) []try {
	var list []try
	for p, note := range ans.played {
		if !note.extra() {
			continue
		}
		t := try{played: p, run: match.None, repeats: match.None}
		t.before, t.after = ans.around(p)
		far := ans.farness(p, errorDistance)
		switch {
		case note.loudness < touchLoudness && note.Offset-note.Onset < touchDuration:
			t.term, t.loud = touch, ans.farness(p, touchDistance)
			if t.after == match.None {
				t.loud, t.quiet = 0, quietShare*t.loud
			}
		case t.after == match.None:
			t.quiet = quietShare * far
		case t.before == match.None:
			t.loud = far
		default:
			late := ramp(ans.interval(t.before, t.after).lateness(ratio), onTimeLateness, lateLateness)
			t.loud, t.quiet = far*late, quietShare*far*(1-late)
		}
		list = append(list, t)
	}
	ans.doubtFirst(list, intervals, ratio)
	ans.sortOut(list)
	return list
}

func (ans *answer) distance(p, q int) float64 {
	if q == match.None {
		return math.Inf(1)
	}
	return math.Abs(ans.played[p].Onset - ans.played[q].Onset)
}

// farness is how far, 0 to 1, extra note p lies from the right notes around it to be more than a slip of the hand. A
// key that repeats one of them may have bounced, so it must lie further from that one; another counts wholly from full
// seconds on.
func (ans *answer) farness(p int, full float64) float64 {
	far := 1.0
	for _, q := range []int{ans.previousMatched(p), ans.nextMatched(p)} {
		switch {
		case q == match.None:
		case ans.played[q].key == ans.played[p].key:
			far = min(far, ramp(ans.distance(p, q), repeatSlipDistance, repeatErrorDistance))
		default:
			far = min(far, ramp(ans.distance(p, q), slipDistance, full))
		}
	}
	return far
}

// doubtFirst weighs a single try before the first answered note: the voice tracker may have lost the note that was sung
// there. A neighbouring key that was left faster than the phrase goes speaks for itself; so does the first key struck
// again after longer than one note of the phrase, and the longer the wait the more.
func (ans *answer) doubtFirst(list []try, intervals []interval, ratio float64) {
	first := onlyFirst(list)
	if first == nil || len(intervals) == 0 {
		return
	}
	lengths := make([]float64, len(intervals))
	for i, v := range intervals {
		lengths[i] = v.Sung
	}
	usual := percentile(lengths, 0.5)
	target := ans.sung[first.after].partner
	steps := abs(ans.played[first.played].key - ans.played[target].key)
	apart := ans.distance(first.played, target)
	switch {
	case steps == 0:
		first.waited = hesitation(hesitationStart + excessLateness(apart, usual, ratio))
		if apart < firstAgain*ratio*usual {
			first.loud *= firstAgainShare
		}
	case steps > creepStep || apart >= firstQuick*ratio*usual:
		first.loud *= firstShare
	}
}

// onlyFirst is the try before the first answered note, nil where there is none or more than one. Touches do not count.
func onlyFirst(list []try) *try {
	var first *try
	for i := range list {
		t := &list[i]
		if t.before != match.None || t.after == match.None || t.term == touch {
			continue
		}
		if first != nil {
			return nil
		}
		first = t
	}
	return first
}
