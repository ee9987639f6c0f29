package progress

import (
	"fmt"
	"math"
	"strings"

	"larkhand/hunt"
)

// sentences says what can be said, the most important first.
func (p Progress) sentences() []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if !p.Enough {
		pieces := ""
		if p.Pieces > 0 {
			pieces = " not in pieces"
		}
		add("There %s%s so far; below %d nothing is claimed, since a few rounds can look like anything.", were(p.Answers-p.Pieces, "answer"), pieces, Least)
	} else {
		out = append(out, p.claims()...)
	}
	out = append(out, p.LinkSentences()...)
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
	troubles := Named(p.Tables)
	for _, t := range troubles[:min(len(troubles), mostTroubles)] {
		out = append(out, t.words())
	}
	return append(out, p.masteredWords()...)
}

// mostTroubles is how many sentences there are on troubles, and on links; the tables have them all.
const mostTroubles = 4

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
func (t Trouble) place() string { return capitalised(placeWords(t.Dimension, t.Name)) }

// placeWords are a place inside a sentence: "at degree 6", "after a fifth up", "in Ab major".
func placeWords(d Dimension, name string) string {
	switch d {
	case ByDegree:
		return "at degree " + name
	case ByInterval:
		return "after " + name
	case ByKey:
		return "in " + name
	}
	return "at " + name
}

func capitalised(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// The is the link inside a sentence: "the voice", "ear to numbers".
func (l LinkName) The() string {
	if l == FromVoice {
		return "the voice"
	}
	return string(l)
}

// LinkSentences say which link fails and where; none where no steps were written down.
func (p Progress) LinkSentences() []string {
	if p.Steps == 0 {
		return nil
	}
	if p.Steps < Least {
		return []string{fmt.Sprintf("Steps were written down in %s so far; below %d nothing is claimed of the links between voice and fingers.", counted(p.Steps, "round"), Least)}
	}
	var out []string
	for _, l := range Weakest(p.Links) {
		if !l.Named {
			continue
		}
		begin := fmt.Sprintf("Of the links between voice and fingers, %s fails most", l.Name.The())
		if len(out) > 0 {
			begin = capitalised(l.Name.The()) + " fails often too"
		}
		out = append(out, fmt.Sprintf("%s: in %d of %s (%s); the others in %.0f %%.", begin, l.Failed.Hits, counted(l.Failed.Trials, "round"), shareWords(l.Failed), 100*l.Others.Value))
	}
	said := map[LinkName]bool{}
	faults := NamedFaults(p.Links)
	for _, f := range faults[:min(len(faults), mostTroubles)] {
		out = append(out, f.words(said[f.Link]))
		said[f.Link] = true
	}
	if len(out) == 0 {
		out = append(out, fmt.Sprintf("No link between voice and fingers stands out in %s with written steps.", counted(p.Steps, "round")))
	}
	return out
}

// words say where a link fails; also is true where another place of it was told before.
func (f Fault) words(also bool) string {
	verb := "fails most "
	if also {
		verb = "also fails "
	}
	return fmt.Sprintf("%s %s%s: %d of %s (%s); elsewhere in %.0f %%.", capitalised(f.Link.The()), verb, f.Place(),
		f.Rounds.Hits, counted(f.Rounds.Trials, "round"), shareWords(f.Rounds), 100*f.Others.Value)
}

// Place is where the link fails: "at degree 6", "after a fifth up", "in Gb major".
func (f Fault) Place() string { return placeWords(f.Dimension, f.Name) }

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
	for _, link := range LinkNames {
		if t.Quantity == FailureOf(link) {
			return fmt.Sprintf("The share of rounds in which %s fails %s by %.0f points in four weeks.", link.The(), moves(t.PerMonth), 100*math.Abs(t.PerMonth))
		}
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
	if s.SamePhrase.High < sameFrom {
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

// sameFrom is the share of second takes that should be the phrase of the first. Own: one in seven may be given up or changed.
const sameFrom = 0.85

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
