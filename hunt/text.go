package hunt

import (
	"fmt"

	"larkhand/match"
)

// textOf says in one sentence what the tries of one term before one target were.
func (ans *answer) textOf(tries []try) string {
	first := tries[0]
	if first.after == match.None {
		return afterText(first.term, len(tries))
	}
	target := ans.sung[first.after]
	took := ans.played[target.partner].Onset - ans.played[first.played].Onset
	switch first.term {
	case creep:
		return fmt.Sprintf("You felt your way to the %s note over %s in %s.",
			ordinal(target.index), count(len(tries), "neighbouring key"), seconds(took))
	case replay:
		return ans.replayText(tries, target.index, took)
	case touch:
		return fmt.Sprintf("Before the %s note you softly touched %s.", ordinal(target.index), ans.keysText(tries))
	}
	keys := ans.keysText(tries)
	switch {
	case target.wrong:
		return fmt.Sprintf("For the %s note you first pressed %s, and the key that you kept %s later is not as sung.",
			ordinal(target.index), keys, seconds(took))
	case len(tries) > 1:
		return fmt.Sprintf("Before the %s note you first pressed %s and found the right one %s later.",
			ordinal(target.index), keys, seconds(took))
	}
	return fmt.Sprintf("Before the %s note you first pressed %s and corrected it %s later.",
		ordinal(target.index), keys, seconds(took))
}

// keysText names the keys of the tries by how far they lie from the target.
func (ans *answer) keysText(tries []try) string {
	want := ans.sung[tries[0].after].want
	near := true
	for _, t := range tries {
		near = near && abs(ans.played[t.played].key-want) <= creepStep
	}
	same := len(tries) == 1 && ans.played[tries[0].played].key == want
	switch {
	case same:
		return "its key"
	case len(tries) == 1 && near:
		return "a neighbouring key"
	case len(tries) == 1:
		return "another key"
	case near:
		return count(len(tries), "neighbouring key")
	}
	return count(len(tries), "other key")
}

// replayText says which notes of the phrase were played again. The tries are one run, or single repeats.
func (ans *answer) replayText(tries []try, target int, took float64) string {
	first, last := tries[0], tries[len(tries)-1]
	from, to := ans.sung[first.repeats].index, ans.sung[last.repeats].index
	switch {
	case len(tries) == 1 && from == target:
		return fmt.Sprintf("You struck the %s note twice, the second time %s later.", ordinal(target), seconds(took))
	case len(tries) == 1:
		return fmt.Sprintf("Before the %s note you struck the %s note again.", ordinal(target), ordinal(from))
	case first.run == match.None:
		return fmt.Sprintf("Before the %s note you struck %s again.", ordinal(target), count(len(tries), "key"))
	case from == target:
		return fmt.Sprintf("From the %s note you went back to the %s note and played %s again.",
			ordinal(to), ordinal(from), count(len(tries), "note"))
	}
	return fmt.Sprintf("Before the %s note you played the %s to the %s note again.",
		ordinal(target), ordinal(from), ordinal(to))
}

func afterText(t term, n int) string {
	if t == touch {
		return fmt.Sprintf("After the phrase you softly touched %s more.", count(n, "key"))
	}
	return fmt.Sprintf("After the phrase you pressed %s more.", count(n, "key"))
}

func hesitationText(sung int, late float64) string {
	return fmt.Sprintf("Before the %s note you waited %s longer than the phrase's rhythm asks for.",
		ordinal(sung), seconds(late))
}

// ordinal names the note with this index, counted from 1: "1st", "2nd", "11th".
func ordinal(index int) string {
	n := index + 1
	ending := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			ending = "st"
		case 2:
			ending = "nd"
		case 3:
			ending = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, ending)
}

// count gives "1 key", "2 keys".
func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// seconds gives "0.3 s"; less than a tenth is said as 0.1 s.
func seconds(s float64) string { return fmt.Sprintf("%.1f s", max(s, 0.1)) }
