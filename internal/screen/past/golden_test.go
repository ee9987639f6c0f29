package past

import (
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
)

// TestScreens holds every screen at three sizes to what somebody has looked at.
func TestScreens(t *testing.T) {
	screens(t, season, map[string][]string{
		"list":       nil,
		"list-down":  {"]", keyDown, keyDown},
		"asked":      {keyDown, "d"},
		"filter":     {"f", keyDown, keyDown, "2", "0", "2", "6"},
		"filter-day": {"f", keyDown, keyDown, "2", "0", "2", "6", keyEnter},
		"filtered":   {"f", keyDown, "f", keyEnter},
		"nothing":    {"f", keyUp, " ", keyEnter},
		"picture":    {keyEnter},
		"words":      {keyEnter, "tab"},
		"silent":     {keyEnter, "1"},
		"no-files":   {keyDown, keyEnter},
		"help":       {"?"},
		"help-round": {keyEnter, "?"},
	})
}

// TestScreensOfSteps does the same with rounds in which numbers and letters were written down, and with marks.
func TestScreensOfSteps(t *testing.T) {
	screens(t, func(t *testing.T) *journal.Journal {
		j := season(t)
		stepped(t, j)
		return j
	}, map[string][]string{
		"picture":  {keyEnter},
		"words":    {keyEnter, "tab"},
		"no-files": {keyDown, keyEnter},
		"marked":   {"m", keyDown, keyDown, "m"},
		"opened":   {keyEnter, "m"},
		"filtered": {"m", "f", keyUp, keyUp, " ", keyEnter},
		"filter":   {"f", keyUp, keyUp, " "},
	})
}

// screens compares the screens that keys lead to, each on a journal of its own.
func screens(t *testing.T, fresh func(*testing.T) *journal.Journal, cases map[string][]string) {
	t.Helper()
	for name, keys := range cases {
		for _, size := range sizes {
			t.Run(name+"-"+size.name, func(t *testing.T) {
				m := screenOf(t, fresh(t), nil)
				m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				press(t, m, keys...)
				screen := m.View()
				fits(t, screen, size.width, size.height)
				golden(t, name+"-"+size.name, screen)
			})
		}
	}
}
