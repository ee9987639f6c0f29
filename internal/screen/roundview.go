package screen

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"

	"larkhand/internal/music"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// Sizes of a terminal, columns and rows: from roomyWidth and roomyHeight on the chord is written largest.
const (
	roomyWidth  = 78
	roomyHeight = 23
	wideWidth   = 130 // from where on the next chord is written large too
	nextColumns = 36
)

// viewRound draws the round as it goes.
func (m *model) viewRound() string {
	v := m.live.latest.View
	body := []string{m.facts(v)}
	body = append(body, m.large(v)...)
	body = append(body, m.underLarge(v), m.styles.Strong.Render(m.promptLine(v)))
	foot := m.foot()
	const usualFoot = 2 // lines; a longer warning covers lines of the page, which stands still
	if room := m.height - len(body) - usualFoot; room > 0 {
		pane := m.paneWithKeys(v, room)
		written := v.Part.Take() > 0 || v.Part == round.PartAnswer // then the last line says what sounds just now
		if covered := len(foot) - usualFoot; covered > 0 && written && len(pane) == room && covered < room {
			pane = append(pane[:room-1-covered:room-1-covered], pane[room-1])
		}
		body = append(body, pane...)
	}
	return draw.Page(body, foot, m.width, m.height)
}

// facts is the line on top: what this round is.
func (m *model) facts(v round.View) string {
	parts := []string{"Larkhand"}
	if v.Round > 0 {
		parts = append(parts, fmt.Sprintf("round %d", v.Round))
	}
	if v.Key != nil {
		parts = append(parts, v.Key.String())
	} else {
		parts = append(parts, "key guessed")
	}
	if v.Tempo > 0 {
		parts = append(parts, fmt.Sprintf("%g a minute", v.Tempo))
	}
	if v.Steps {
		parts = append(parts, "steps")
	}
	if v.InPieces {
		parts = append(parts, "in pieces")
	}
	if v.NextKey != nil && v.Key != nil && *v.NextKey != *v.Key {
		parts = append(parts, "next in "+v.NextKey.String())
	}
	if v.NextTempo != v.Tempo && v.NextTempo > 0 {
		parts = append(parts, fmt.Sprintf("next at %g", v.NextTempo))
	}
	if silent := mutedText(v.Muted); silent != "" {
		parts = append(parts, "silent: "+silent)
	}
	if s := m.live.latest; s.HasVolume {
		parts = append(parts, fmt.Sprintf("%.0f dB", s.Volume))
	}
	who := ""
	if v.Turn.Name != "" {
		who = v.Turn.Name
	}
	return draw.Ends(draw.Clip(strings.Join(parts, "  "), m.width-lipgloss.Width(who)-1), who, m.width)
}

// large is what can be read from across the room: the part, what is left of it, and the chord.
func (m *model) large(v round.View) []string {
	height := (glyphRows + 1) / 2
	if m.width >= roomyWidth && m.height >= roomyHeight {
		height = glyphRows
	}
	left := m.leftWidth()
	name := v.PartName
	switch { // the large letters have no room for more
	case v.WaitsFor != "":
		name = "wait"
	case v.Part == round.PartIdle:
		name = "ready"
	case v.Part == round.PartCountIn && m.width < roomyWidth:
		name = "count"
	case v.Part == round.PartThinking:
		name = "think"
	case v.Part == round.PartLoopAlone:
		name = "loop"
	case v.Piece > 0 && v.Part == round.PartAnswer:
		name = fmt.Sprintf("piece %d", v.Piece)
	}
	block, count := []string(nil), m.count(v)
	if count == "" { // then a long name has its room
		block = big(strings.ToUpper(name), left-2, (glyphRows+1)/2)
	} else {
		part := big(strings.ToUpper(name), left-2-countColumns, (glyphRows+1)/2)
		block = draw.Beside(part, big(count, countColumns, (glyphRows+1)/2), left-2-countColumns, left-2)
	}
	if height == glyphRows {
		block = append([]string{""}, block...)
	}
	chord := ""
	if v.HasLoop {
		chord = v.Chord.String()
	}
	now := bigChord(chord, m.width-left, height)
	if m.width >= wideWidth && v.HasLoop && v.Next != v.Chord {
		const arrow = "  then  "
		next := bigChord(v.Next.String(), m.width-wideWidth+nextColumns, (glyphRows+1)/2)
		next[len(next)/2] = draw.Pad(arrow, len(arrow)) + next[len(next)/2]
		for i := range next {
			if i != len(next)/2 {
				next[i] = draw.Pad("", len(arrow)) + next[i]
			}
		}
		now = draw.Beside(now, append([]string{""}, next...), m.width-left-nextColumns-(m.width-wideWidth)/2, m.width-left)
	}
	lines := draw.Beside(block, now, left, m.width)
	for len(lines) < height {
		lines = append(lines, "")
	}
	for i, line := range lines {
		lines[i] = m.styles.Strong.Render(line)
	}
	return lines
}

