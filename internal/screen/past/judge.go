package past

import (
	"context"
	"errors"
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
	"larkhand/internal/report"
	"larkhand/internal/screen/draw"
)

// changes is what judging again changed, round by round.
type changes struct {
	due     []journal.ID // that are still to be judged
	done    int
	total   int
	changed int
	failed  int
	lines   []string
	scroll  int
	serial  int
	going   bool
	ctx     context.Context
	stop    context.CancelFunc
}

// end stops judging; what is judged is kept.
func (c *changes) end() {
	if c.stop != nil {
		c.stop()
	}
	c.going = false
}

// dueMsg brings the rounds that another version judged last.
type dueMsg struct {
	serial int
	ids    []journal.ID
	err    error
}

// changeMsg brings what judging one round again changed. serial is 0 where it was one round alone.
type changeMsg struct {
	serial int
	id     journal.ID
	change journal.Change
	err    error
}

// judge judges one round again.
func (m *model) judge(id journal.ID) tea.Cmd {
	m.tell(fmt.Sprintf("Judging round %d again ...", id), nil)
	return m.rejudge(m.ctx, id, 0)
}

func (m *model) rejudge(ctx context.Context, id journal.ID, serial int) tea.Cmd {
	return m.do(func(context.Context) tea.Msg {
		change, err := m.cfg.Rejudge(ctx, id)
		return changeMsg{serial, id, change, err}
	})
}

// judgeOld judges all listed rounds again that another version judged last.
func (m *model) judgeOld() tea.Cmd {
	ctx, stop := context.WithCancel(m.ctx)
	m.changes = changes{serial: m.changes.serial + 1, going: true, ctx: ctx, stop: stop}
	m.view = changesView
	serial, filter := m.changes.serial, m.list.filter
	filter.NotProgram = m.cfg.Program
	return m.do(func(context.Context) tea.Msg {
		msg := dueMsg{serial: serial}
		var after journal.Cursor
		for {
			const most = 500 // rounds read at a time
			rows, err := m.cfg.Journal.Rounds(ctx, filter, journal.Page{After: after, Limit: most})
			if err != nil {
				msg.err = err
				return msg
			}
			for _, r := range rows {
				msg.ids, after = append(msg.ids, r.ID), r.Cursor()
			}
			if len(rows) < most {
				return msg
			}
		}
	})
}

func (m *model) takeDue(msg dueMsg) tea.Cmd {
	c := &m.changes
	if msg.serial != c.serial || !c.going {
		return nil
	}
	if msg.err != nil {
		c.end()
		m.tell("", msg.err)
		return nil
	}
	c.due, c.total = msg.ids, len(msg.ids)
	return m.judgeNext()
}

// judgeNext judges the next of the rounds that are due.
func (m *model) judgeNext() tea.Cmd {
	c := &m.changes
	if len(c.due) == 0 {
		c.end()
		return nil
	}
	id := c.due[0]
	c.due = c.due[1:]
	return m.rejudge(c.ctx, id, c.serial)
}

func (m *model) takeChange(msg changeMsg) tea.Cmd {
	if msg.serial == 0 {
		return m.takeOneChange(msg)
	}
	c := &m.changes
	if msg.serial != c.serial {
		return nil
	}
	c.done++
	switch {
	case msg.err != nil && errors.Is(msg.err, context.Canceled):
		return nil
	case msg.err != nil:
		c.failed++
		c.lines = append(c.lines, "! "+msg.err.Error())
	case !msg.change.Same():
		c.changed++
		c.lines = append(c.lines, fmt.Sprintf("round %d: %s", msg.id, changed(msg.change)))
	}
	if !c.going {
		return nil
	}
	return m.judgeNext()
}

// takeOneChange tells what judging one round changed, and shows it.
func (m *model) takeOneChange(msg changeMsg) tea.Cmd {
	if msg.err != nil {
		m.tell("", msg.err)
		return nil
	}
	m.tell(fmt.Sprintf("Round %d judged again and kept: %s.", msg.id, changed(msg.change)), nil)
	if m.view == roundView && m.open.id == msg.id {
		return tea.Batch(m.openChosen(), m.reload())
	}
	return m.reload()
}

func (m *model) pressChanges(key string) tea.Cmd {
	switch key {
	case keyBack:
		m.changes.end()
		m.view = listView
		return m.reload()
	case keyUp:
		m.changes.scroll--
	case keyDown:
		m.changes.scroll++
	case "pgup":
		m.changes.scroll -= m.height / 2
	case "pgdown":
		m.changes.scroll += m.height / 2
	}
	return nil
}

// viewChanges draws what judging again changed.
func (m *model) viewChanges() string {
	c := &m.changes
	head := []string{m.styles.Strong.Render(draw.Clip("Larkhand  history: judging again by version "+m.cfg.Program, m.width)), draw.Clip(c.summary(), m.width), ""}
	var lines []string
	for _, line := range c.lines {
		lines = append(lines, draw.Wrap(line, m.width)...)
	}
	foot := m.foot(changesKeys)
	room := m.height - len(head) - len(foot)
	c.scroll = max(0, min(c.scroll, len(lines)-room))
	return draw.Page(append(head, lines[c.scroll:min(len(lines), c.scroll+room)]...), foot, m.width, m.height)
}

// summary says how far it has come.
func (c *changes) summary() string {
	switch {
	case c.going && c.total == 0:
		return "Looking for rounds that another version judged last ..."
	case c.total == 0:
		return "No listed round was judged last by another version than this one."
	}
	text := fmt.Sprintf("%d of %s judged again", c.done-c.failed, counted(c.total, "round"))
	if c.going {
		text += " ..."
	}
	text += fmt.Sprintf("  %s changed", counted(c.changed, "result"))
	if c.failed > 0 {
		text += fmt.Sprintf("  %d could not be judged", c.failed)
	}
	return text
}

// changed says what another judgement changed.
func changed(c journal.Change) string {
	return report.Change(report.Outcome(c.Before), report.Outcome(c.After))
}
