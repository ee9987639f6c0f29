package past

import (
	"context"
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
)

// misheardMsg tells that a round was marked as misheard, or that the mark was taken away.
type misheardMsg struct {
	id       journal.ID
	misheard bool
	err      error
}

// markMisheard marks a round, or takes its mark away.
func (m *model) markMisheard(row journal.Row) tea.Cmd {
	misheard := !row.Misheard
	return m.do(func(ctx context.Context) tea.Msg {
		return misheardMsg{row.ID, misheard, m.cfg.Journal.Mark(ctx, row.ID, misheard)}
	})
}

func (m *model) takeMisheard(msg misheardMsg) tea.Cmd {
	if msg.err != nil {
		m.tell("", msg.err)
		return nil
	}
	for i := range m.list.rows {
		if r := &m.list.rows[i]; r.ID == msg.id {
			r.Misheard = msg.misheard
		}
	}
	if m.open.id == msg.id {
		m.open.stored.Misheard = msg.misheard
	}
	if msg.misheard {
		m.tell(fmt.Sprintf("Round %d: misheard, counts nowhere; m takes that back.", msg.id), nil)
		return nil
	}
	m.tell(fmt.Sprintf("Round %d counts again; m marks it as misheard.", msg.id), nil)
	return nil
}
