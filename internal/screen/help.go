package screen

import "larkhand/internal/screen/draw"

// viewHelp explains the keys.
func (m *model) viewHelp() string {
	body := []string{m.styles.Strong.Render("Larkhand: keys of a round")}
	for _, b := range bindings {
		if b.long != "" {
			body = append(body, b.long)
		}
	}
	body = append(body, "up, down: move a long verdict",
		"Care: keep headphones low, rest the voice and the hands. Stop at pain or hoarseness, or ringing ears; if it stays, ask a professional.")
	foot := []string{m.styles.Quiet.Render("? or esc: back")}
	var lines []string
	for _, line := range body {
		lines = append(lines, draw.Wrap(line, m.width)...)
	}
	return draw.Page(lines, foot, m.width, m.height)
}
