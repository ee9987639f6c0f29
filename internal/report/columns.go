package report

import (
	"math"

	"larkhand/internal/round"
	"larkhand/match"
)

// column is one place of the answer laid beside the phrase: a sung note, a played note, or both.
type column struct {
	sung, played int // indices; match.None where there is none
	verdict      match.Verdict

	degree, letter     string // of the sung note, or of the played one where none was sung
	centre             string // cents with sign; "" where none was sung
	playedLetter       string // "" where none was played
	chord, chordDegree string // that sounded when the note was sung; "" without a loop
	marks              string // the letters of the evidence that is about this place
}

// columns lays out a round from left to right.
func columns(r round.Round) []column {
	last := r.Last()
	out := make([]column, 0, len(r.Alignment.Pairs))
	for _, pair := range r.Alignment.Pairs {
		c := column{sung: pair.Sung, played: pair.Played, verdict: pair.Verdict}
		if pair.Played != match.None {
			key := int(math.Round(r.Answer.Notes[pair.Played].Pitch))
			c.playedLetter = r.Key.Letter(key).String()
			c.degree = r.Key.Degree(key, r.Numbering)
		}
		if pair.Sung != match.None {
			semitone := r.Phrase[pair.Sung].Semitone
			c.degree = r.Key.Degree(semitone, r.Numbering)
			c.letter = r.Key.Letter(semitone).String()
			if !last.Written {
				c.centre = signedCents(r.CentreCents(pair.Sung))
			}
			c.chord, c.chordDegree = r.SungChord(len(r.Takes)-1, pair.Sung)
		}
		c.marks = marksAt(r, pair)
		out = append(out, c)
	}
	return out
}

// evidenceMark is the letter of a piece of evidence: a, b, c ... z, then aa and so on.
func evidenceMark(index int) string {
	const letters = 26
	mark := string(rune('a' + index%letters))
	if index >= letters {
		return evidenceMark(index/letters-1) + mark
	}
	return mark
}

// marksAt gives the letters of the evidence about the pair: about its sung note, or about its played note where nothing was sung.
func marksAt(r round.Round, pair match.Pair) string {
	marks := ""
	for i, e := range r.Finding.Evidence {
		if contains(reached(e), pair.Sung) || pair.Sung == match.None && contains(e.Played, pair.Played) {
			if marks != "" {
				marks += " "
			}
			marks += evidenceMark(i)
		}
	}
	return marks
}

// contains says whether a note is among indices; match.None is no note.
func contains(indices []int, note int) bool {
	if note == match.None {
		return false
	}
	for _, i := range indices {
		if i == note {
			return true
		}
	}
	return false
}
