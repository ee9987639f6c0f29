package main

import (
	"math"
	"math/cmplx"

	"larkhand/internal/data/sightsing"
)

// How clips are cut and how the meant semitones are found. All are own choices, made before any result was seen.
const (
	phraseGap      = 0.35    // s; a longer rest parts two phrases
	breathGap      = 0.10    // s; a piece of too many notes is parted at its longest rest, if that is at least so long
	shortest       = 3       // notes of a phrase
	longest        = 12      // notes of a phrase
	margin         = 0.30    // s of sound kept before and after the phrase; less where the neighbour's note is near
	briefest       = 0.06    // s; a shorter label is no singing that anyone could judge
	agreeSemitones = 0.5     // a label further from the independent F0 median than this is in doubt
	clearSemitones = 0.30    // a note further from a tempered pitch of either reference than this lies between the keys
	nearFade       = 0.5     // near reference: weight of a note against that of its inner neighbour
	wideFade       = 0.85    // wide reference: the same
	referenceReach = 12      // notes to each side that make a reference
	mostUnscored   = 1.0 / 3 // share of a phrase's notes that need not be scored
)

// truth is one sung note of a phrase as people labelled it.
type truth struct {
	onset, offset float64 // s since the start of the cut sound
	semitone      int     // MIDI number that the singer meant, as far as the labels tell
	// scored is false where the labels do not tell: label and F0 median disagree, or the note lies between two keys. Such a note is
	// played at its nearest key, no fault is put into it, and its verdict is counted apart.
	scored bool
}

// phrase is one sung phrase cut out of a clip.
type phrase struct {
	clip     *sightsing.Clip
	index    int     // of the phrase in its clip
	from, to float64 // s in the clip: the sound
	notes    []truth

	doubtful, between int // notes that are not scored, by reason
	// unsure: over a third of the notes cannot be scored, so the phrase is looked at for information only.
	unsure bool
	// betweenKeys: the whole phrase lies between two keys of A4 = 440 Hz, so that nobody can say which of two answers is transposed.
	betweenKeys bool
}

// cutCount says what became of the pieces between rests and of their notes.
type cutCount struct {
	pieces, short, long, unsure, kept int // pieces; parts of a long piece count one by one
	notes, doubtful, between          int // notes of the kept pieces; those not scored, by reason
}

// add sums two counts.
func (c *cutCount) add(o cutCount) {
	c.pieces, c.short, c.long, c.unsure, c.kept = c.pieces+o.pieces, c.short+o.short, c.long+o.long, c.unsure+o.unsure, c.kept+o.kept
	c.notes, c.doubtful, c.between = c.notes+o.notes, c.doubtful+o.doubtful, c.between+o.between
}

// cut parts a clip at its rests. A note is scored when its label and the independent F0 median lie at most 50 cents apart (after the
// clip's constant difference), it lasts at least 60 ms, and two references, made of the notes near it and of those further around it, put it at most 30 cents
// from the same key; else nobody can say which key is right. A piece is left out when it has less than 3 or more than 12 notes; it is
// marked unsure when less than two thirds of its notes can be scored. Nothing here looks at what larkhand hears.
func cut(clip *sightsing.Clip) ([]phrase, cutCount) {
	var phrases []phrase
	var count cutCount
	for _, p := range pieces(clip.Notes) {
		count.pieces++
		switch n := p[1] - p[0]; {
		case !pitched(clip, p[0], p[1]):
			count.unsure++
		case n < shortest:
			count.short++
		case n > longest:
			count.long++
		default:
			next := newPhrase(clip, len(phrases), p[0], p[1])
			if next.unsure {
				count.unsure++
			} else {
				count.add(cutCount{kept: 1, notes: n, doubtful: next.doubtful, between: next.between})
			}
			phrases = append(phrases, next)
		}
	}
	return phrases, count
}