// countColumns is the room for a large number of two digits.
const countColumns = 8

// leftWidth is the room for the part and what is left of it; on a narrow terminal "ANSWER" just fits.
func (m *model) leftWidth() int {
	const roomy, narrow = 44, 37 // columns
	if m.width >= roomyWidth {
		return roomy
	}
	return narrow
}

// count is the large number: bars left, or in the last bar the beats.
func (m *model) count(v round.View) string {
	switch {
	case v.Open || v.Part == round.PartIdle || v.Part == round.PartVerdict || v.Part == round.PartOver:
		return ""
	case v.BarsLeft > 0:
		return fmt.Sprint(v.BarsLeft)
	case v.BeatsLeft > 0:
		return fmt.Sprint(v.BeatsLeft)
	}
	return fmt.Sprintf("%.0f", math.Ceil(v.SecondsLeft))
}

// underLarge says in words what the large letters show.
func (m *model) underLarge(v round.View) string {
	left := ""
	switch {
	case v.Open:
		left = fmt.Sprintf("%s; ends by itself", v.PartName)
		if v.Part == round.PartThinking {
			left = "thinking room until you play"
		}
		if _, writes := kindOf(v.Part); writes {
			left = fmt.Sprintf("%.0f s so far", math.Floor(v.Elapsed))
		}
		if v.Piece > 0 && v.Part == round.PartAnswer {
			left = fmt.Sprintf("answer in pieces: piece %d", v.Piece)
		}
	case m.count(v) == "":
	case v.BarsLeft > 0 || v.BeatsLeft > 0:
		left = leftInWords(v)
	default:
		left = fmt.Sprintf("%.0f s left", math.Ceil(v.SecondsLeft))
	}
	right := ""
	if v.HasLoop {
		right = fmt.Sprintf("bar %d of %d %s", v.Bar, v.Bars, beatMarks(v))
		if v.Next != v.Chord {
			right += "  next " + m.styles.Strong.Render(v.Next.String())
		}
	}
	return draw.Beside([]string{left}, []string{right}, min(m.leftWidth(), m.width/2), m.width)[0]
}

// beatMarks are the beats of the bar, with those that have begun filled.
func beatMarks(v round.View) string {
	const most = 12
	if v.Beats > most {
		return fmt.Sprintf("beat %d", v.Beat)
	}
	return strings.Repeat("●", min(v.Beat, v.Beats)) + strings.Repeat("○", max(0, v.Beats-v.Beat))
}

// leftInWords counts bars and beats.
func leftInWords(v round.View) string {
	var out []string
	for _, c := range []struct {
		n    int
		noun string
	}{{v.BarsLeft, "bar"}, {v.BeatsLeft, "beat"}} {
		switch {
		case c.n == 1:
			out = append(out, "1 "+c.noun)
		case c.n > 1:
			out = append(out, fmt.Sprintf("%d %ss", c.n, c.noun))
		}
	}
	return strings.Join(out, ", ") + " left"
}

func (m *model) promptLine(v round.View) string {
	s := m.live.latest
	switch {
	case m.live.over && s.Result == nil:
		return "The session is over; no round was finished."
	case s.Judging:
		return "Judging what was sung and played ..."
	}
	return v.Prompt
}

