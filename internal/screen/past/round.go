package past

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
	"larkhand/internal/report"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// open is the round that was opened.
type open struct {
	id     journal.ID
	opened bool // what follows is there
	stored journal.Stored
	judged *round.Round // nil where it cannot be judged from its files
	remark string       // why not, or that this version judges otherwise
	words  bool         // the words are shown instead of the picture
	scroll int
}

// openedMsg brings a round that was read and judged.
type openedMsg struct {
	id     journal.ID
	stored journal.Stored
	judged *round.Round
	err    error // of reading it
	failed error // of judging it
}

// openChosen opens the chosen round.
func (m *model) openChosen() tea.Cmd {
	row, ok := m.list.chosen()
	if !ok {
		return nil
	}
	m.playing.end()
	m.view = roundView
	m.open = open{id: row.ID, words: m.open.words}
	return m.do(func(ctx context.Context) tea.Msg {
		msg := openedMsg{id: row.ID}
		if msg.stored, msg.err = m.cfg.Journal.Round(ctx, row.ID); msg.err != nil {
			return msg
		}
		judged, err := m.cfg.Judge(ctx, msg.stored)
		if err != nil {
			msg.failed = err
		} else {
			msg.judged = &judged
		}
		return msg
	})
}

func (m *model) takeOpened(msg openedMsg) {
	if m.view != roundView || msg.id != m.open.id {
		return
	}
	if msg.err != nil {
		m.leaveRound()
		m.tell("", msg.err)
		return
	}
	o := &m.open
	o.opened, o.stored, o.judged = true, msg.stored, msg.judged
	switch {
	case msg.failed != nil:
		o.remark = sentence(msg.failed.Error())
	case !o.change().Same():
		o.remark = fmt.Sprintf("This version judges otherwise: %s. j keeps that.", changed(o.change()))
	}
}

// change is what this version's judgement changes in what is kept.
func (o *open) change() journal.Change {
	n := report.Count(*o.judged)
	return journal.Change{
		Before: o.stored.Results[len(o.stored.Results)-1].Outcome,
		After: journal.Outcome{
			Label: string(o.judged.Finding.Label), Searched: o.judged.Finding.Searched,
			Same: n.Same, Different: n.Different, LeftOut: n.LeftOut, Unclear: n.Unclear, Added: n.Added,
		},
	}
}

// sentence begins with a capital letter and ends with a full stop.
func sentence(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + strings.TrimSuffix(text[1:], ".") + "."
}

func (m *model) leaveRound() {
	m.playing.end()
	m.view = listView
}

func (m *model) pressRound(key string) tea.Cmd {
	switch key {
	case keyBack:
		m.leaveRound()
		return nil
	case "n", keyRight:
		return m.openOther(1)
	case "b", keyLeft:
		return m.openOther(-1)
	case "tab":
		m.open.words, m.open.scroll = !m.open.words, 0
		return nil
	case keyUp:
		m.open.scroll--
		return nil
	case keyDown:
		m.open.scroll++
		return nil
	case "pgup":
		m.open.scroll -= m.height / 2
		return nil
	case "pgdown":
		m.open.scroll += m.height / 2
		return nil
	case "1", "2", "a", "p", "x", "-", "+", "=":
		return m.pressSound(key)
	}
	return m.pressChosen(key)
}

// openOther opens a round further down or up the list.
func (m *model) openOther(by int) tea.Cmd {
	if to := m.list.at + by; to < 0 || to >= len(m.list.rows) {
		m.tell("There is no further round in the list.", nil)
		return nil
	}
	return tea.Batch(m.move(by), m.openChosen())
}

