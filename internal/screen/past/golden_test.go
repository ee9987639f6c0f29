package past

import (
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// TestScreens holds every screen at three sizes to what somebody has looked at.
func TestScreens(t *testing.T) {
	j := season(t)
	for name, keys := range map[string][]string{
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
	} {
		for _, size := range sizes {
			t.Run(name+"-"+size.name, func(t *testing.T) {
				m := screenOf(t, j, nil)
				m.Update(tea.WindowSizeMsg{Width: size.width, Height: size.height})
				press(t, m, keys...)
				screen := m.View()
				fits(t, screen, size.width, size.height)
				golden(t, name+"-"+size.name, screen)
			})
		}
	}
}