// paneWithKeys is the pane with the keys at hand beside it where they are shown, or in its place; what sounds just now stays below.
func (m *model) paneWithKeys(v round.View, rows int) []string {
	_, writes := kindOf(v.Part)
	switch {
	case !m.keys:
		return m.pane(v, m.width, rows)
	case m.width >= panelBeside:
		const gap = 2 // columns
		return draw.Beside(m.pane(v, m.width-panelWidth-gap, rows), m.keysPanel(v, panelWidth, rows), m.width-panelWidth, m.width)
	case writes, m.shapeCovers(v): // what is written leaves the keys room; what is heard has theirs
		return m.pane(v, m.width, rows)
	}
	now := m.nowLine(v, m.width)
	if now == "" {
		return m.keysPanel(v, m.width, rows)
	}
	panel := m.keysPanel(v, m.width, rows-1)
	return append(draw.Fill(panel, rows-1), now)
}

// nowLine says what is sung or played just now; "" where nothing can be.
func (m *model) nowLine(v round.View, width int) string {
	switch {
	case v.Part.Take() > 0:
		return m.voiceLine(v)
	case v.Part == round.PartAnswer:
		return m.playedLine(v, width)
	}
	return ""
}

// pane is what is sung or played just now.
func (m *model) pane(v round.View, width, rows int) []string {
	s := m.live.latest
	if _, writes := kindOf(v.Part); writes {
		return m.writingPane(v, width, rows)
	}
	if m.shape(v) > 0 {
		return m.shapePane(v, width, rows)
	}
	if take := v.Part.Take(); take > 0 {
		trail := s.Trails[take-1]
		p := newPaper(v, m.live.setup, width, rows-1, reached(trail), lead(s, trail))
		p.top = moveFor(pitches(s.Trails[:take]...), p.rows, usualMiddle)
		p.rule()
		p.sing(trail)
		return append(p.lines(m.styles), m.nowLine(v, width))
	}
	if v.Part == round.PartAnswer {
		var played []float64
		for _, n := range s.Played {
			for range settle {
				played = append(played, n.Pitch)
			}
		}
		end := 0.0
		if n := len(s.Played); n > 0 {
			end = s.Played[n-1].Onset
		}
		p := newPaper(v, m.live.setup, width, rows-1, end, 0)
		p.top = moveFor(played, p.rows, usualMiddle)
		p.rule()
		p.play(s.Played)
		return append(p.lines(m.styles), m.nowLine(v, width))
	}
	lines := append(m.plannedPane(width), m.chartLines(v, width)...)
	if m.cfg.About != "" {
		lines = append(append(lines, ""), draw.Wrap(m.cfg.About, width)...)
	}
	return lines
}

// chartLines are the bars of the loop, four on a line, with a mark at the one that sounds.
func (m *model) chartLines(v round.View, width int) []string {
	if !v.HasLoop {
		return nil
	}
	const perLine = 4
	chart := soundingChart(v, m.live.setup)
	width /= perLine
	lines := []string{""}
	for i, bar := range chart.Bars {
		if i%perLine == 0 {
			lines = append(lines, "")
		}
		mark := "  "
		if i+1 == v.Bar {
			mark = "> "
		}
		one := music.Chart{Meter: music.CommonTime, Bars: []music.Bar{bar}}
		cell := draw.Pad(mark+one.String(), width-1) + " "
		if i+1 == v.Bar {
			cell = m.styles.Strong.Render(cell)
		}
		lines[len(lines)-1] += cell
	}
	return lines
}

// reached is how far a trail has come, s.
func reached(trail []practice.Point) float64 {
	if len(trail) == 0 {
		return 0
	}
	return trail[len(trail)-1].Time
}

// lead is how long before the part's bar line the recording of its take began, s: the newest point has the same moment on both clocks.
func lead(s practice.Snapshot, trail []practice.Point) float64 {
	if len(trail) == 0 {
		return 0
	}
	recorded := s.Pitch.Time - reached(trail)
	return math.Min(round.MaxCutBack, math.Max(0, s.Time-s.View.Elapsed-recorded))
}

