package class

import (
	"fmt"
	"math"

	"larkhand/hunt"
	"larkhand/internal/progress"
)

// Sentences say in plain words what can be said of a player, the most important first.
func (l Line) Sentences() []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if !l.Enough {
		pieces := ""
		if l.Pieces > 0 {
			pieces = " not in pieces"
		}
		add("%s%s so far; below %d nothing is claimed, since a few rounds can look like anything.", counted(l.Answers-l.Pieces, "answer"), pieces, progress.Least)
	} else {
		if l.Known.Trials > 0 {
			add("%d of the %d answers that can be told were known (%s).", l.Known.Hits, l.Known.Trials, shareWords(l.Known))
		}
		for _, h := range l.Habits {
			out = append(out, h.Sentence())
		}
		if len(l.Habits) == 0 {
			add("No habit stands out from chance.")
		}
		if l.Response.N >= progress.Least {
			add("The answer begins after %.1f s (median; the middle half from %.1f to %.1f s).", l.Response.Median, l.Response.Lower, l.Response.Upper)
		}
		for _, t := range l.Trends {
			out = append(out, trendSentence(t))
		}
	}
	out = append(out, l.links...)
	if text := l.Settling.sentence(); text != "" {
		out = append(out, text)
	}
	return out
}

// habitWords begin the sentence on a habit: what is done, and the word before the place.
var habitWords = map[hunt.Kind][2]string{
	hunt.Correction: {"Presses another key first and corrects it", " before "},
	hunt.Creep:      {"Creeps to the note key by key", " before "},
	hunt.Hesitation: {"Waits", " before "},
	hunt.Restart:    {"Goes back and plays a part again", " at "},
	hunt.Touch:      {"Touches a neighbouring key softly", " before "},
}

// shortWords name a habit in a table.
var shortWords = map[hunt.Kind]string{
	hunt.Correction: "corrects",
	hunt.Creep:      "creeps",
	hunt.Hesitation: "waits",
	hunt.Restart:    "restarts",
	hunt.Touch:      "touches",
}

// Sentence says a habit with its numbers.
func (h Habit) Sentence() string {
	words := habitWords[h.Kind]
	if h.By == "" {
		where := ""
		if words[1] == " before " && h.Kind != hunt.Creep {
			where = " before notes of all kinds"
		}
		return fmt.Sprintf("%s%s, in %d of %d answers (%s).", words[0], where, h.Share.Hits, h.Share.Trials, shareWords(h.Share))
	}
	return fmt.Sprintf("%s%s%s: in %d of the %d rounds that have it (%s), elsewhere in %.0f %%.",
		words[0], words[1], h.placeWords(), h.Share.Hits, h.Share.Trials, shareWords(h.Share), 100*h.Others.Value)
}

// placeWords name the place after "before" and "at".
func (h Habit) placeWords() string {
	if h.By == progress.ByInterval {
		return "the end of " + h.Place
	}
	return h.Place
}

// Short is a habit in a table: "waits: degree 6".
func (h Habit) Short() string {
	if h.By == "" {
		return shortWords[h.Kind]
	}
	return shortWords[h.Kind] + ": " + h.Place
}

func (s Settling) sentence() string {
	from, to := s.Spread[0].Median, s.Spread[1].Median
	spread := fmt.Sprintf("the spread goes from %.0f to %.0f cents (medians), and %d of %d second takes are steadier (%s)",
		from, to, s.Steadier.Hits, s.Steadier.Trials, shareWords(s.Steadier))
	switch s.State {
	case Steadier:
		return "The second take settles: " + spread + "."
	case Looser:
		return "The second take does not settle but loosens: " + spread + "."
	case NotTold:
		return "The second take does not settle as far as can be told: " + spread + "."
	}
	if s.Takes > 0 {
		return fmt.Sprintf("%s of two sung takes so far; whether the second one settles is not claimed below %d.", counted(s.Takes, "round"), progress.Least)
	}
	return ""
}

// trendSentence says how a quantity moves in four weeks.
func trendSentence(t progress.Trend) string {
	way := "rises"
	if t.PerMonth < 0 {
		way = "falls"
	}
	size := math.Abs(t.PerMonth)
	switch t.Quantity {
	case progress.KnownAnswers:
		return fmt.Sprintf("The share of known answers %s by %.0f points in four weeks.", way, 100*size)
	case progress.FirstTouches:
		return fmt.Sprintf("The share of notes right at first touch %s by %.0f points in four weeks.", way, 100*size)
	case progress.ResponseTime:
		return fmt.Sprintf("The response time %s by %.2f s in four weeks.", way, size)
	case progress.CentreOfTake2:
		return fmt.Sprintf("The distance of second takes from the centre %s by %.1f cents in four weeks.", way, size)
	}
	return fmt.Sprintf("The spread of second takes %s by %.1f cents in four weeks.", way, size)
}

// shareWords is "75 %, 68 to 80".
func shareWords(s progress.Share) string {
	return fmt.Sprintf("%.0f %%, 95 %% interval %.0f to %.0f", 100*s.Value, 100*s.Low, 100*s.High)
}

// counted writes a number with its noun: "1 answer", "3 answers".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
