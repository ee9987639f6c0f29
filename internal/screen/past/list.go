package past

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/hunt"
	"larkhand/internal/journal"
	"larkhand/internal/progress"
	"larkhand/internal/screen/draw"
)

// pageSize is how many rounds are read at a time: more than a screen shows.
const pageSize = 100

// list is the rounds that are chosen, as far as they have been read, the newest first.
type list struct {
	filter   journal.Filter
	serial   int // of the last reading from the top; pages of an earlier one are thrown away
	total    int
	rows     []journal.Row
	whole    bool // nothing is left to be read
	reading  bool
	at       int           // the chosen round
	top      int           // first line that is shown
	sessions []sessionSpan // of rows, the newest first
}

// sessionSpan is the rounds of a session: rows[from:to].
type sessionSpan struct{ from, to int }

// pageMsg brings a page of rounds.
type pageMsg struct {
	serial int
	first  bool
	total  int
	rows   []journal.Row
	err    error
}

// reload reads the list from the top.
func (m *model) reload() tea.Cmd {
	m.list.serial++
	m.list.reading = true
	serial, filter := m.list.serial, m.list.filter
	return m.do(func(ctx context.Context) tea.Msg {
		total, err := m.cfg.Journal.Count(ctx, filter)
		if err != nil {
			return pageMsg{serial: serial, first: true, err: err}
		}
		rows, err := m.cfg.Journal.Rounds(ctx, filter, journal.Page{Limit: pageSize})
		return pageMsg{serial: serial, first: true, total: total, rows: rows, err: err}
	})
}

// more reads the next page where the chosen round is near the end of what has been read.
func (m *model) more() tea.Cmd {
	l := &m.list
	if l.whole || l.reading || len(l.rows)-l.at > pageSize/2 || len(l.rows) == 0 {
		return nil
	}
	l.reading = true
	serial, filter, after := l.serial, l.filter, l.rows[len(l.rows)-1].Cursor()
	return m.do(func(ctx context.Context) tea.Msg {
		rows, err := m.cfg.Journal.Rounds(ctx, filter, journal.Page{After: after, Limit: pageSize})
		return pageMsg{serial: serial, rows: rows, err: err}
	})
}

func (m *model) takePage(msg pageMsg) tea.Cmd {
	l := &m.list
	if msg.serial != l.serial {
		return nil
	}
	l.reading = false
	if msg.err != nil {
		m.tell("", msg.err)
		return nil
	}
	if msg.first {
		l.total, l.rows = msg.total, nil
	}
	l.rows = append(l.rows, msg.rows...)
	l.whole = len(msg.rows) < pageSize
	l.at = max(0, min(l.at, len(l.rows)-1))
	l.cut()
	return m.more()
}

// cut finds the sessions.
func (l *list) cut() {
	l.sessions = l.sessions[:0]
	for i := range l.rows {
		if i == 0 || l.rows[i-1].At.Sub(l.rows[i].At) > progress.SessionGap {
			l.sessions = append(l.sessions, sessionSpan{i, i})
		}
		l.sessions[len(l.sessions)-1].to = i + 1
	}
}

// session is the one that the chosen round belongs to.
func (l *list) session() int {
	i, _ := slices.BinarySearchFunc(l.sessions, l.at, func(s sessionSpan, at int) int { return s.to - 1 - at })
	return i
}

// chosen is the round that the mark stands at.
func (l *list) chosen() (journal.Row, bool) {
	if l.at >= len(l.rows) {
		return journal.Row{}, false
	}
	return l.rows[l.at], true
}

// move chooses another round.
func (m *model) move(by int) tea.Cmd {
	m.list.at = max(0, min(m.list.at+by, len(m.list.rows)-1))
	return m.more()
}

// moveSession chooses the newest round of another session.
func (m *model) moveSession(by int) tea.Cmd {
	l := &m.list
	if len(l.sessions) == 0 {
		return nil
	}
	to := max(0, min(l.session()+by, len(l.sessions)-1))
	return m.move(l.sessions[to].from - l.at)
}