// voiceLine says what sounds just now: the nearest key, its degree and how many cents the voice lies off it, beside a scale of cents.
func (m *model) voiceLine(v round.View) string {
	p := m.live.latest.Pitch
	if !v.Singing || math.IsNaN(p.Pitch) || math.IsInf(p.Pitch, 0) {
		return m.styles.Quiet.Render("no voice   flat " + centsScale(math.NaN()) + " sharp")
	}
	key := keyOf(v)
	near := math.Round(p.Pitch)
	cents := 100 * (p.Pitch - near)
	return m.styles.AsSung.Render(fmt.Sprintf("%-3s %-4s %+3.0f cents", key.Degree(int(near), m.live.setup.Numbering), key.Letter(int(near)), cents)) +
		"   flat " + centsScale(cents) + " sharp"
}

// centsScale is a scale from -50 to +50 cents with a mark on it; NaN has none.
func centsScale(cents float64) string {
	const half = 10 // marks on each side, 5 cents each
	marks := []rune(strings.Repeat("-", half) + "|" + strings.Repeat("-", half))
	if !math.IsNaN(cents) {
		const widest = 50 // cents
		marks[half+int(math.Round(math.Max(-widest, math.Min(widest, cents))*half/widest))] = '●'
	}
	return "[" + string(marks) + "]"
}

// playedLine lists the played notes; the newest ones where not all fit.
func (m *model) playedLine(v round.View, width int) string {
	key := keyOf(v)
	line := ""
	for _, n := range slices.Backward(m.live.latest.Played) {
		letter := key.Letter(int(math.Round(n.Pitch))).String()
		if len(line)+len(letter)+len("played:  ... ") > width {
			line = "... " + line
			break
		}
		line = letter + " " + line
	}
	if line == "" {
		return m.styles.Quiet.Render("nothing played yet")
	}
	return m.styles.AsSung.Render("played: " + strings.TrimSpace(line))
}

// mostWarningLines is how many lines a warning may take.
const mostWarningLines = 3

// foot is the warning that counts now, and the keys.
func (m *model) foot() []string {
	foot := []string{""}
	if text, style := m.warning(); text != "" {
		foot = draw.Wrap(text, m.width)
		foot = foot[:min(mostWarningLines, len(foot))]
		for i := range foot {
			foot[i] = style.Render(foot[i])
		}
	}
	keys := helpLine(m.live.latest, m.width)
	if m.cfg.Watch {
		keys = "any key: skip forward   s scale   up/down move   ? help   q"
	}
	return append(foot, m.styles.Quiet.Render(keys))
}

// warning is what counts now: a fault, a device that is waited for, or the newest warning that is not old yet. A care note is quieter.
func (m *model) warning() (string, lipgloss.Style) {
	const stands = 8.0 // s: time to look up and read it twice; own choice
	const mark = "! "
	s, look := m.live.latest, m.styles.Look
	switch {
	case m.live.failed != nil:
		return mark + m.live.failed.Error(), look
	case s.View.WaitsFor != "":
		return mark + "waiting for the " + s.View.WaitsFor, look
	}
	told := m.live.told != "" && s.Time-m.live.toldAt < stands
	sounds := s.View.Sounding != ""
	if n := len(s.Notices); n > 0 && s.Time-s.Notices[n-1].Time < stands {
		notice := s.Notices[n-1]
		switch { // what a key did goes before what was said earlier
		case sounds && notice.Time < s.Time-s.View.SoundFor, told && notice.Time < m.live.toldAt:
		case notice.Warning == round.Care:
			return "Care: " + notice.Text, m.styles.Strong
		default:
			return mark + notice.Text, look
		}
	}
	switch {
	case sounds:
		return fmt.Sprintf("You hear %s.", s.View.Sounding), m.styles.Strong
	case told && m.live.told == misheardText && s.View.Part == round.PartVerdict: // its head says so
		return "", look
	case told:
		return m.live.told, m.styles.Strong
	case m.live.remark != "":
		return mark + m.live.remark, look
	case s.View.Misheard && s.View.Part != round.PartVerdict:
		return misheardText, m.styles.Strong
	case s.Plan != nil && s.View.Part.Take() > 0: // in one line: it must not cover the page
		return draw.Clip(s.Plan.Text, m.width), m.styles.Quiet
	}
	return "", look
}
