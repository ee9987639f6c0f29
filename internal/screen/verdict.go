package screen

import (
	"fmt"
	"io"
	"math"
	"strings"

	"larkhand/internal/practice"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
	"larkhand/match"
)

// reportWidth is the width of the report that `larkhand check` prints, columns.
const reportWidth = 80

// verdictBeside is the width from which the keys at hand stand beside the report, columns.
const verdictBeside = reportWidth + 2 + panelWidth

// viewVerdict draws what became of a round.
func (m *model) viewVerdict() string {
	s := m.live.latest
	r := s.Result
	head := []string{m.facts(s.View)}
	for _, line := range big(headline(r), m.width, (glyphRows+1)/2) {
		head = append(head, m.styles.Strong.Render(line))
	}
	if who := whose(r); who != "" {
		head = append(head, draw.Clip(who, m.width))
	}
	head = append(head, responseLines(r, m.width)...)
	if s.View.Misheard {
		for _, line := range draw.Wrap(misheardText, m.width) {
			head = append(head, m.styles.Strong.Render(line))
		}
	}
	foot := m.foot()
	if m.live.over {
		foot[len(foot)-1] = m.styles.Quiet.Render(draw.Clip(m.overKeys(), m.width))
	}
	if foot[0] == "" {
		kept := draw.Wrap(keptLine(r, m.cfg.Kept), m.width)
		foot = append(cut(kept, mostWarningLines), foot[1:]...)
	}
	foot = append(m.planned(m.width), foot...)
	room := m.height - len(head) - len(foot)
	if take := m.pictured(s.View); take > 0 {
		return draw.Page(append(head, m.picture(s.View, take, false, m.width, room)...), foot, m.width, m.height)
	}
	if m.live.keysAtVerdict && m.width < verdictBeside {
		return draw.Page(append(head, m.keysPanel(s.View, m.width, room)...), foot, m.width, m.height)
	}
	lines := m.verdictLines(r)
	if p := s.Plan; p != nil && len(p.Why) > 0 {
		lines = append(lines, "", "Why that comes next") // what does stands in the foot
		for _, why := range p.Why {
			lines = append(lines, hanging("  - ", why, m.width)...)
		}
	}
	m.live.scroll = max(0, min(m.live.scroll, len(lines)-room))
	shown := lines[m.live.scroll:min(len(lines), m.live.scroll+room)]
	if left := len(lines) - m.live.scroll - len(shown); left > 0 && len(shown) > 0 {
		shown = append(shown[:len(shown)-1:len(shown)-1], m.styles.Look.Render(fmt.Sprintf("... %d more lines: down", left+1)))
	}
	if m.keys && m.width >= verdictBeside {
		shown = draw.Beside(shown, m.keysPanel(s.View, panelWidth, room), m.width-panelWidth, m.width)
	}
	return draw.Page(append(head, shown...), foot, m.width, m.height)
}

// overKeys are the keys when the session is over.
func (m *model) overKeys() string {
	if m.cfg.Watch {
		return "the end: up/down move  q quit  ? help"
	}
	return "session over: esc set-up  q quit  up/down move  ? help"
}

// headline is the verdict in one word.
func headline(r *practice.Result) string {
	if r.Judged == nil {
		return "NO VERDICT"
	}
	return strings.ToUpper(string(r.Judged.Finding.Label))
}

// whose says who sang and who played; "" where nobody has a name.
func whose(r *practice.Result) string {
	switch {
	case r.Singer.Name == "" && r.Player.Name == "":
		return ""
	case r.Singer.Name == r.Player.Name:
		return r.Singer.Name + " sang and played."
	}
	return r.Singer.Name + " sang, " + r.Player.Name + " played."
}

// responseLines tell the response time.
func responseLines(r *practice.Result, width int) []string {
	if r.Response == nil {
		return nil
	}
	return draw.Wrap(responseText(*r.Response, r.Facts.Loop != nil), width)
}

