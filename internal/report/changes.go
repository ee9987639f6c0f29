package report

import (
	"fmt"
	"math"

	"larkhand/internal/round"
)

// smallestChange is the change in cents from which a sentence says better or worse. Below it, singing the same note twice
// gives differences of this size by chance (own choice).
const smallestChange = 2.0

// changes says in sentences what take 2 changed; nothing with one take.
func changes(r round.Round) []string {
	a := r.Agreement
	if a == nil {
		return nil
	}
	first, second := r.Takes[0], r.Takes[1]
	n1, n2 := len(first.Voice.Notes), len(second.Voice.Notes)
	if !a.SamePhrase {
		return []string{fmt.Sprintf("Not the same phrase (%s in take 1, %s in take 2), so the two are not compared; take 2 counts.",
			counted(n1, "note"), counted(n2, "note"))}
	}
	out := append([]string{"The same phrase."}, moved(r)...)
	if len(a.Pairs) == 0 || first.Written || second.Written {
		return out
	}
	out = append(out, changed("The centre", a.CentreChangeCents, "closer", "further off"))
	out = append(out, changed("The spread", a.SpreadChangeCents, "narrower", "wider"))
	if shift := second.Voice.TuningCents - first.Voice.TuningCents; math.Abs(shift) >= smallestChange {
		side := "higher"
		if shift < 0 {
			side = "lower"
		}
		out = append(out, fmt.Sprintf("The voice as a whole lay %.0f cents %s.", math.Abs(shift), side))
	}
	return out
}

// changed says how a quantity in cents went.
func changed(what string, cents float64, better, worse string) string {
	switch {
	case math.Abs(cents) < smallestChange:
		return what + " is as before."
	case cents < 0:
		return fmt.Sprintf("%s is %.0f cents %s.", what, -cents, better)
	}
	return fmt.Sprintf("%s is %.0f cents %s.", what, cents, worse)
}

// moved names the notes that became another pitch, and those that only one take has.
func moved(r round.Round) []string {
	first, second := r.Takes[0].Voice.Notes, r.Takes[1].Voice.Notes
	shift := r.Agreement.Semitones()
	in1, in2 := make([]bool, len(first)), make([]bool, len(second))
	var out []string
	for _, pair := range r.Agreement.Pairs {
		in1[pair[0]], in2[pair[1]] = true, true
		was, is := first[pair[0]], second[pair[1]]
		if was.Semitone+shift != is.Semitone && !was.Unclear && !is.Unclear {
			out = append(out, fmt.Sprintf("The %s note was %s and became %s.", ordinal(pair[1]),
				r.Key.Letter(was.Semitone), r.Key.Letter(is.Semitone)))
		}
	}
	if shift != 0 {
		out = append(out, fmt.Sprintf("Take 2 starts from another pitch: all of it lies %+d semitones from take 1.", shift))
	}
	if lost := unset(in1); len(lost) > 0 {
		out = append(out, fmt.Sprintf("Of take 1, %s %s missing in take 2.", theNotes(lost), is(len(lost))))
	}
	if extra := unset(in2); len(extra) > 0 {
		out = append(out, fmt.Sprintf("Of take 2, %s %s new.", theNotes(extra), is(len(extra))))
	}
	return out
}

func unset(marks []bool) (out []int) {
	for i, set := range marks {
		if !set {
			out = append(out, i)
		}
	}
	return out
}

func is(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
