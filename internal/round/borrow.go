package round

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"larkhand/match"
	"larkhand/voice"
)

// borrow puts notes into the last take that its tracker lost and that take 1 and the answer both have (match.LostNotes), and lays the answer
// beside the phrase anew. The takes that were given are not changed.
func (r *Round) borrow(played []match.Played) {
	if r.Agreement == nil {
		return
	}
	lost := match.LostNotes(Sung(r.Takes[0].Voice.Notes), r.Phrase, played, r.Agreement.Agreement, r.Alignment)
	if len(lost) == 0 {
		return
	}
	last := r.Last()
	notes := slices.Clone(last.Voice.Notes)
	phrase := slices.Clone(r.Phrase)
	pairs := slices.Clone(r.Agreement.Pairs)
	for n, l := range lost {
		at := l.Before + n
		note := borrowed(r.Takes[0].Voice.Notes[l.First], l, last.Voice.TuningCents)
		if at > 0 {
			notes[at-1].Offset = math.Min(notes[at-1].Offset, l.Onset)
			phrase[at-1].Offset = notes[at-1].Offset
		}
		notes = slices.Insert(notes, at, note)
		phrase = slices.Insert(phrase, at, Sung([]voice.Note{note})[0])
		shift(r.Settled, at)
		for k := range pairs {
			if pairs[k][1] >= at {
				pairs[k][1]++
			}
		}
		pairs = append(pairs, [2]int{l.First, at})
		r.Borrowed = append(r.Borrowed, at)
	}
	slices.SortFunc(pairs, func(a, b [2]int) int { return a[1] - b[1] })
	r.Agreement.Pairs = pairs
	r.Phrase = phrase
	r.Takes = slices.Clone(r.Takes)
	r.Takes[len(r.Takes)-1].Voice.Notes = notes
	r.Alignment = match.AlignWith(phrase, played, match.Options{TuningCents: last.Voice.TuningCents})
}

// shift moves the indices from at on by one.
func shift(indices []int, at int) {
	for k := range indices {
		if indices[k] >= at {
			indices[k]++
		}
	}
}

// borrowed is a note of take 1 in its place in take 2.
func borrowed(n voice.Note, l match.Lost, tuningCents float64) voice.Note {
	n.Onset, n.Offset, n.Semitone = l.Onset, l.Offset, l.Semitone
	n.ReferenceCents = tuningCents
	n.Pitch = float64(n.Semitone) + (n.CentreCents+tuningCents)/100
	return n
}

// borrowedRemark tells which notes of take 2 were only heard in take 1.
func (r *Round) borrowedRemark() string {
	if len(r.Borrowed) == 0 {
		return ""
	}
	var names []string
	for _, i := range r.Borrowed {
		names = append(names, fmt.Sprintf("%d (%s)", i+1, r.letter(float64(r.Phrase[i].Semitone))))
	}
	noun, it := "Note", "it"
	if len(names) > 1 {
		noun, it = "Notes", "them"
	}
	return fmt.Sprintf("%s %s could not be made out in take 2; take 1 has %s and so has the answer.", noun, strings.Join(names, ", "), it)
}