// responseText is the response time in seconds, in beats, and net of the wait that the loop imposed.
func responseText(r round.Response, inBeats bool) string {
	text := fmt.Sprintf("Response time %.1f s", r.Seconds)
	if inBeats {
		text += fmt.Sprintf(", %.1f beats", r.Beats)
	}
	if r.Wait > 0 {
		text += fmt.Sprintf("; net of the loop's wait of %.1f s: %.1f s", r.Wait, r.NetSeconds)
	}
	return text + "."
}

// keptLine says what became of the recordings.
func keptLine(r *practice.Result, kept string) string {
	if r.SaveError != "" {
		return "! not saved: " + r.SaveError
	}
	if r.Journal != "" {
		return r.Journal
	}
	return kept
}

// verdictLines tell the round, or why it has no verdict.
func (m *model) verdictLines(r *practice.Result) []string {
	if r.Judged == nil {
		return draw.Wrap("This round has no verdict: "+r.Reason, m.width)
	}
	return Words(*r.Judged, m.width, m.styles.Colour)
}

// hanging wraps text behind a mark, and its further lines as far in.
func hanging(mark, text string, width int) []string {
	lines := draw.Wrap(text, width-len("    "))
	for i := range lines {
		if i > 0 {
			mark = strings.Repeat(" ", len(mark))
		}
		lines[i] = mark + lines[i]
	}
	return lines
}

// Words tell a judged round: first which link is weak where that was asked, then as `larkhand check` prints it where there are as many
// columns, else the same note by note from top to bottom.
func Words(j round.Round, width int, colour bool) []string {
	styles := draw.NewStyles(io.Discard, colour)
	var out []string
	add := func(mark, text string) { out = append(out, hanging(mark, text, width)...) }
	for _, text := range report.StepsText(j) {
		add("", text)
	}
	if weak := len(out); weak > 0 {
		for i := range out {
			out[i] = styles.Strong.Render(out[i])
		}
		out = append(out, "")
	}
	j.Steps = nil // it is told
	if width >= reportWidth {
		return append(out, reportLines(j, colour)...)
	}
	summary := report.Summary(j)
	add("", strings.ToUpper(summary[:1])+summary[1:]+".")
	out = append(out, "")
	for _, p := range j.Alignment.Pairs {
		line := pairLine(j, p)
		if p.Verdict != match.Same {
			line = styles.Look.Render(line)
		}
		out = append(out, line)
	}
	for _, e := range j.Finding.Evidence {
		add("- ", e.Text)
	}
	for _, remark := range j.Remarks {
		add("- ", remark)
	}
	return out
}

// reportLines are the lines of the report.
func reportLines(j round.Round, colour bool) []string {
	var text strings.Builder
	if err := report.Text(&text, j, colour); err != nil {
		return []string{err.Error()}
	}
	return strings.Split(strings.TrimRight(text.String(), "\n"), "\n")
}

// pairLine is a sung note, what was played for it, and the verdict.
func pairLine(j round.Round, p match.Pair) string {
	number, sung, centre, played := "", "-", "", "-"
	if p.Sung != match.None {
		n := j.Phrase[p.Sung]
		number = j.Key.Degree(n.Semitone, j.Numbering)
		sung = j.Key.Letter(n.Semitone).String()
		if take := j.Takes[len(j.Takes)-1]; !take.Written {
			centre = fmt.Sprintf("%+.0f cents", take.Voice.Notes[p.Sung].CentreCents)
		}
	}
	if p.Played != match.None {
		midi := int(math.Round(j.Answer.Notes[p.Played].Pitch))
		played = j.Key.Letter(midi).String()
		if number == "" {
			number = "(" + j.Key.Degree(midi, j.Numbering) + ")"
		}
	}
	return fmt.Sprintf("%-5s sung %-5s %-10s played %-5s %s", number, sung, centre, played, p.Verdict)
}
