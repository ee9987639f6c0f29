package reportpage

import (
	"encoding/base64"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"

	"larkhand/hunt"
	"larkhand/internal/notation"
	"larkhand/internal/progress"
	"larkhand/internal/report"
	"larkhand/internal/stats"
	"larkhand/match"
)

// pageView is what the templates read.
type pageView struct {
	Report
	Title   string
	Style   template.CSS
	Persons []personView
	Whole   []roundView
	Notes   []string // on what is not in the page
}

func view(r Report) pageView {
	v := pageView{Report: r, Title: title(r), Style: template.CSS(report.PageStyle()), Notes: append([]string{}, r.Remarks...)}
	for i, p := range r.Players {
		v.Persons = append(v.Persons, person(p, fmt.Sprintf("player%d", i+1), len(r.Players) > 1))
	}
	if r.More > 0 {
		v.Notes = append(v.Notes, fmt.Sprintf("%s of these rounds whose progress is not shown here; --player NAME makes a report of one.", thereAre(r.More, "more player")))
	}
	room, silent := MostSound, 0
	for _, one := range r.Rounds {
		rv := whole(one, &room)
		if rv.Silent {
			silent++
		}
		v.Whole = append(v.Whole, rv)
	}
	if silent > 0 {
		v.Notes = append(v.Notes, fmt.Sprintf("The sound of %s is left out, since the page would be larger than a browser opens with ease; a report of fewer rounds has it.", counted(silent, "round")))
	}
	if len(r.Rows) < r.Total {
		v.Notes = append(v.Notes, fmt.Sprintf("The list has the newest %d of %d rounds.", len(r.Rows), r.Total))
	}
	return v
}

func title(r Report) string {
	if len(r.Players) == 1 && r.More == 0 {
		if name := r.Players[0].Player; name != "" {
			return "The rounds of " + name
		}
	}
	return "Rounds"
}

// personView is the progress of one player.
type personView struct {
	ID, Heading string
	Name        string
	Progress    progress.Progress
	Facts       []fact
	Next        string
	Pictures    []template.HTML
	Points      []pointView
	Tables      []tableView
	Links       []linkView
	LinkNamed   bool     // one of them fails more than the others
	Faults      []string // where they fail
}

// fact is a number to be seen first.
type fact struct{ Name, Value, Note string }

func person(v report.ProgressView, id string, several bool) personView {
	p := personView{ID: id, Heading: "Over time", Name: v.Player, Progress: v.Progress, Facts: facts(v.Progress), Next: report.NextWords(v.Progress.Next)}
	if several {
		p.Heading = nameOr(v.Player)
	}
	for _, picture := range report.ProgressPictures(v.Progress, id) {
		p.Pictures = append(p.Pictures, template.HTML(picture.Markup))
	}
	for _, point := range v.Progress.Points {
		p.Points = append(p.Points, pointView{
			From: point.From.Format(dayLayout), Answers: point.Answers, Known: percent(point.Known), KnownLikely: likely(point.Known), First: percent(point.FirstTouch),
			Response: quartiles(point.Response, 1), Centre: medians(point.Takes, func(q progress.TakeQuality) stats.Spread { return q.CentreCents }),
			Spread: medians(point.Takes, func(q progress.TakeQuality) stats.Spread { return q.SpreadCents }),
		})
	}
	for _, t := range v.Progress.Tables {
		if len(t.Cells) > 0 {
			p.Tables = append(p.Tables, tableOf(t, v.Progress.Enough))
		}
	}
	for _, l := range v.Progress.Links {
		p.Links = append(p.Links, linkOf(l))
		p.LinkNamed = p.LinkNamed || l.Named
	}
	for _, f := range progress.NamedFaults(v.Progress.Links) {
		p.Faults = append(p.Faults, report.FaultWords(f))
	}
	return p
}

// linkView is a link between voice and fingers: how often it failed, and by degree, interval and key, where it ever did.
type linkView struct {
	cellView
	Others string
	Tables []tableView
}

func linkOf(l progress.Link) linkView {
	v := linkView{cellView: cellView{Name: string(l.Name), Share: percent(l.Failed), Likely: likely(l.Failed), Hits: l.Failed.Hits, Rounds: l.Failed.Trials, Named: l.Named,
		Bar: bar(l.Failed, l.Named)}, Others: percent(l.Others)}
	for _, t := range l.Tables {
		if l.Failed.Hits > 0 && len(t.Cells) > 0 {
			v.Tables = append(v.Tables, tableOf(t, true))
		}
	}
	return v
}

func nameOr(name string) string {
	if name == "" {
		return "A player without a name"
	}
	return name
}

