package report

import (
	"fmt"
	"slices"
	"strings"

	"larkhand/hunt"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/match"
)

// Summary says in one sentence how the round went: how many notes are as sung, what became of the others, whether the
// answer was known or found by trying, and the response time where it is known.
func Summary(r round.Round) string {
	parts := []string{sameOf(r)}
	parts = append(parts, faults(r)...)
	if t := r.Alignment.Transposition; t != 0 {
		parts = append(parts, fmt.Sprintf("the whole answer lies %s %s", music.Distance(t), highOrLow(t)))
	}
	parts = append(parts, found(r))
	if r.ResponseSeconds != nil {
		parts = append(parts, fmt.Sprintf("first note %.1f s after the take", *r.ResponseSeconds))
	}
	return strings.Join(parts, "; ")
}

// sameOf counts the notes that are as sung, or where the whole answer lies off, as they should be then.
func sameOf(r round.Round) string {
	same := len(withVerdict(r, match.Same))
	total := len(r.Phrase)
	how := "as sung"
	if r.Alignment.Transposition != 0 {
		how = "in the shape sung"
	}
	switch {
	case same == total && total == 1:
		return "the one note " + how
	case same == total:
		return fmt.Sprintf("all %d notes %s", total, how)
	case same == 0:
		return fmt.Sprintf("none of %s %s", counted(total, "note"), how)
	}
	return fmt.Sprintf("%d of %s %s", same, counted(total, "note"), how)
}

// faults names the notes that are not.
func faults(r round.Round) []string {
	var out []string
	if notes := withVerdict(r, match.Different); len(notes) > 0 {
		out = append(out, fmt.Sprintf("%s %s different", theNotes(notes), was(len(notes))))
	}
	if notes := withVerdict(r, match.LeftOut); len(notes) > 0 {
		out = append(out, fmt.Sprintf("%s %s left out", theNotes(notes), was(len(notes))))
	}
	if notes := withVerdict(r, match.Unclear); len(notes) > 0 {
		out = append(out, fmt.Sprintf("%s %s sung unclearly", theNotes(notes), was(len(notes))))
	}
	if n := len(withVerdict(r, match.Added)); n > 0 {
		out = append(out, fmt.Sprintf("%s %s added", counted(n, "note"), was(n)))
	}
	return out
}

// withVerdict lists the notes with a verdict: sung ones, and played ones where the verdict is Added.
func withVerdict(r round.Round, verdict match.Verdict) []int {
	var out []int
	for _, pair := range r.Alignment.Pairs {
		switch {
		case pair.Verdict != verdict:
		case pair.Sung != match.None:
			out = append(out, pair.Sung)
		default:
			out = append(out, pair.Played)
		}
	}
	return out
}

// Counts is how many notes of a round have each verdict.
type Counts struct{ Same, Different, LeftOut, Unclear, Added int }

// Count counts the verdicts.
func Count(r round.Round) Counts {
	return Counts{
		Same:      len(withVerdict(r, match.Same)),
		Different: len(withVerdict(r, match.Different)),
		LeftOut:   len(withVerdict(r, match.LeftOut)),
		Unclear:   len(withVerdict(r, match.Unclear)),
		Added:     len(withVerdict(r, match.Added)),
	}
}

// found says in a few words whether the answer was known.
func found(r round.Round) string {
	tried, late := searchedNotes(r)
	switch r.Finding.Label {
	case hunt.Known:
		return "the answer was known"
	case hunt.Unsure:
		return "whether the answer was known cannot be told"
	}
	var parts []string
	if len(tried) > 0 {
		parts = append(parts, fmt.Sprintf("%s %s found by trying", theNotes(tried), was(len(tried))))
	}
	if len(late) > 0 {
		parts = append(parts, fmt.Sprintf("%s came after a wait", theNotes(late)))
	}
	if len(parts) == 0 {
		return "the answer was found by trying"
	}
	return strings.Join(parts, ", ")
}

// searchedNotes lists the sung notes that were searched for, rising: by trying keys, or by waiting only.
func searchedNotes(r round.Round) (tried, late []int) {
	for _, e := range r.Finding.Evidence {
		if e.Kind == hunt.Hesitation {
			late = append(late, reached(e)...)
		} else {
			tried = append(tried, reached(e)...)
		}
	}
	slices.Sort(tried)
	slices.Sort(late)
	return slices.Compact(tried), slices.Compact(late)
}

// reached lists the sung notes that a piece of evidence leads to: of a hesitation, which names the notes on both sides, the
// one after it.
func reached(e hunt.Evidence) []int {
	if e.Kind == hunt.Hesitation && len(e.Sung) > 0 {
		return e.Sung[len(e.Sung)-1:]
	}
	return e.Sung
}

func highOrLow(semitones int) string {
	if semitones > 0 {
		return "high"
	}
	return "low"
}