// pitched tells whether every note of a piece has a pitch at all.
func pitched(clip *sightsing.Clip, first, end int) bool {
	for i := first; i < end; i++ {
		if math.IsNaN(clip.Truth(i)) {
			return false
		}
	}
	return true
}

// pieces lists the ranges [first, end) of notes between rests.
func pieces(notes []sightsing.Note) [][2]int {
	var out [][2]int
	first := 0
	for i := range notes {
		if i+1 == len(notes) || notes[i+1].Onset-notes[i].Offset > phraseGap {
			out = append(out, parted(notes, first, i+1)...)
			first = i + 1
		}
	}
	return out
}

// parted parts a piece of too many notes at its longest rest, and the parts again.
func parted(notes []sightsing.Note, first, end int) [][2]int {
	if end-first > longest {
		at, rest := 0, breathGap
		for i := first + 1; i < end; i++ {
			if r := notes[i].Onset - notes[i-1].Offset; r >= rest {
				at, rest = i, r
			}
		}
		if at > 0 {
			return append(parted(notes, first, at), parted(notes, at, end)...)
		}
	}
	return [][2]int{{first, end}}
}

// newPhrase cuts the notes [first, end) out of the clip.
func newPhrase(clip *sightsing.Clip, index, first, end int) phrase {
	p := phrase{clip: clip, index: index}
	p.mean(first, end)
	p.unsure = float64(p.doubtful+p.between) > mostUnscored*float64(len(p.notes))
	last := end - 1
	p.from = math.Max(0, clip.Notes[first].Onset-margin)
	if first > 0 {
		p.from = math.Max(p.from, (clip.Notes[first-1].Offset+clip.Notes[first].Onset)/2)
	}
	p.to = clip.Notes[last].Offset + margin
	if end < len(clip.Notes) {
		p.to = math.Min(p.to, (clip.Notes[last].Offset+clip.Notes[end].Onset)/2)
	}
	for i := range p.notes {
		p.notes[i].onset = clip.Notes[first+i].Onset - p.from
		p.notes[i].offset = clip.Notes[first+i].Offset - p.from
	}
	return p
}

// mean finds the semitones that the notes [first, end) mean against the clip's own moving reference, and counts the notes that cannot
// be scored. The reference follows without jumps, so that intervals inside the phrase are kept when the singer lies between two keys.
func (p *phrase) mean(first, end int) {
	var before, tuning float64
	for i := first; i < end; i++ {
		near := beside(before, reference(p.clip, i, nearFade))
		wide := beside(near, reference(p.clip, i, wideFade))
		before = near
		tuning += near / float64(end-first)
		pitch := p.clip.Truth(i)
		key := math.Round(pitch - near)
		n := truth{semitone: int(key)}
		switch {
		case p.clip.Disagreement(i) > agreeSemitones || p.clip.Notes[i].Offset-p.clip.Notes[i].Onset < briefest:
			p.doubtful++
		case math.Abs(pitch-near-key) > clearSemitones || math.Abs(pitch-wide-key) > clearSemitones:
			p.between++
		default:
			n.scored = true
		}
		p.notes = append(p.notes, n)
	}
	p.betweenKeys = math.Abs(tuning) > clearSemitones
}

// beside moves a reference by whole semitones to where it lies nearest to another one.
func beside(other, reference float64) float64 { return reference + math.Round(other-reference) }

// reference is where the tempered pitches lie around note i, semitones above A4 = 440 Hz temperament, -0.5 to 0.5: the circular
// mean of the notes around it, the note itself left out, each weighing fade times its inner neighbour.
func reference(clip *sightsing.Clip, i int, fade float64) float64 {
	var sum complex128
	for j := max(0, i-referenceReach); j <= min(len(clip.Notes)-1, i+referenceReach); j++ {
		if j != i && clip.Disagreement(j) <= agreeSemitones {
			sum += cmplx.Rect(math.Pow(fade, math.Abs(float64(j-i))-1), 2*math.Pi*clip.Truth(j))
		}
	}
	return cmplx.Phase(sum) / (2 * math.Pi)
}
