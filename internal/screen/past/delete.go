package past

import (
	"context"
	"fmt"
	"slices"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
)

// markedMsg tells that a round was deleted or brought back.
type markedMsg struct {
	row    journal.Row
	delete bool
	err    error
}

// question asks whether the chosen round is to be deleted.
func (m *model) question() string {
	row, _ := m.list.chosen()
	return fmt.Sprintf("Delete round %d? y deletes it, any other key keeps it.", row.ID)
}

// answered takes the answer to the question.
func (m *model) answered(key string) tea.Cmd {
	m.asking = false
	row, ok := m.list.chosen()
	if key != "y" || !ok {
		m.tell("Nothing was deleted.", nil)
		return nil
	}
	return m.mark(row, true)
}

// undo brings back the round deleted last, or the chosen one where deleted rounds are listed.
func (m *model) undo() tea.Cmd {
	if row, ok := m.list.chosen(); ok && row.Deleted {
		return m.mark(row, false)
	}
	if len(m.deleted) == 0 {
		m.tell("Nothing was deleted since this screen was opened; f lists the rounds deleted before.", nil)
		return nil
	}
	return m.mark(m.deleted[len(m.deleted)-1], false)
}

// mark deletes a round or brings it back.
func (m *model) mark(row journal.Row, deletes bool) tea.Cmd {
	change := m.cfg.Journal.Undelete
	if deletes {
		change = m.cfg.Journal.Delete
	}
	return m.do(func(ctx context.Context) tea.Msg { return markedMsg{row, deletes, change(ctx, row.ID)} })
}

func (m *model) takeMarked(msg markedMsg) tea.Cmd {
	if msg.err != nil {
		m.tell("", msg.err)
		return nil
	}
	m.deleted = slices.DeleteFunc(m.deleted, func(r journal.Row) bool { return r.ID == msg.row.ID })
	if !msg.delete {
		m.tell(fmt.Sprintf("Round %d is in the journal again.", msg.row.ID), nil)
		return m.reload()
	}
	m.deleted = append(m.deleted, msg.row)
	m.tell(fmt.Sprintf("Round %d was deleted; u brings it back.", msg.row.ID), nil)
	if m.view == roundView {
		m.leaveRound()
	}
	m.drop(msg.row.ID)
	return m.more()
}

// drop takes a round out of the list.
func (m *model) drop(id journal.ID) {
	l := &m.list
	before := len(l.rows)
	l.rows = slices.DeleteFunc(l.rows, func(r journal.Row) bool { return r.ID == id })
	l.total -= before - len(l.rows)
	l.at = max(0, min(l.at, len(l.rows)-1))
	l.cut()
}