func (m *model) pressList(key string) tea.Cmd {
	switch key {
	case keyUp, "k":
		return m.move(-1)
	case keyDown:
		return m.move(1)
	case "pgup":
		return m.move(-m.listRoom())
	case "pgdown":
		return m.move(m.listRoom())
	case "home":
		return m.move(-len(m.list.rows))
	case "end":
		return m.move(len(m.list.rows))
	case "[":
		return m.moveSession(-1)
	case "]":
		return m.moveSession(1)
	case keyEnter:
		return m.openChosen()
	case "f":
		return m.openFilter()
	case "J":
		return m.judgeOld()
	}
	return m.pressChosen(key)
}

// pressChosen takes the keys that the list and an open round share.
func (m *model) pressChosen(key string) tea.Cmd {
	row, ok := m.list.chosen()
	switch {
	case key == "u":
		return m.undo()
	case !ok:
	case key == "d":
		m.asking = !row.Deleted
		if row.Deleted {
			m.tell(fmt.Sprintf("Round %d is deleted already; u brings it back.", row.ID), nil)
		}
	case key == "m":
		return m.markMisheard(row)
	case key == "j":
		return m.judge(row.ID)
	}
	return nil
}

// listHead is how many lines stand above the list.
const listHead = 2

func (m *model) listRoom() int {
	const foot = 2
	return max(1, m.height-listHead-foot)
}

// viewList draws the list.
func (m *model) viewList() string {
	l := &m.list
	head := []string{
		m.styles.Strong.Render(draw.Ends("Larkhand  history", m.listed(), m.width)),
		m.styles.Quiet.Render(draw.Clip(describe(l.filter), m.width)),
	}
	body := m.listLines()
	if len(l.rows) == 0 && !l.reading {
		body = append([]string{""}, draw.Wrap(m.emptyText(), m.width)...)
	}
	return draw.Page(append(head, body...), m.foot(listKeys), m.width, m.height)
}

// listed says where in how many rounds the mark stands.
func (m *model) listed() string {
	l := &m.list
	switch {
	case l.reading && len(l.rows) == 0:
		return "reading ..."
	case len(l.rows) == 0:
		return "no rounds"
	}
	return fmt.Sprintf("%d of %s", l.at+1, counted(l.total, "round"))
}

func (m *model) emptyText() string {
	if m.list.filter == (journal.Filter{}) {
		return "There are no rounds in the journal yet. \"larkhand check --save\" puts them there."
	}
	return "There are no such rounds in the journal. f chooses others."
}

// describe says which rounds a filter chooses.
func describe(f journal.Filter) string {
	var parts []string
	if f.Deleted {
		parts = append(parts, "deleted rounds")
	}
	if f.Misheard {
		parts = append(parts, "marked as misheard")
	}
	if f.Player != "" {
		parts = append(parts, "player "+f.Player)
	}
	if f.Key != "" {
		parts = append(parts, "in "+f.Key)
	}
	from, to := f.From.Format(dayLayout), f.To.AddDate(0, 0, -1).Format(dayLayout)
	switch {
	case !f.From.IsZero() && !f.To.IsZero():
		parts = append(parts, from+" to "+to)
	case !f.From.IsZero():
		parts = append(parts, "since "+from)
	case !f.To.IsZero():
		parts = append(parts, "until "+to)
	}
	if len(parts) == 0 {
		return "all players, all keys, all days"
	}
	return strings.Join(parts, "  ")
}

