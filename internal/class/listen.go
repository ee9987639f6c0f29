package class

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/match"
)

// Listen is a round that is worth a teacher's time.
type Listen struct {
	Bundle, UID string
	At          time.Time
	Key         string
	Reason      string // one sentence
}

// mostListen is how many rounds are named of one player. Own: what a teacher can hear before a lesson.
const mostListen = 4

// listenTo chooses rounds: one for each named habit and for the weakest link, the one that shows it most; one whose takes do not fit together; the one that
// was searched for most; the one with most wrong notes. Of equal ones the latest. rounds are in order of time.
func listenTo(rounds, answers []Round, line Line) []Listen {
	var out []Listen
	add := func(r *Round, reason string) {
		taken := r == nil || len(out) == mostListen
		for _, l := range out {
			taken = taken || r != nil && l.UID == r.UID && l.Bundle == r.Bundle
		}
		if !taken {
			out = append(out, Listen{r.Bundle, r.UID, r.Row.At, r.Row.Key, reason})
		}
	}
	for _, h := range line.Habits {
		r := latestMost(answers, func(r *Round) float64 { return r.weight(h) })
		if r != nil {
			add(r, "Shows the habit best: "+r.evidence(h)+".")
		}
	}
	for _, w := range line.Weak[:min(len(line.Weak), 1)] {
		if r := latestMost(rounds, func(r *Round) float64 { return float64(len(r.failures(w))) }); r != nil {
			add(r, fmt.Sprintf("Shows the weak link: %s failed at %s.", w.Name.The(), r.failureWords(w)))
		}
	}
	if r := latestMost(rounds, otherPhrase); r != nil {
		add(r, "The second take is another phrase than the first.")
	} else if line.Settling.State != Steadier {
		if r := latestMost(rounds, looser); r != nil {
			add(r, fmt.Sprintf("The second take is less steady than the first: spread %.0f, then %.0f cents.", r.Row.Takes[0].SpreadCents, r.Row.Takes[1].SpreadCents))
		}
	}
	if r := latestMost(answers, func(r *Round) float64 { return r.weight(Habit{}) }); r != nil {
		add(r, "Looks most searched for: "+r.evidence(Habit{})+".")
	}
	if r := latestMost(answers, func(r *Round) float64 { return float64(r.wrong()) }); r != nil {
		add(r, fmt.Sprintf("%d of %d notes are different or left out.", r.wrong(), len(r.Row.Notes)))
	}
	return out
}

// latestMost is the round with the most of something, the latest of equal ones; nil where no round has any.
func latestMost(rounds []Round, amount func(*Round) float64) *Round {
	var best *Round
	most := 0.0
	for i := range rounds {
		if a := amount(&rounds[i]); a > 0 && a >= most {
			best, most = &rounds[i], a
		}
	}
	return best
}

// at reports whether a mark belongs to a habit; the zero Habit has all of a round that was searched for.
func (r *Round) at(m Mark, h Habit) bool {
	switch {
	case h.Kind == "":
		return r.Row.Label == hunt.Searched
	case m.Kind != h.Kind:
		return false
	case h.By == "":
		return true
	}
	return m.Note != match.None && m.Note < len(r.Row.Notes) && place(r.Row.Notes[m.Note], h.By) == h.Place
}

// weight adds up the evidence of a habit in a round.
func (r *Round) weight(h Habit) float64 {
	sum := 0.0
	for _, m := range r.Marks {
		if r.at(m, h) {
			sum += m.Weight
		}
	}
	return sum
}

// evidence names the evidence of a habit in a round: "creeping to note 3 (b3), restart at note 5 (1)".
func (r *Round) evidence(h Habit) string {
	var out []string
	for _, m := range r.Marks {
		if !r.at(m, h) {
			continue
		}
		text := markWords[m.Kind]
		if m.Note != match.None && m.Note < len(r.Row.Notes) {
			text += fmt.Sprintf(" note %d (%s)", m.Note+1, r.Row.Notes[m.Note].Degree)
		} else {
			text = strings.TrimSuffix(strings.TrimSuffix(strings.TrimSuffix(text, " before"), " to"), " at")
		}
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	const most = 3 // more are not read
	if len(out) > most {
		return strings.Join(out[:most], ", ") + fmt.Sprintf(" and %d more", len(out)-most)
	}
	return strings.Join(out, ", ")
}

// markWords begin what is said of a piece of evidence, before the note's number.
var markWords = map[hunt.Kind]string{
	hunt.Correction: "a correction before",
	hunt.Creep:      "creeping to",
	hunt.Hesitation: "a wait before",
	hunt.Restart:    "a restart at",
	hunt.Touch:      "a soft touch before",
}

// wrong counts the notes that are different or left out.
func (r *Round) wrong() int {
	n := 0
	for _, note := range r.Row.Notes {
		if note.Verdict == match.Different || note.Verdict == match.LeftOut {
			n++
		}
	}
	return n
}

func otherPhrase(r *Round) float64 {
	if r.Row.Sang && r.Row.Agreement == progress.OtherPhrase {
		return 1
	}
	return 0
}

// looser is by how much the second take is less steady, cents.
func looser(r *Round) float64 {
	change := r.Row.Takes[1].SpreadCents - r.Row.Takes[0].SpreadCents
	if !r.Row.Sang || r.Row.Agreement != progress.SamePhrase || math.IsNaN(change) {
		return 0
	}
	return change
}