// facts are the numbers at the head of a player. Shares of few answers are told as counts alone.
func facts(g progress.Progress) []fact {
	list := []fact{{"rounds", strconv.Itoa(g.Rounds), "in " + counted(g.Sessions, "session")}}
	if g.Known.Trials > 0 {
		f := fact{"known answers", fmt.Sprintf("%d of %d", g.Known.Hits, g.Known.Trials), ""}
		if g.Enough {
			f = fact{f.Name, percent(g.Known), "likely " + likely(g.Known)}
		}
		list = append(list, f)
	}
	if g.FirstTouch.Trials > 0 && g.Enough {
		list = append(list, fact{"notes at first touch", percent(g.FirstTouch), "likely " + likely(g.FirstTouch)})
	}
	if g.Response.N > 0 && g.Enough {
		list = append(list, fact{"response time", fmt.Sprintf("%.1f s", g.Response.Median), fmt.Sprintf("middle half %.1f to %.1f s", g.Response.Lower, g.Response.Upper)})
	}
	if g.LongestHeld > 0 {
		list = append(list, fact{"longest phrase that held", counted(g.LongestHeld, "note"), ""})
	}
	return list
}

// pointView is a row of the table over time.
type pointView struct {
	From                                                string
	Answers                                             int
	Known, KnownLikely, First, Response, Centre, Spread string
}

// tableView is where the trouble is, by one dimension.
type tableView struct {
	Dimension progress.Dimension
	Cells     []cellView
	Named     bool // one of them stands out
	Mostly    bool // anything to say in the last column
}

type cellView struct {
	Name, Share, Likely, Mostly string
	Hits, Rounds                int
	Named                       bool
	Bar                         template.HTML
}

func tableOf(t progress.Table, enough bool) tableView {
	v := tableView{Dimension: t.Dimension}
	for _, c := range t.Cells {
		cell := cellView{Name: c.Name, Share: percent(c.Rounds), Likely: likely(c.Rounds), Hits: c.Rounds.Hits, Rounds: c.Rounds.Trials, Named: enough && c.Named,
			Mostly: mostly(c), Bar: bar(c.Rounds, enough && c.Named)}
		v.Named = v.Named || cell.Named
		v.Mostly = v.Mostly || cell.Mostly != ""
		v.Cells = append(v.Cells, cell)
	}
	return v
}

// mostly names what the trouble is most often; "" where there is none, or where it is a link's.
func mostly(c progress.Cell) string {
	switch kind := c.MainKind(); {
	case c.Notes.Hits == 0:
		return ""
	case kind == hunt.Kind(""):
		return "wrong"
	default:
		return string(kind)
	}
}

// bar draws a share as a bar with its interval as a line; the numbers stand beside it.
func bar(s progress.Share, look bool) template.HTML {
	if s.Trials == 0 {
		return ""
	}
	colour, line := "var(--bar)", "var(--same)"
	if look {
		colour, line = "var(--bar-look)", "var(--look)"
	}
	const scale = 100
	return template.HTML(fmt.Sprintf(`<svg class="measure" viewBox="0 0 100 12" preserveAspectRatio="none" aria-hidden="true"><rect x="0" y="1" width="100" height="10" fill="none" stroke="var(--rule)" stroke-width=".6"/><rect x="0" y="1" width="%.1f" height="10" style="fill:%s"/><path d="M%.1f 6H%.1f" style="stroke:%s;stroke-width:2"/></svg>`,
		scale*s.Value, colour, scale*s.Low, scale*s.High, line))
}

// soundView is a sound to be played.
type soundView struct {
	Name    string
	Source  template.URL // data URI
	Line    string       // class of the line in the picture that moves with it; "" for none
	Zero    float64
	Scale   float64
	Picture string
}

// scoreView is a tune to be drawn.
type scoreView struct{ Name, ABC, Words string }

// roundView is a round that is shown whole.
type roundView struct {
	Round
	ID       string
	Who      string
	Told     report.Told
	Picture  template.HTML
	Wide     bool // wider than the page
	Sounds   []soundView
	Silent   bool // its sound is left out for want of room
	Scores   []scoreView
	HasChord bool
	NoLoop   bool
}

func whole(r Round, room *int) roundView {
	id := fmt.Sprintf("round%d", r.Number)
	picture := report.RoundPicture(r.Judged, id+"-picture")
	v := roundView{Round: r, ID: id, Who: who(r.Row), Told: report.Tell(r.Judged), Picture: template.HTML(picture.Markup), NoLoop: r.Judged.Loop == nil}
	need := len(r.Answer.Data)
	for _, take := range r.Takes {
		need += len(take.Data)
	}
	switch {
	case need > *room:
		v.Silent = true
	default:
		*room -= need
		v.Sounds = sounds(r, id+"-picture", picture)
	}
	for _, n := range v.Told.Notes {
		v.HasChord = v.HasChord || n.Chord != ""
	}
	v.Scores = scores(r, v.Told)
	return v
}

