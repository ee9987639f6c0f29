package screen

import (
	"fmt"

	"larkhand/internal/screen/draw"
)

// helpColumns is the width from which the help page has two columns.
const helpColumns = 116

// care is said on the help page.
const care = "Keep headphones low, rest the voice and the hands. Stop at pain or hoarseness, or ringing ears; if it stays, ask a professional."

// helpBlocks explain the keys, one block of lines a group.
func (m *model) helpBlocks(width int) [][]string {
	var blocks [][]string
	add := func(title string, texts []string) {
		block := []string{m.styles.Strong.Render(title)}
		for _, text := range texts {
			block = append(block, draw.Wrap(text, width)...)
		}
		blocks = append(blocks, block)
	}
	for g, name := range groupNames {
		var texts []string
		for _, b := range bindings {
			if b.group == group(g) && b.long != "" {
				texts = append(texts, b.long)
			}
		}
		if len(texts) > 0 {
			add(name, texts)
		}
	}
	add("Care", []string{care})
	return blocks
}

// helpPages are the lines of the help, page by page; a group lies on one page where it can.
func (m *model) helpPages() [][]string {
	width, rows := m.width, m.height-2
	const gap = 2 // columns
	if m.width >= helpColumns {
		width = (m.width - gap) / 2
	}
	var columns [][]string
	var here []string
	for _, block := range m.helpBlocks(width) {
		if len(here) > 0 && len(here)+1+len(block) > rows {
			columns, here = append(columns, here), nil
		}
		if len(here) > 0 && len(here)+1+len(block) <= rows {
			here = append(here, "")
		}
		here = append(here, block...)
		for len(here) > rows {
			columns, here = append(columns, here[:rows]), here[rows:]
		}
	}
	columns = append(columns, here)
	if m.width < helpColumns {
		return columns
	}
	var pages [][]string
	for i := 0; i < len(columns); i += 2 {
		right := []string(nil)
		if i+1 < len(columns) {
			right = columns[i+1]
		}
		pages = append(pages, draw.Beside(columns[i], right, width+gap, m.width))
	}
	return pages
}

// pressHelp takes a key on the help page.
func (m *model) pressHelp(key string) {
	switch key {
	case keyHelp, keyInfo, keyBack:
		m.help = false
	case keyUp, keyLeft, "pgup":
		m.helpPage--
	case keyDown, keyRight, "pgdown", " ", "enter":
		m.helpPage++
	}
}

// viewHelp explains the keys.
func (m *model) viewHelp() string {
	pages := m.helpPages()
	m.helpPage = max(0, min(m.helpPage, len(pages)-1))
	title, back := "Larkhand: keys of a round", "? or esc: back"
	if len(pages) > 1 {
		title += fmt.Sprintf(", page %d of %d", m.helpPage+1, len(pages))
		back = "left, right: other page   " + back
	}
	body := append([]string{m.styles.Strong.Render(title)}, pages[m.helpPage]...)
	return draw.Page(body, []string{m.styles.Quiet.Render(back)}, m.width, m.height)
}
