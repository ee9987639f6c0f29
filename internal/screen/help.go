package screen

// viewHelp explains the keys.
func (m *model) viewHelp() string {
	body := []string{m.styles.strong.Render("Larkhand: keys of a round")}
	for _, b := range bindings {
		if b.long != "" {
			body = append(body, b.long)
		}
	}
	body = append(body, "up, down: move a long verdict",
		"Keep the headphones low. Rest voice and hands; with pain or hoarseness, stop.")
	foot := []string{m.styles.quiet.Render("? or esc: back")}
	var lines []string
	for _, line := range body {
		lines = append(lines, wrap(line, m.width)...)
	}
	return page(lines, foot, m.width, m.height)
}
