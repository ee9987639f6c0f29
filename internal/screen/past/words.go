package past

import (
	"fmt"
	"math"
	"strings"

	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
	"larkhand/match"
)

// reportWidth is the width of the report that `larkhand check` prints, columns.
const reportWidth = 80

// words are what `larkhand check` prints of a round where the terminal is as wide; else the same, note by note from top to bottom.
func words(r round.Round, st draw.Styles, width int) []string {
	if width >= reportWidth {
		var text strings.Builder
		if err := report.Text(&text, r, st.Colour); err != nil {
			return draw.Wrap(err.Error(), width)
		}
		return strings.Split(strings.TrimRight(text.String(), "\n"), "\n")
	}
	lines := append(draw.Wrap(sentence(report.Summary(r)), width), "")
	for _, p := range r.Alignment.Pairs {
		line := pairLine(r, p)
		if p.Verdict != match.Same {
			line = st.Look.Render(line)
		}
		lines = append(lines, line)
	}
	const mark = "- "
	var remarks []string
	for _, e := range r.Finding.Evidence {
		remarks = append(remarks, e.Text)
	}
	for _, text := range append(remarks, r.Remarks...) {
		for i, line := range draw.Wrap(text, width-len(mark)) {
			lead := mark
			if i > 0 {
				lead = strings.Repeat(" ", len(mark))
			}
			lines = append(lines, lead+line)
		}
	}
	return lines
}

// pairLine is a sung note, what was played for it, and the verdict.
func pairLine(r round.Round, p match.Pair) string {
	number, sung, centre, played := "", "-", "", "-"
	if p.Played != match.None {
		midi := int(math.Round(r.Answer.Notes[p.Played].Pitch))
		number, played = "("+r.Key.Degree(midi, r.Numbering)+")", r.Key.Letter(midi).String()
	}
	if p.Sung != match.None {
		n := r.Phrase[p.Sung]
		number, sung = r.Key.Degree(n.Semitone, r.Numbering), r.Key.Letter(n.Semitone).String()
		if !r.Last().Written {
			centre = fmt.Sprintf("%+.0f cents", r.CentreCents(p.Sung))
		}
	}
	return fmt.Sprintf("%-5s sung %-5s %-10s played %-5s %s", number, sung, centre, played, p.Verdict)
}
