package round

import (
	"fmt"
	"slices"
	"strings"

	"larkhand/match"
)

// Kept is a round laid beside a phrase that was known beforehand.
type Kept struct {
	Takes []match.Agreement // of the phrase with each take
	// Answer is the answer laid beside the phrase.
	Answer match.Alignment
	Wrong  int      // notes of the phrase that were played otherwise, or left out
	Told   []string // sentences for the player
}

// BesideKept lays a judged round beside a phrase, whose notes are sure.
func (r *Round) BesideKept(name string, phrase []match.Sung) Kept {
	k := Kept{Answer: match.Align(phrase, Played(r.Answer.Notes))}
	for i, take := range r.Takes {
		a := match.Takes(phrase, Sung(take.Voice.Notes))
		k.Takes = append(k.Takes, a)
		k.Told = append(k.Told, fmt.Sprintf("Take %d %s", i+1, besideKept(name, a, phrase, Sung(take.Voice.Notes))))
	}
	for _, p := range k.Answer.Pairs {
		if p.Verdict == match.Different || p.Verdict == match.LeftOut {
			k.Wrong++
		}
	}
	if k.Wrong == 0 {
		k.Told = append(k.Told, fmt.Sprintf("The answer is %s as it is kept.", name))
	} else {
		k.Told = append(k.Told, fmt.Sprintf("The answer differs from %s as it is kept in %s.", name, notes(k.Wrong)))
	}
	return k
}

// besideKept says what a take has to do with the phrase.
func besideKept(name string, a match.Agreement, phrase, take []match.Sung) string {
	if !a.SamePhrase {
		return fmt.Sprintf("is another phrase than %s.", name)
	}
	var wrong []int
	there := map[int]bool{}
	for k, p := range a.Pairs {
		there[p[0]] = true
		if slices.Contains(a.Moved, k) {
			wrong = append(wrong, p[0])
		}
	}
	for i := range phrase {
		if !there[i] {
			wrong = append(wrong, i)
		}
	}
	slices.Sort(wrong)
	switch more := len(take) - len(a.Pairs); {
	case len(wrong) == 0 && more > 0:
		return fmt.Sprintf("is %s as it is kept, with %s more.", name, notes(more))
	case len(wrong) == 0:
		return fmt.Sprintf("is %s as it is kept.", name)
	case len(wrong) == 1:
		return fmt.Sprintf("differs from %s as it is kept at note %d.", name, wrong[0]+1)
	}
	places := make([]string, len(wrong))
	for i, w := range wrong {
		places[i] = fmt.Sprint(w + 1)
	}
	return fmt.Sprintf("differs from %s as it is kept at notes %s.", name, strings.Join(places, ", "))
}

// notes counts notes.
func notes(n int) string {
	if n == 1 {
		return "1 note"
	}
	return fmt.Sprintf("%d notes", n)
}
