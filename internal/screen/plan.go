package screen

import (
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// planShown is true in the parts in which what is planned for the phrase is of use. In take 1 it is for that take still.
func planShown(p round.Part) bool { return p <= round.PartTake1 || p == round.PartVerdict }

// planned says what is planned for the phrase that is sung next; nil where nothing is.
func (m *model) planned(width int) []string {
	s := m.live.latest
	if s.Plan == nil || !planShown(s.View.Part) {
		return nil
	}
	const most = 2 // lines
	lines := cut(draw.Wrap(s.Plan.Text, width), most)
	for i := range lines {
		lines[i] = m.styles.Strong.Render(lines[i])
	}
	return lines
}

// plannedPane are what is planned and why, above what else a part shows before a take; nil where nothing is.
func (m *model) plannedPane(width int) []string {
	s := m.live.latest
	lines := m.planned(width)
	if lines == nil {
		return nil
	}
	for _, why := range s.Plan.Why {
		for _, line := range hanging("- ", why, width) {
			lines = append(lines, m.styles.Quiet.Render(line))
		}
	}
	return append(lines, "")
}