// sounds are what there is to listen to.
func sounds(r Round, id string, p report.Picture) []soundView {
	var list []soundView
	for i, take := range r.Takes {
		if len(take.Data) == 0 {
			continue
		}
		s := soundView{Name: fmt.Sprintf("Take %d", i+1), Source: source(take)}
		if i == len(r.Takes)-1 {
			s.Line, s.Zero, s.Scale, s.Picture = "sung", p.Zero, p.Scale, id
		}
		list = append(list, s)
	}
	if len(r.Answer.Data) > 0 {
		list = append(list, soundView{Name: "Answer", Source: source(r.Answer), Line: "played", Zero: p.PlayedZero, Scale: p.Scale, Picture: id})
	}
	return list
}

func source(s Sound) template.URL {
	return template.URL("data:audio/flac;base64," + base64.StdEncoding.EncodeToString(s.Data))
}

// scores write the phrase, with degrees and letters under it, and the answer, with letters and what became of its notes.
func scores(r Round, told report.Told) []scoreView {
	judged := r.Judged
	phrase, answer := notation.Score{Key: judged.Key}, notation.Score{Key: judged.Key}
	if judged.Loop != nil {
		phrase.Chart = &judged.Loop.Chart
	}
	var degrees, letters []string
	for _, n := range judged.Phrase {
		degrees = append(degrees, judged.Key.Degree(n.Semitone, judged.Numbering))
		letters = append(letters, judged.Key.Letter(n.Semitone).Letter)
	}
	phrase.Under = [][]string{degrees, letters}
	played := make([]string, len(judged.Answer.Notes))
	above := make([]string, len(judged.Answer.Notes))
	for i, n := range judged.Answer.Notes {
		played[i] = judged.Key.Letter(int(math.Round(n.Pitch))).Letter
	}
	for i, pair := range judged.Alignment.Pairs {
		if pair.Played == match.None {
			continue
		}
		words := strings.ReplaceAll(told.Notes[i].Marks, " ", ", ")
		if pair.Verdict == match.Different || pair.Verdict == match.Added {
			words = strings.TrimSpace(string(pair.Verdict) + " " + words)
		}
		above[pair.Played] = words
	}
	answer.Above, answer.Under = above, [][]string{played}
	return []scoreView{
		{"The phrase, as sung", notation.Phrase(judged).ABC(phrase), fmt.Sprintf("Notation of the phrase: degrees %s; letters %s.", strings.Join(degrees, " "), strings.Join(letters, " "))},
		{"The answer, as played", notation.Answer(judged).ABC(answer), fmt.Sprintf("Notation of the answer: letters %s.", strings.Join(played, " "))},
	}
}

// who names the players of a round; "" for nobody.
func who(r Row) string {
	switch {
	case r.Sang == "" && r.Played == "":
		return ""
	case r.Sang == r.Played:
		return r.Sang + " sang and played"
	case r.Sang == "":
		return r.Played + " played"
	case r.Played == "":
		return r.Sang + " sang"
	}
	return r.Sang + " sang, " + r.Played + " played"
}

// Who is for the list: "Anna", or "Anna, Ben" where Anna sang and Ben played.
func (r Row) Who() string {
	switch {
	case r.Sang == r.Played:
		return r.Sang
	case r.Sang == "" || r.Played == "":
		return r.Sang + r.Played
	}
	return r.Sang + ", " + r.Played
}

// ResponseWords is the response time; "" where not known.
func (r Row) ResponseWords() string {
	if r.Response == nil {
		return ""
	}
	return fmt.Sprintf("%.1f s", *r.Response)
}

// HasWhole says whether the round is shown whole further down.
func (v pageView) HasWhole(number int64) bool {
	for _, r := range v.Whole {
		if r.Number == number {
			return true
		}
	}
	return false
}

func percent(s progress.Share) string {
	if s.Trials == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f %%", 100*s.Value)
}

// likely is the interval of a share.
func likely(s progress.Share) string {
	if s.Trials == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f to %.0f %%", 100*s.Low, 100*s.High)
}

func quartiles(s stats.Spread, digits int) string {
	if s.N == 0 {
		return ""
	}
	return fmt.Sprintf("%.*f (%.*f to %.*f)", digits, s.Median, digits, s.Lower, digits, s.Upper)
}

func medians(takes [2]progress.TakeQuality, of func(progress.TakeQuality) stats.Spread) string {
	text := func(s stats.Spread) string {
		if s.N == 0 {
			return "–"
		}
		return fmt.Sprintf("%.0f", s.Median)
	}
	first, second := text(of(takes[0])), text(of(takes[1]))
	if first == "–" && second == "–" {
		return ""
	}
	return first + ", " + second
}

// counted is "1 note", "5 notes".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func thereAre(n int, noun string) string {
	if n == 1 {
		return "There is 1 " + noun
	}
	return "There are " + counted(n, noun)
}

// Days are the days of the list, where it is whole.
func (v pageView) Days() string {
	if len(v.Rows) == 0 || len(v.Rows) < v.Total {
		return ""
	}
	first, last := v.Rows[len(v.Rows)-1].At.Format(dayLayout), v.Rows[0].At.Format(dayLayout)
	if first == last {
		return first
	}
	return first + " to " + last
}
