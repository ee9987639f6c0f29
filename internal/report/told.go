package report

import (
	"fmt"

	"larkhand/hunt"
	"larkhand/internal/round"
	"larkhand/match"
)

// Told is a round in words, as [Text] and [SVG] tell it.
type Told struct {
	Summary string // one sentence
	Heading string // key, take, tuning, octave, tempo
	Notes   []ToldNote
	// EvidenceHeading says what the evidence amounts to; "" without evidence.
	EvidenceHeading string
	Evidence        []ToldEvidence
	Steps           []string // which link between voice and fingers is weak, and what was written down
	Changes         []string // from take 1 to take 2
	Remarks         []string
}

// ToldNote is one place of the answer laid beside the phrase. What there is not is "".
type ToldNote struct {
	Degree, Letter     string // of the sung note; Degree is that of the played one where none was sung
	Sung               bool
	Centre             string // cents with sign
	Played             string // letter
	Chord, ChordDegree string
	Verdict            match.Verdict
	Marks              string // letters of the evidence about it
}

// ToldEvidence is one piece of evidence.
type ToldEvidence struct {
	Mark string // a, b, c ...
	Text string // "correction at 1.3 s: Before the 3rd note you ..."
}

// Tell tells a round.
func Tell(r round.Round) Told {
	t := Told{Summary: capital(Summary(r)) + ".", Heading: heading(r), EvidenceHeading: evidenceHeading(r.Finding), Steps: StepsText(r), Changes: changes(r), Remarks: r.Remarks}
	for _, c := range columns(r) {
		t.Notes = append(t.Notes, ToldNote{
			Degree: c.degree, Letter: c.letter, Sung: c.sung != match.None, Centre: c.centre, Played: c.playedLetter,
			Chord: c.chord, ChordDegree: c.chordDegree, Verdict: c.verdict, Marks: c.marks,
		})
	}
	for i, e := range r.Finding.Evidence {
		t.Evidence = append(t.Evidence, ToldEvidence{Mark: evidenceMark(i), Text: evidenceText(e)})
	}
	return t
}

func evidenceText(e hunt.Evidence) string {
	return fmt.Sprintf("%s at %.1f s: %s", e.Kind, e.Onset, e.Text)
}

// evidenceHeading says what the evidence amounts to.
func evidenceHeading(f hunt.Finding) string {
	switch {
	case len(f.Evidence) == 0:
		return ""
	case f.Label == hunt.Searched:
		return "Why it looks searched for"
	case f.Label == hunt.Unsure:
		return "What could be searching, or not"
	}
	return "Seen, but too little to call it searched for"
}
