package past

import (
	"strings"

	"larkhand/internal/screen/draw"
)

// Keys with a name.
const (
	keyBack  = "esc"
	keyQuit  = "q"
	keyBreak = "ctrl+c"
	keyHelp  = "?"
	keyEnter = "enter"
	keyUp    = "up"
	keyDown  = "down"
	keyLeft  = "left"
	keyRight = "right"
)

// binding is a key for the help, or several that belong together.
type binding struct {
	shown string // the keys
	short string // on the help line, where there is room; may be empty
	long  string // behind ?
}

// listKeys are those of the list, in the order of the help.
var listKeys = []binding{
	{"up/down", "", "up, down, page up, page down, home, end: choose a round"},
	{"[ ]", "session", "[ and ]: the session after, the session before"},
	{"enter", "open", "enter: open the round with its picture, its words and its sounds"},
	{"f", "filter", "f: choose by player, key and days, or see the deleted rounds"},
	{"d", "delete", "d: delete the round; asks first"},
	{"u", "undo", "u: bring back the round deleted last; among the deleted rounds, the chosen one"},
	{"m", "mark", "m: mark the round as misheard, where the program heard other notes than were sung, so that it counts nowhere; or take the mark away"},
	{"j/J", "judge", "j: judge the round again by this version and keep the result; J: all that are listed and that another version judged last"},
	{"?", "", "?: this page, and back"},
	{"q", "", "q or Ctrl-C: leave. Deleted rounds come back by \"larkhand history undelete\" until \"larkhand history purge\""},
}

// roundKeys are those of an open round.
var roundKeys = []binding{
	{"1/2", "take", "1, 2: play the take back"},
	{"a", "answer", "a: play the answer back"},
	{"p", "all", "p: play takes and answer one after the other"},
	{"x", "stop", "x: stop what sounds"},
	{"-/+", "", "-, +: softer, louder by 3 dB; it always begins soft"},
	{"tab", "words", "tab: the picture, or the verdict in words (up and down move it)"},
	{"n/b", "next", "n, b: the next round in the list, the one before"},
	{"d", "", "d: delete the round; asks first"},
	{"u", "", "u: bring it back"},
	{"m", "mark", "m: mark it as misheard, so that it counts nowhere, or take the mark away"},
	{"j", "judge", "j: judge it again by this version and keep the result"},
	{"esc", "list", "esc: back to the list"},
	{"?", "", "?: this page, and back"},
	{"q", "", "q or Ctrl-C: leave"},
}

// filterKeys are those of the filters.
var filterKeys = []binding{
	{"up/down", "field", "up, down: choose a field"},
	{"left/right", "choice", "left, right: another player, another key; a letter goes to the next name that begins with it"},
	{"type", "a day", "a day is typed, such as 2026-11-03; backspace takes back"},
	{"enter", "list", "enter: list these rounds"},
	{"esc", "back", "esc: back to the list as it was"},
	{"?", "", "?: this page, and back"},
}

// changesKeys are those of the list of what judging again changed.
var changesKeys = []binding{
	{"up/down", "move", "up, down: move a long list"},
	{"esc", "list", "esc: stop judging, and back to the list; what is judged is kept"},
	{"?", "", "?: this page, and back"},
	{"q", "quit", "q or Ctrl-C: leave"},
}

// bindings are the keys of the view that stands.
func (m *model) bindings() []binding {
	switch m.view {
	case filterView:
		return filterKeys
	case roundView:
		return roundKeys
	case changesView:
		return changesKeys
	}
	return listKeys
}

// helpLine names all keys on one line of at most width columns: with words where they fit, else alone.
func helpLine(bindings []binding, width int) string {
	var words, bare []string
	for _, b := range bindings {
		words = append(words, strings.TrimSpace(b.shown+" "+b.short))
		bare = append(bare, b.shown)
	}
	for _, line := range []string{strings.Join(words, "  "), strings.Join(words, " ")} {
		if len(line) <= width {
			return line
		}
	}
	return draw.Clip("keys: "+strings.Join(bare, " "), width)
}

// viewHelp explains the keys of the view that stands.
func (m *model) viewHelp() string {
	lines := []string{m.styles.Strong.Render("Larkhand: keys")}
	for _, b := range m.bindings() {
		lines = append(lines, draw.Wrap(b.long, m.width)...)
	}
	return draw.Page(lines, []string{m.styles.Quiet.Render("? or esc: back")}, m.width, m.height)
}
