package steps

import (
	"fmt"
	"strings"

	"larkhand/hunt"
	"larkhand/internal/entry"
	"larkhand/internal/music"
	"larkhand/match"
)

// sentences are Result.Sentences. Notes are spelled by the round's key and numbering.
func (r Result) sentences(in Input) []string {
	w := words{entry.Reader{Key: in.Key, Numbering: in.Numbering}, in.Agreement, r.Finding}
	if len(r.Weak) == 0 {
		return []string{r.allHeld()}
	}
	var out []string
	for _, l := range r.Links {
		if l.Failed {
			out = append(out, w.sentence(l))
		}
	}
	if len(r.Weak) > 1 {
		out = append(out, fmt.Sprintf("That is more than one link: begin with the %s.", firstName[r.Weak[0]]))
	}
	return out
}

var firstName = map[Name]string{Voice: "voice", Ear: "ear", Names: "letters", Fingers: "fingers"}

// allHeld says how far the phrase came through.
func (r Result) allHeld() string {
	var steps []string
	for _, l := range r.Links[1:] {
		if l.To != Played {
			steps = append(steps, l.To.String())
		}
	}
	if len(steps) == 0 {
		return "The phrase came from the voice to the fingers as it was sung."
	}
	return fmt.Sprintf("No weak link: the phrase came through %s to the fingers as it was sung.", strings.Join(steps, " and "))
}

// String is the stage in one word.
func (s Stage) String() string {
	return [...]string{"voice", "numbers", "letters", "fingers"}[s]
}

// words spells mistakes.
type words struct {
	reader    entry.Reader
	agreement *match.Agreement
	finding   hunt.Finding
}

// most is how many mistakes of one link a sentence names.
const most = 3

func (w words) sentence(l Link) string {
	switch {
	case l.Name == Voice && (len(l.Mistakes) == 0 || !w.agreement.SamePhrase):
		return w.unsettled()
	case l.Shift != 0:
		return w.shifted(l)
	case len(l.Mistakes) == 0: // searched
		return fmt.Sprintf("Weak link, %s: %s right, but the fingers searched.%s", l.linkWords(), l.were(), w.evidence())
	}
	named := l.Mistakes[:min(most, len(l.Mistakes))]
	parts := make([]string, len(named))
	for i, m := range named {
		parts[i] = w.mistake(l, m)
	}
	more := ""
	if n := len(l.Mistakes) - len(named); n > 0 {
		more = fmt.Sprintf(", and %d more", n)
	}
	return fmt.Sprintf("Weak link, %s: %s%s.", l.linkWords(), strings.Join(parts, "; "), more)
}

// linkWords names a link by the stages that there were.
func (l Link) linkWords() string {
	switch {
	case l.Name == Voice:
		return "the voice"
	case l.From == Sung && l.To != Played:
		return "from the ear to the " + l.To.String()
	case l.From == Sung:
		return "from the ear to the fingers"
	}
	return fmt.Sprintf("from the %s to the %s", l.From, l.To)
}

// were begins the sentence on an answer that was searched for.
func (l Link) were() string {
	if l.From == Sung {
		return "the phrase was played"
	}
	return "the " + l.From.String() + " were"
}

func (w words) unsettled() string {
	if a := w.agreement; a != nil && !a.SamePhrase {
		return "Weak link, the voice: take 2 is another phrase than take 1; the rest is judged by take 2."
	}
	return "Weak link, the voice: much of the phrase lies between two keys or is not clear, so it was not settled before it was played."
}

func (w words) shifted(l Link) string {
	return fmt.Sprintf("Weak link, %s: the shape is right, but all of it lies %s.", l.linkWords(), music.Distance(l.Shift))
}

// evidence is the strongest sentence on searching.
func (w words) evidence() string {
	best, text := 0.0, ""
	for _, e := range w.finding.Evidence {
		if e.Weight > best {
			best, text = e.Weight, " "+e.Text
		}
	}
	return text
}

// mistake says one mistake: "note 3 was b3, noted as 4".
func (w words) mistake(l Link, m Mistake) string {
	where := "a note"
	if m.Place != None {
		where = fmt.Sprintf("note %d", m.Place+1)
	}
	wanted, given := w.name(l.From, m.Wanted), w.name(l.To, m.Given)
	switch {
	case l.Name == Voice && m.Given == Nothing:
		return fmt.Sprintf("%s was sung in take 1 and not in take 2", wanted)
	case l.Name == Voice && m.Wanted == Nothing:
		return fmt.Sprintf("%s was sung in take 2 and not in take 1", given)
	case l.Name == Voice:
		return fmt.Sprintf("%s was %s in take 1 and %s in take 2", where, wanted, given)
	}
	verb := map[Stage]string{Numbers: "counted as", Letters: "named", Played: "played as"}[l.To]
	switch {
	case m.Given == Nothing:
		return fmt.Sprintf("%s, %s, was left out", where, wanted)
	case m.Wanted == Nothing:
		return fmt.Sprintf("%s was added, %s", where, given)
	case l.From == Numbers && l.To == Letters:
		return fmt.Sprintf("%s is %s, named %s", wanted, w.reader.Name(entry.Letters, m.Wanted), given)
	}
	return fmt.Sprintf("%s was %s, %s %s", where, wanted, verb, given)
}

// name spells a pitch class as a stage has it: numbers where numbers are, letters elsewhere.
func (w words) name(s Stage, class int) string {
	if class == Nothing {
		return ""
	}
	if s == Numbers || s == Sung {
		return w.reader.Name(entry.Numbers, class)
	}
	return w.reader.Name(entry.Letters, class)
}
