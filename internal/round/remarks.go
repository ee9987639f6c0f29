package round

import (
	"fmt"
	"larkhand/internal/music"
	"math"
	"strings"

	"larkhand/match"
	"larkhand/midiin"
)

// Bounds of the remarks; own choices.
const (
	offPitchCents = 30.0 // from which the player is told that the voice lay off the instrument; less is common without a reference tone
	driftCents    = 30.0 // from which the player is told that the voice moved from the first to the last note
	chordSpread   = 0.05 // s between the onsets of one chord's first and last note; see doc of match
	chordHeld     = 0.1  // s; a key brushed by accident lies shorter (nine in ten under 0.09 s, measured on piano performances)
	mostlySame    = 0.5  // share of the notes from which the shape of a shifted answer counts as right
)

// remarks gathers what is to be said about the round, in the order in which it should be read.
func (r *Round) remarks(early bool) []string {
	var out []string
	for _, take := range r.Takes {
		out = append(out, take.Remarks...)
	}
	out = append(out, r.Answer.Remarks...)
	if r.KeyGuessed {
		out = append(out, fmt.Sprintf("The key, %s, was guessed from the notes; name the key if it is another.", r.Key))
	}
	add := func(text string) {
		if text != "" {
			out = append(out, text)
		}
	}
	add(r.tuningRemark())
	add(r.driftRemark())
	add(r.transpositionRemark())
	add(r.settledRemark())
	add(r.borrowedRemark())
	add(chordRemark(r.Answer.Notes, r.letter))
	add(r.piecesRemark())
	out = append(out, r.helpedRemarks()...)
	if early {
		out = append(out, "The answer begins before the take is over, so there is no response time; check where the answer starts.")
	}
	return out
}

func (r *Round) letter(pitch float64) string { return r.Key.Letter(int(math.Round(pitch))).String() }

// tuningRemark tells a voice that lay off the instrument.
func (r *Round) tuningRemark() string {
	cents := r.Alignment.VoiceCents
	if r.Last().Written || math.Abs(cents) < offPitchCents {
		return ""
	}
	side := "sharp"
	if cents < 0 {
		side = "flat"
	}
	return fmt.Sprintf("The phrase was sung %.0f cents %s of A4 = 440 Hz; the notes were judged on the voice's own tuning.", math.Abs(cents), side)
}

// driftRemark tells a voice that rose or sank under way.
func (r *Round) driftRemark() string {
	notes := r.Last().Voice.Notes
	drift := notes[len(notes)-1].ReferenceCents - notes[0].ReferenceCents
	if r.Last().Written || math.Abs(drift) < driftCents {
		return ""
	}
	way := "rose"
	if drift < 0 {
		way = "sank"
	}
	return fmt.Sprintf("From the first to the last note the voice %s by %.0f cents.", way, math.Abs(drift))
}

// transpositionRemark tells an answer that lies off the phrase as a whole.
func (r *Round) transpositionRemark() string {
	t := r.Alignment.Transposition
	if t == 0 {
		return ""
	}
	same := 0
	for _, p := range r.Alignment.Pairs {
		if p.Verdict == match.Same {
			same++
		}
	}
	side := "high"
	if t < 0 {
		side = "low"
	}
	if float64(same) < mostlySame*float64(len(r.Phrase)) {
		return fmt.Sprintf("The answer fits the phrase best when it is taken to lie %s %s; the verdicts allow for that.", music.Distance(t), side)
	}
	return fmt.Sprintf("The shape is right, but the whole answer lies %s %s; the verdicts allow for that.", music.Distance(t), side)
}

// settledRemark tells which notes take 1 decided.
func (r *Round) settledRemark() string {
	var clear []string
	for _, i := range r.Settled {
		if !r.Phrase[i].Unclear {
			clear = append(clear, fmt.Sprintf("%d (%s)", i+1, r.letter(float64(r.Phrase[i].Semitone))))
		}
	}
	if len(clear) == 0 {
		return ""
	}
	noun := "note"
	if len(clear) > 1 {
		noun = "notes"
	}
	return fmt.Sprintf("Take 1 settled %s %s, which take 2 left unclear.", noun, strings.Join(clear, ", "))
}

// chordRemark tells chords in the answer; only a single line is checked.
func chordRemark(notes []midiin.Note, letter func(float64) string) string {
	chords, first := 0, ""
	var at float64
	for i := 0; i < len(notes); {
		together := chordFrom(notes[i:])
		if len(together) > 1 {
			if chords++; chords == 1 {
				var names []string
				for _, n := range together {
					names = append(names, letter(n.Pitch))
				}
				first, at = strings.Join(names, " "), notes[i].Onset
			}
		}
		i += len(together)
	}
	switch chords {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("The answer has a chord (%s at %.1f s); one note of it is checked and the others count as added, so play a single line.", first, at)
	}
	return fmt.Sprintf("The answer has %d chords (the first is %s at %.1f s); one note of each is checked and the others count as added, so play a single line.", chords, first, at)
}

// chordFrom gives the notes at the beginning of the list that were struck together and held together; at least one.
func chordFrom(notes []midiin.Note) []midiin.Note {
	n := 1
	for n < len(notes) && notes[n].Onset-notes[0].Onset <= chordSpread && heldTogether(notes[0], notes[n]) {
		n++
	}
	return notes[:n]
}

func heldTogether(a, b midiin.Note) bool {
	return math.Min(a.Offset, b.Offset)-math.Max(a.Onset, b.Onset) >= chordHeld
}
