package past

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
	"larkhand/internal/screen/draw"
)

// field is one of the filters.
type field int

const (
	playerField field = iota
	keyField
	sinceField
	untilField
	misheardField
	deletedField
	fields
)

// form is the filters as they are being set.
type form struct {
	at       field
	player   string
	key      string
	since    string
	until    string
	misheard bool
	deleted  bool
	choices  [2][]string // of players and keys; "" is all
}

// choicesMsg brings the players and keys of the journal.
type choicesMsg struct {
	players, keys []string
	err           error
}

// openFilter shows the filters and asks for the names there are.
func (m *model) openFilter() tea.Cmd {
	f := m.list.filter
	m.filter = form{player: f.Player, key: f.Key, misheard: f.Misheard, deleted: f.Deleted}
	if !f.From.IsZero() {
		m.filter.since = f.From.Format(dayLayout)
	}
	if !f.To.IsZero() {
		m.filter.until = f.To.AddDate(0, 0, -1).Format(dayLayout)
	}
	m.filter.choices = [2][]string{{"", f.Player}, {"", f.Key}}
	m.view = filterView
	return m.do(func(ctx context.Context) tea.Msg {
		players, err := m.cfg.Journal.Players(ctx)
		keys, err2 := m.cfg.Journal.Keys(ctx)
		msg := choicesMsg{keys: keys, err: errors.Join(err, err2)}
		for _, p := range players {
			msg.players = append(msg.players, p.Name)
		}
		return msg
	})
}

func (m *model) takeChoices(msg choicesMsg) {
	if msg.err != nil {
		m.tell("", msg.err)
		return
	}
	for i, names := range [][]string{msg.players, msg.keys} {
		for _, name := range names {
			if !slices.Contains(m.filter.choices[i], name) {
				m.filter.choices[i] = append(m.filter.choices[i], name)
			}
		}
		m.filter.choices[i] = slices.Compact(m.filter.choices[i])
	}
}

// pressFilter takes a key of the filters.
func (m *model) pressFilter(msg tea.KeyMsg) tea.Cmd {
	f := &m.filter
	key := msg.String()
	m.tell("", nil)
	switch key {
	case keyBreak:
		return m.quit()
	case keyBack:
		m.view = listView
	case keyHelp:
		m.help = true
	case keyEnter:
		return m.apply()
	case keyUp:
		f.at = (f.at + fields - 1) % fields
	case keyDown, "tab":
		f.at = (f.at + 1) % fields
	case keyLeft:
		f.step(-1)
	case keyRight, " ":
		f.step(1)
	case "backspace":
		f.backspace()
	default:
		for _, r := range msg.Runes {
			f.enter(r)
		}
	}
	return nil
}

// choice is the text of the field that the mark stands at and what it may be; nil where it is none that is chosen.
func (f *form) choice() (*string, []string) {
	switch f.at {
	case playerField:
		return &f.player, f.choices[0]
	case keyField:
		return &f.key, f.choices[1]
	}
	return nil, nil
}

// day is the day that the mark stands at, nil where it stands elsewhere.
func (f *form) day() *string {
	switch f.at {
	case sinceField:
		return &f.since
	case untilField:
		return &f.until
	}
	return nil
}

// step goes to another choice.
func (f *form) step(by int) {
	switch f.at {
	case misheardField:
		f.misheard = !f.misheard
	case deletedField:
		f.deleted = !f.deleted
	}
	if value, choices := f.choice(); value != nil {
		n := len(choices)
		*value = choices[(slices.Index(choices, *value)+by+n)%n]
	}
}

// enter types a character: into a day, or to go to a name that begins with it.
func (f *form) enter(r rune) {
	if day := f.day(); day != nil {
		if (r >= '0' && r <= '9' || r == '-') && len(*day) < len(dayLayout) {
			*day += string(r)
		}
		return
	}
	value, choices := f.choice()
	if value == nil {
		return
	}
	now := slices.Index(choices, *value)
	for i := range choices {
		name := choices[(now+1+i)%len(choices)]
		if first, _ := utf8.DecodeRuneInString(name); strings.EqualFold(string(first), string(r)) {
			*value = name
			return
		}
	}
}

func (f *form) backspace() {
	if day := f.day(); day != nil && *day != "" {
		*day = (*day)[:len(*day)-1]
	}
	if value, _ := f.choice(); value != nil {
		*value = ""
	}
}

// apply lists the rounds that the filters choose, or says what is wrong with them.
func (m *model) apply() tea.Cmd {
	f, err := m.filter.filter()
	if err != nil {
		m.tell("", err)
		return nil
	}
	m.view = listView
	m.list = list{filter: f, serial: m.list.serial}
	return m.reload()
}

func (f *form) filter() (out journal.Filter, err error) {
	out = journal.Filter{Player: f.player, Key: f.key, Misheard: f.misheard, Deleted: f.deleted}
	if out.From, err = dayOf(f.since); err != nil {
		return out, err
	}
	if out.To, err = dayOf(f.until); err != nil || out.To.IsZero() {
		return out, err
	}
	out.To = out.To.AddDate(0, 0, 1) // the end of that day
	if !out.From.Before(out.To) {
		return out, fmt.Errorf("the first day lies after the last; give the earlier one to since")
	}
	return out, nil
}

// dayOf reads a day by the clock of this machine; nothing is no day.
func dayOf(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(dayLayout, text, time.Local)
	if err != nil {
		return t, fmt.Errorf("%q is no day; write it as 2026-11-03", text)
	}
	return t, nil
}

// viewFilter draws the filters.
func (m *model) viewFilter() string {
	f := &m.filter
	value := func(text, none string) string {
		if text == "" {
			return none
		}
		return text
	}
	only := func(chosen bool, otherwise string) string {
		if chosen {
			return "only these"
		}
		return otherwise
	}
	lines := []string{m.styles.Strong.Render("Larkhand  history: which rounds"), ""}
	for i, line := range []struct{ name, value, about string }{
		{"player", value(f.player, "all"), "who sang or played; left and right, or a first letter"},
		{"key", value(f.key, "all"), "left and right, or a first letter"},
		{"since", value(f.since, "the first day"), "a day, such as 2026-11-03"},
		{"until", value(f.until, "the last day"), "a day"},
		{"misheard", only(f.misheard, "too"), "left or right"},
		{"deleted", only(f.deleted, "no"), "left or right"},
	} {
		text := fmt.Sprintf("  %-8s %s", line.name, line.value)
		if field(i) == f.at {
			cursor := ""
			if f.day() != nil {
				cursor = "_"
				if *f.day() == "" {
					text = fmt.Sprintf("  %-8s ", line.name)
				}
			}
			const about = 34 // columns before the explanation
			text = m.styles.Strong.Render(draw.Pad("> "+text[2:]+cursor, about)) + m.styles.Quiet.Render(line.about)
		}
		lines = append(lines, draw.Clip(text, m.width))
	}
	return draw.Page(lines, m.foot(filterKeys), m.width, m.height)
}
