package progress

import (
	"fmt"
	"math"

	"larkhand/hunt"
)

// sentences says what can be said, the most important first.
func (p Progress) sentences() []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if p.Answers < Least {
		add("There %s so far; below %d nothing is claimed, since a few rounds can look like anything.", were(p.Answers, "answer"), Least)
	} else {
		out = append(out, p.claims()...)
	}
	if text := p.settlingWords(); text != "" {
		out = append(out, text)
	}
	return append(out, p.Next.Reasons...)
}

// claims are the sentences that need enough answers.
func (p Progress) claims() []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if p.Recent.Known.Trials >= Least {
		add("Of your last %d answers that can be told, %d were known (%s).", p.Recent.Known.Trials, p.Recent.Known.Hits, shareWords(p.Recent.Known))
	}
	if !math.IsNaN(p.Recent.Response) {
		add("You begin to answer after %.1f s (median of the last rounds; likely between %.1f and %.1f s).", p.Recent.Response, p.Recent.ResponseLow, p.Recent.ResponseHigh)
	}
	for _, t := range p.Trends {
		if t.Claimed {
			out = append(out, t.words())
		}
	}
	if !p.anyTrend() {
		add("No change over time can be told from chance yet.")
	}
	for _, h := range p.Habits {
		if h.Named {
			add("%s in %d of %d answers (%s).", habitWords[h.Kind], h.Share.Hits, h.Share.Trials, shareWords(h.Share))
		}
	}
	const mostTroubles = 4 // sentences; the tables have them all
	troubles := Named(p.Tables)
	for _, t := range troubles[:min(len(troubles), mostTroubles)] {
		out = append(out, t.words())
	}
	return append(out, p.masteredWords()...)
}

func (p Progress) anyTrend() bool {
	for _, t := range p.Trends {
		if t.Claimed {
			return true
		}
	}
	return false
}

// habitWords begin the sentence on a habit.
var habitWords = map[hunt.Kind]string{
	hunt.Correction: "You press another key first and correct it",
	hunt.Creep:      "You creep up to a note key by key",
	hunt.Hesitation: "You wait before a note",
	hunt.Restart:    "You go back and play a part again",
	hunt.Touch:      "You touch a key softly before the right one",
}

// kindWords name a kind of evidence inside a sentence.
var kindWords = map[hunt.Kind]string{
	"":              "wrong or left-out notes",
	hunt.Correction: "corrections",
	hunt.Creep:      "creeping",
	hunt.Hesitation: "hesitation",
	hunt.Restart:    "going back",
	hunt.Touch:      "soft touches",
}

func (t Trouble) words() string {
	return fmt.Sprintf("%s: trouble in %d of the %d rounds that have it (%s), mostly %s; elsewhere in %.0f %%.",
		t.place(), t.Rounds.Hits, t.Rounds.Trials, shareWords(t.Rounds), kindWords[t.MainKind()], 100*t.Others.Value)
}

// place begins the sentence on a trouble.
func (t Trouble) place() string {
	switch t.Dimension {
	case ByDegree:
		return "At degree " + t.Name
	case ByInterval:
		return "After " + t.Name
	case ByKey:
		return "In " + t.Name
	}
	return "At " + t.Name
}

// words say how a quantity moves in four weeks.
func (t Trend) words() string {
	switch t.Quantity {
	case KnownAnswers:
		return fmt.Sprintf("The share of known answers %s by %.0f points in four weeks.", moves(t.PerMonth), 100*math.Abs(t.PerMonth))
	case FirstTouches:
		return fmt.Sprintf("The share of notes right at first touch %s by %.0f points in four weeks.", moves(t.PerMonth), 100*math.Abs(t.PerMonth))
	case ResponseTime:
		return fmt.Sprintf("Your response time %s by %.2f s in four weeks.", moves(t.PerMonth), math.Abs(t.PerMonth))
	case CentreOfTake2:
		return fmt.Sprintf("The distance of your second takes from the centre %s by %.1f cents in four weeks.", moves(t.PerMonth), math.Abs(t.PerMonth))
	}
	return fmt.Sprintf("The spread of your second takes %s by %.1f cents in four weeks.", moves(t.PerMonth), math.Abs(t.PerMonth))
}

func moves(slope float64) string {
	if slope < 0 {
		return "falls"
	}
	return "rises"
}

// masteredWords say what size is mastered.
func (p Progress) masteredWords() []string {
	var out []string
	if m := p.Length; m.Size > 0 {
		out = append(out, fmt.Sprintf("Phrases of %s and more hold: %d of the last %d.", counted(m.Size, "note"), m.Share.Hits, m.Share.Trials))
	}
	if m := p.Leap; m.Size > 0 {
		out = append(out, fmt.Sprintf("Phrases with leaps of %s and more hold: %d of the last %d.", semitones(m.Size), m.Share.Hits, m.Share.Trials))
	}
	return out
}

// settlingWords say whether the second take settles; "" where too few rounds have two takes.
func (p Progress) settlingWords() string {
	s := p.Settling
	if s.SamePhrase.Trials < Least {
		return ""
	}
	if s.SamePhrase.High < aim {
		return fmt.Sprintf("In %d of %d rounds the second take was another phrase than the first (%s were the same).",
			s.SamePhrase.Trials-s.SamePhrase.Hits, s.SamePhrase.Trials, shareWords(s.SamePhrase))
	}
	centre, spread := s.CentreChangeCents, s.SpreadChangeCents
	if centre.N < Least {
		return ""
	}
	return fmt.Sprintf("From the first take to the second, the distance from the centre %s (median %+.1f cents) and the spread %s (median %+.1f cents).",
		changes(centre.Median), centre.Median, changes(spread.Median), spread.Median)
}

// heard is the change in cents below which nobody hears one (trained listeners tell 2 to 3 cents apart in laboratories,
// from memory).
const heard = 3.0

func changes(cents float64) string {
	switch {
	case cents <= -heard:
		return "falls"
	case cents >= heard:
		return "rises"
	}
	return "stays"
}

// shareWords write a share with its interval: "82 %, likely 70 to 90 %".
func shareWords(s Share) string {
	return fmt.Sprintf("%.0f %%, likely %.0f to %.0f %%", 100*s.Value, 100*s.Low, 100*s.High)
}

// counted is "1 note", "5 notes".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func were(n int, noun string) string {
	if n == 1 {
		return "is 1 " + noun
	}
	return "are " + counted(n, noun)
}

// semitones names a size of leap.
func semitones(n int) string { return counted(n, "semitone") }