// viewRound draws the round that was opened.
func (m *model) viewRound() string {
	o := &m.open
	row, _ := m.list.chosen()
	if o.opened {
		row = o.stored.Row
	}
	title := fmt.Sprintf("Round %d  %s  %s", row.ID, row.At.Format(dayLayout+" "+clockLayout), who(row))
	if row.PhraseName != "" {
		title += fmt.Sprintf("  %q", row.PhraseName)
	}
	head := []string{m.styles.Strong.Render(draw.Ends(title, row.Key, m.width))}
	foot := m.foot(roundKeys)
	if foot[0] == "" && m.playing.what != "" {
		foot[0] = draw.Clip(m.playing.text(m.volume), m.width)
	}
	if !o.opened {
		return draw.Page(append(head, "", "Reading and judging ..."), foot, m.width, m.height)
	}
	if o.judged == nil || !o.words { // the words begin with it
		head = append(head, m.verdictLines(row)...)
	}
	if row.Misheard {
		head = append(head, m.styles.Look.Render(draw.Clip("Marked as misheard: it counts nowhere. m takes that back.", m.width)))
	}
	if o.remark != "" {
		for _, line := range draw.Wrap(o.remark, m.width) {
			head = append(head, m.styles.Look.Render(line))
		}
	}
	room := m.height - len(head) - len(foot)
	return draw.Page(append(head, m.roundBody(room)...), foot, m.width, m.height)
}

// who tells who sang and who played.
func who(r journal.Row) string {
	switch {
	case r.Sang == "" && r.Played == "":
		return ""
	case r.Sang == r.Played:
		return r.Sang
	}
	return cmp.Or(r.Sang, "somebody") + " sang, " + cmp.Or(r.Played, "somebody") + " played"
}

// verdictLines are the verdict in a sentence, the response time, and the weak links.
func (m *model) verdictLines(row journal.Row) []string {
	text := outcomeText(row)
	if m.open.judged != nil {
		text = sentence(report.Summary(*m.open.judged))
	}
	lines := draw.Wrap(strings.ToUpper(row.Label)+"  "+text, m.width)
	for _, text := range m.linkTexts(row) {
		lines = append(lines, draw.Wrap(text, m.width)...)
	}
	return lines
}

// linkTexts say which link between voice and fingers is weak; none where nothing was written down.
func (m *model) linkTexts(row journal.Row) []string {
	judged := m.open.judged
	switch {
	case judged != nil && judged.Steps != nil:
		return judged.Steps.Sentences
	case judged == nil && len(row.Weak) > 0:
		return []string{"Weak link: " + strings.Join(row.Weak, ", ") + "."}
	}
	return nil
}

// outcomeText is the verdict as the journal keeps it.
func outcomeText(r journal.Row) string {
	text := fmt.Sprintf("%d of %s as sung", r.Same, counted(len(r.Phrase), "note"))
	for _, n := range []struct {
		count int
		word  string
	}{{r.Different, "different"}, {r.LeftOut, "left out"}, {r.Unclear, "unclear"}, {r.Added, "added"}} {
		if n.count > 0 {
			text += fmt.Sprintf(", %d %s", n.count, n.word)
		}
	}
	if r.Response != nil {
		text += fmt.Sprintf("; first note %.1f s after the take", *r.Response)
	}
	return text + "."
}

// doneTexts say what was done between singing and playing: what was written down, in how many pieces it was played, what helped.
func doneTexts(w *round.Written, pieces int, h round.Helped) []string {
	var texts []string
	if w != nil {
		texts = report.WrittenText(*w)
	}
	if pieces > 1 {
		texts = append(texts, fmt.Sprintf("Played in %d pieces.", pieces))
	}
	if help := h.Words(); help != "" {
		texts = append(texts, sentence(help))
	}
	return texts
}

// roundBody is the picture or the words.
func (m *model) roundBody(room int) []string {
	o := &m.open
	if o.judged == nil {
		lines := append([]string{""}, draw.Wrap("The phrase was "+strings.Join(o.stored.Phrase, " ")+".", m.width)...)
		for _, text := range doneTexts(o.stored.Written, o.stored.Pieces, o.stored.Helped) {
			lines = append(lines, draw.Wrap(text, m.width)...)
		}
		return lines[:min(len(lines), room)]
	}
	if !o.words {
		o.scroll = 0
		return picture(*o.judged, m.styles, m.width, room)
	}
	lines := words(*o.judged, m.styles, m.width)
	o.scroll = max(0, min(o.scroll, len(lines)-room))
	shown := lines[o.scroll:min(len(lines), o.scroll+room)]
	if left := len(lines) - o.scroll - len(shown); left > 0 && len(shown) > 0 {
		shown = append(shown[:len(shown)-1:len(shown)-1], m.styles.Look.Render(fmt.Sprintf("... %s: down", counted(left+1, "more line"))))
	}
	return shown
}