// listLines are the lines of the list that are shown: a heading for each session and a line for each round.
func (m *model) listLines() []string {
	l := &m.list
	room := m.listRoom()
	if len(l.rows) == 0 {
		return nil
	}
	line := l.at + l.session() + 1 // of the chosen round: each session before and its own have a heading
	if l.at == l.sessions[l.session()].from {
		l.top = min(l.top, line-1) // with its heading
	}
	l.top = max(0, min(l.top, line), line-room+1)
	var out []string
	at := 0
	for k, s := range l.sessions {
		if at >= l.top+room {
			break
		}
		if length := s.to - s.from + 1; at+length <= l.top {
			at += length
			continue
		}
		for i := s.from - 1; i < s.to && at < l.top+room; i++ {
			switch {
			case at < l.top:
			case i < s.from:
				out = append(out, m.styles.Strong.Render(draw.Clip(m.sessionLine(k), m.width)))
			default:
				out = append(out, m.rowLine(i))
			}
			at++
		}
	}
	return out
}

// sessionLine tells the day and the time of a session, and how many of its answers were known.
func (m *model) sessionLine(k int) string {
	l := &m.list
	s := l.sessions[k]
	first, last := l.rows[s.to-1].At, l.rows[s.from].At
	if k == len(l.sessions)-1 && !l.whole {
		return last.Format("Monday "+dayLayout) + "  to " + last.Format(clockLayout)
	}
	text := first.Format("Monday "+dayLayout) + "  " + first.Format(clockLayout)
	if until := last.Format(clockLayout); until != first.Format(clockLayout) {
		text += " to " + until
	}
	known, misheard := 0, 0
	for _, r := range l.rows[s.from:s.to] {
		switch {
		case r.Misheard:
			misheard++
		case r.Label == string(hunt.Known):
			known++
		}
	}
	text += "  " + counted(s.to-s.from, "round") + ", " + strconv.Itoa(known) + " known"
	if misheard > 0 {
		text += ", " + strconv.Itoa(misheard) + " misheard"
	}
	return text
}

// How a day and a time of day are written.
const (
	dayLayout   = "2006-01-02"
	clockLayout = "15:04"
)

// Columns of a line of the list.
const (
	rowFixed   = 40  // mark, number, time, notes, finding, response and the room between them
	rowWide    = 100 // from where on the phrase is shown
	rowPhrase  = 28
	rowWordsAt = 74 // from where on "7 notes" is written out
)

// rowLine is a round in one line.
func (m *model) rowLine(i int) string {
	r := m.list.rows[i]
	mark := "  "
	if i == m.list.at {
		mark = "> "
	}
	notes := fmt.Sprintf("%2d", len(r.Phrase))
	fixed := rowFixed
	switch {
	case m.width >= rowWide:
		notes = draw.Pad(strings.Join(r.Phrase, " "), rowPhrase)
		fixed += rowPhrase - 2
	case m.width >= rowWordsAt:
		notes = fmt.Sprintf("%-8s", counted(len(r.Phrase), "note"))
		fixed += len("12 notes") - 2
	}
	room := m.width - fixed
	who := room * 5 / 9
	response := ""
	if r.Response != nil {
		response = fmt.Sprintf("%.1f s", *r.Response)
	}
	label := draw.Pad(r.Label, len("searched"))
	switch {
	case r.Misheard: // what was found counts for nothing
		label = m.styles.Quiet.Render(draw.Pad("misheard", len("searched")))
	case r.Label == string(hunt.Searched):
		label = m.styles.Look.Render(label)
	}
	line := fmt.Sprintf("%s%6d %s  %s  %s  %s  %s  %6s", mark, r.ID, r.At.Format(clockLayout), draw.Pad(names(r), who), draw.Pad(r.Key, room-who), notes, label, response)
	if i == m.list.at {
		line = m.styles.Strong.Render(line)
	}
	return draw.Clip(line, m.width)
}

// names are who sang and who played.
func names(r journal.Row) string {
	switch {
	case r.Sang == "" && r.Played == "":
		return "-"
	case r.Sang == r.Played:
		return r.Sang
	}
	return cmp.Or(r.Sang, "-") + ", " + cmp.Or(r.Played, "-")
}

// counted writes a number with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
