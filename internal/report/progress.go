package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"larkhand/hunt"
	"larkhand/internal/progress"
	"larkhand/internal/stats"
)

// ProgressView is what a player's rounds show.
type ProgressView struct {
	Player   string // may be empty
	Progress progress.Progress
}

// Text writes what a person reads: the sentences, what to sing next, how it went over time, and where the trouble is. No line is
// longer than 80 characters. With colour, ANSI escape sequences pick out headings and what stands out.
func (v ProgressView) Text(w io.Writer, colour bool) error {
	p := &page{paint: painter(colour)}
	p.sentence(p.paint.strong, v.title())
	p.blank()
	for _, text := range v.Progress.Sentences {
		p.item("  -", text)
	}
	p.blank()
	p.proposal(v.Progress.Next)
	p.overTime(v.Progress)
	for _, table := range v.Progress.Tables {
		p.trouble(table)
	}
	p.links(v.Progress.Links)
	_, err := io.WriteString(w, p.String())
	return err
}

// dayLayout is how a day is written, and reads back in --since.
const dayLayout = "2006-01-02"

func (v ProgressView) title() string {
	name := v.Player
	if name == "" {
		name = "A player without a name"
	}
	g := v.Progress
	if g.Rounds == 0 {
		return name + ": no rounds"
	}
	return fmt.Sprintf("%s: %s in %s, %s", name, counted(g.Rounds, "round"), counted(g.Sessions, "session"), days(g.From, g.To))
}

// days is a stretch of time.
func days(from, to time.Time) string {
	a, b := from.Format(dayLayout), to.Format(dayLayout)
	if a == b {
		return a
	}
	return a + " to " + b
}

// proposal writes what to sing next; the reasons stand among the sentences.
func (p *page) proposal(next progress.Proposal) {
	p.line(p.paint.strong("Sing next"))
	p.item("  -", NextWords(next))
	p.blank()
}

// NextWords is what to sing next, in one line.
func NextWords(next progress.Proposal) string {
	parts := []string{next.Name}
	if next.Direction != progress.Unknown {
		const hundred = 100
		parts[0] += fmt.Sprintf(" (about %.0f in %d such answers known)", hundred*next.Chance, hundred)
	}
	if len(next.Keys) > 0 {
		parts = append(parts, "in "+strings.Join(next.Keys, ", "))
	}
	if !math.IsNaN(next.Tempo) {
		parts = append(parts, fixed(next.Tempo, 0, "")+" quarter notes a minute")
	}
	return strings.Join(parts, "; ")
}

// mostLines is how many sessions, weeks or months the table over time has at most: half a year of weeks. Own: more are not read as a
// table; the page and the picture draw all.
const mostLines = 26

// overTime writes a line for each of the newest sessions, weeks or months.
func (p *page) overTime(g progress.Progress) {
	if len(g.Points) == 0 {
		return
	}
	newest := g.Points[max(0, len(g.Points)-mostLines):]
	p.line(p.paint.strong("Over time, a line a " + string(g.Grain)))
	const layout = "%-10s  %7s  %5s  %8s  %-19s  %-9s  %s"
	p.line(fmt.Sprintf(layout, "", "", "", "at first", "", "centre of", "spread of"))
	p.line(fmt.Sprintf(layout, "from", "answers", "known", "touch", "response", "take 1, 2", "take 1, 2"))
	for _, point := range newest {
		p.line(fmt.Sprintf(layout, point.From.Format(dayLayout), strconv.Itoa(point.Answers), percent(point.Known), percent(point.FirstTouch),
			seconds(point.Response), both(point.Takes, func(q progress.TakeQuality) stats.Spread { return q.CentreCents }),
			both(point.Takes, func(q progress.TakeQuality) stats.Spread { return q.SpreadCents })))
	}
	if len(newest) < len(g.Points) {
		p.item(" ", fmt.Sprintf("These are the newest %d of %s; \"larkhand report\" draws all.", mostLines, counted(len(g.Points), string(g.Grain))))
	}
	p.item(" ", "Known leaves out answers that cannot be told. Response is the median in seconds, then the quartiles. Centre and spread are medians in cents.")
	p.blank()
}

// percent writes a share, "-" where nothing was tried.
func percent(s progress.Share) string {
	if s.Trials == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f %%", 100*s.Value)
}

// seconds writes a median and its quartiles.
func seconds(s stats.Spread) string {
	if s.N == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f (%.1f to %.1f)", s.Median, s.Lower, s.Upper)
}

// both writes a median of take 1 and of take 2.
func both(takes [2]progress.TakeQuality, of func(progress.TakeQuality) stats.Spread) string {
	return fixed(of(takes[0]).Median, 0, "-") + ", " + fixed(of(takes[1]).Median, 0, "-")
}

// trouble writes where the trouble is by one dimension.
func (p *page) trouble(t progress.Table) {
	if len(t.Cells) == 0 {
		return
	}
	width := len("interval")
	for _, c := range t.Cells {
		width = max(width, utf8.RuneCountInString(c.Name))
	}
	p.line(p.paint.strong("Trouble by " + string(t.Dimension)))
	const layout = "%s %-*s  %6s  %7s  %-11s  %6s  %s"
	p.line(fmt.Sprintf(layout, " ", width, t.Dimension, "rounds", "trouble", "likely", "others", "mostly"))
	starred := false
	for _, c := range t.Cells {
		star, paint := " ", plain
		if c.Named {
			star, paint, starred = "*", p.paint.look, true
		}
		p.line(paint(strings.TrimRight(fmt.Sprintf(layout, star, width, c.Name, strconv.Itoa(c.Rounds.Trials), percent(c.Rounds), likely(c.Rounds), percent(c.Others), mostly(c)), " ")))
	}
	if starred {
		p.line("* stands out: chance does not explain the difference to the others.")
	}
	p.blank()
}

// links writes which link between voice and fingers failed how often, and where it stands out.
func (p *page) links(list []progress.Link) {
	if len(list) == 0 {
		return
	}
	p.line(p.paint.strong("Links between voice and fingers"))
	const layout = "%s %-18s  %6s  %6s  %-11s  %6s"
	p.line(fmt.Sprintf(layout, " ", "link", "rounds", "failed", "likely", "others"))
	starred := false
	for _, l := range list {
		star, paint := " ", plain
		if l.Named {
			star, paint, starred = "*", p.paint.look, true
		}
		p.line(paint(fmt.Sprintf(layout, star, l.Name, strconv.Itoa(l.Failed.Trials), percent(l.Failed), likely(l.Failed), percent(l.Others))))
	}
	if starred {
		p.line("* fails more than the others: chance does not explain the difference.")
	}
	for _, f := range progress.NamedFaults(list) {
		p.item("  -", FaultWords(f))
	}
	p.blank()
}

// FaultWords say where a link fails, in one line.
func FaultWords(f progress.Fault) string {
	return fmt.Sprintf("%s %s: failed in %d of %s (likely %s); elsewhere in %s", f.Link, f.Place(), f.Rounds.Hits, counted(f.Rounds.Trials, "round"), likely(f.Rounds), percent(f.Others))
}

// likely is the interval of a share.
func likely(s progress.Share) string {
	if s.Trials == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f to %.0f %%", 100*s.Low, 100*s.High)
}

// mostly names what the trouble is most often.
func mostly(c progress.Cell) string {
	switch kind := c.MainKind(); {
	case c.Rounds.Hits == 0:
		return "-"
	case kind == hunt.Kind(""):
		return "wrong" // or left out
	default:
		return string(kind)
	}
}
