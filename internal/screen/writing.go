package screen

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/entry"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// This file is where numbers and letters are written down between take 2 and the answer. Nothing here knows what was sung.

// draft is what is being written in a part.
type draft struct {
	part    round.Part
	round   int
	text    []rune
	at      int    // the cursor stands before this rune
	handed  bool   // it was handed in, and the session has not gone on yet
	refused string // why a key or the whole was not taken
}

// Bounds of writing (own choices).
const (
	longestDraft = 500 // runes: more than any phrase that is sung from memory
	secondEnter  = 0.5 // s in which the same press must not leave out the next step too
)

// kindOf is what is written down in a part.
func kindOf(p round.Part) (kind entry.Kind, written bool) {
	if p == round.PartLetters {
		return entry.Letters, true
	}
	return entry.Numbers, p == round.PartNumbers
}

// writes is true where keys write.
func (m *model) writes() bool {
	_, written := kindOf(m.live.latest.View.Part)
	return written && m.view == roundView && !m.help && !m.cfg.Watch && !m.live.over
}

// keep keeps the draft as long as its part goes on.
func (d *draft) keep(v round.View) {
	if d.part != v.Part || d.round != v.Round {
		*d = draft{part: v.Part, round: v.Round}
	}
}

// write puts runes where the cursor is; what cannot be shown is left out.
func (d *draft) write(runes []rune) {
	var clean []rune
	for _, r := range runes {
		switch {
		case unicode.IsSpace(r):
			clean = append(clean, ' ')
		case unicode.IsPrint(r):
			clean = append(clean, r)
		}
	}
	if len(d.text)+len(clean) > longestDraft {
		d.refused = fmt.Sprintf("A line has at most %d characters: write one phrase.", longestDraft)
		return
	}
	d.text = slices.Insert(d.text, d.at, clean...)
	d.at += len(clean)
}

// edit takes a key that mends what is written; ok is false for any other.
func (d *draft) edit(key string) (ok bool) {
	switch key {
	case keyLeft:
		d.at = max(0, d.at-1)
	case keyRight:
		d.at = min(len(d.text), d.at+1)
	case "home", "ctrl+a":
		d.at = 0
	case "end", "ctrl+e":
		d.at = len(d.text)
	case "backspace":
		if d.at > 0 {
			d.at--
			d.text = slices.Delete(d.text, d.at, d.at+1)
		}
	case "delete":
		if d.at < len(d.text) {
			d.text = slices.Delete(d.text, d.at, d.at+1)
		}
	case "ctrl+u":
		d.text, d.at = nil, 0
	default:
		return false
	}
	return true
}

// inNoEntry is true for a letter that is part of no number and of no letter name.
func inNoEntry(r rune) bool {
	r = unicode.ToLower(r)
	return r >= 'h' && r <= 'z' && r != 'n'
}

// pressWriting takes the keys of one message while numbers or letters are written.
func (m *model) pressWriting(msg tea.KeyMsg) tea.Cmd {
	d := &m.live.draft
	if msg.Paste {
		d.handed, d.refused = false, ""
		d.write(msg.Runes)
		return nil
	}
	for _, key := range single(msg) {
		if !m.writes() {
			return m.pressRound(key)
		}
		if cmd := m.pressWritingKey(d, key); cmd != nil {
			return cmd
		}
	}
	return nil
}

func (m *model) pressWritingKey(d *draft, key string) tea.Cmd {
	refused := d.refused
	d.refused = ""
	switch key {
	case keyBreak, keyBack:
		return m.pressRound(key)
	case keyInfo:
		d.refused = refused
		return m.pressRound(key)
	case "enter":
		m.handIn(d)
		return nil
	case keyUp:
		m.live.session.ChangeVolume(volumeStep)
		return nil
	case keyDown:
		m.live.session.ChangeVolume(-volumeStep)
		return nil
	}
	if d.edit(key) {
		d.handed = false
		return nil
	}
	runes := []rune(key)
	switch b, ok := bound(key); {
	case ok && b.writing:
		return m.pressRound(key)
	case len(runes) == 1 && inNoEntry(runes[0]):
		d.refused = fmt.Sprintf("%q is no part of a number or letter, and no key while you write: i names the keys.", key)
	case len(runes) == 1:
		d.handed = false
		d.write(runes)
	}
	return nil
}

// handIn gives what is written to the session where it can be read.
func (m *model) handIn(d *draft) {
	v := m.live.latest.View
	kind, _ := kindOf(v.Part)
	text := strings.TrimSpace(string(d.text))
	switch _, err := reader(v, m.live.setup).Read(kind, text); {
	case d.handed, text == "" && v.Elapsed < secondEnter:
	case text == "" && takeSounds(v):
		m.live.session.Do(round.GoOn, 0)
	case err != nil:
		d.refused = sentence(err.Error())
	default:
		d.handed = true
		m.live.session.Write(text)
	}
}

// takeSounds is true where going on ends what sounds and no more.
func takeSounds(v round.View) bool {
	return v.Sound.What == round.TakeSound || v.Sound.What == round.NotesSound
}

// reader reads what is written in the key of the round.
func reader(v round.View, setup round.Setup) entry.Reader {
	return entry.Reader{Key: keyOf(v), Numbering: setup.Numbering}
}

// sentence makes an error a sentence.
func sentence(text string) string {
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// understood says how what is written is read, or why it cannot be. It says how many notes there are and how the key itself writes
// them, never letters where numbers are asked.
func understood(v round.View, setup round.Setup, text string) (said, wrong string) {
	kind, _ := kindOf(v.Part)
	if kind == entry.Numbers { // a sign whose number is still to come
		text = strings.TrimRight(text, "#b♯♭n♮ ")
	}
	r := reader(v, setup)
	notes, err := r.Read(kind, text)
	switch {
	case err != nil:
		return "", sentence(err.Error())
	case len(notes) == 0:
		return fmt.Sprintf("Enter without %s leaves this step out.", kind), ""
	}
	var typed []string
	unheard := 0
	for _, n := range notes {
		typed = append(typed, n.Typed)
		if n.Class == entry.Unheard {
			unheard++
		}
	}
	said = countedNotes(len(notes))
	if unheard > 0 {
		said += fmt.Sprintf(", %d of them not heard", unheard)
	}
	said += ": " + strings.Join(typed, " ")
	if v.Key == nil {
		return said, ""
	}
	var own []string
	given, key := r.Respelled(kind, notes)
	for i := range given {
		own = append(own, fmt.Sprintf("%s is %s", given[i], key[i]))
	}
	if len(own) > 0 {
		said += fmt.Sprintf(". In %s %s", *v.Key, strings.Join(own, ", "))
	}
	return said, ""
}

func countedNotes(n int) string {
	if n == 1 {
		return "1 note"
	}
	return fmt.Sprintf("%d notes", n)
}

// writingPane is the line that is written, how it is read, and what goes below.
func (m *model) writingPane(v round.View, width, rows int) []string {
	d := &m.live.draft
	said, wrong := understood(v, m.live.setup, string(d.text))
	if d.refused != "" {
		wrong = d.refused
	}
	const most = 2 // lines for how it is read, and for what is wrong
	var under []string
	for _, line := range cut(draw.Wrap(said, width), most) {
		under = append(under, m.styles.Quiet.Render(line))
	}
	if wrong != "" {
		under = nil
		for _, line := range cut(draw.Wrap(wrong, width), most) {
			under = append(under, m.styles.Look.Render(line))
		}
	}
	under = draw.Fill(under, most) // what is below stands still
	below := m.belowWriting(v, width, rows)
	line := largeLine(d.text, d.at, width, rows-most)
	if below != nil || line == nil {
		line = plainLine(d.text, d.at, width)
	}
	for i := range line {
		line[i] = m.styles.Strong.Render(line[i])
	}
	out := append(line, under...)
	if below == nil {
		below = m.chartLines(v, width)
	}
	return append(out, below[:max(0, min(len(below), rows-len(out)))]...)
}

// belowWriting are the keys at hand, or what was understood while it is heard, where they are to be seen below what is written; else nil.
func (m *model) belowWriting(v round.View, width, rows int) []string {
	const above = 4 // lines of what is written and how it is read
	switch {
	case m.shape(v) > 0 && (m.width >= panelBeside || m.shapeCovers(v)):
		return m.shapePane(v, width, rows-above)
	case m.keys && m.width < panelBeside:
		return m.keysPanel(v, width, rows-above)
	}
	return nil
}

func cut(lines []string, most int) []string { return lines[:min(most, len(lines))] }

// cursorMark stands under the place where the next character is written.
const cursorMark = '▔'

// plainLine is what is written in letters of the usual size, and under it the cursor; of a long one the part round the cursor.
func plainLine(text []rune, at, width int) []string {
	from := max(0, min(at-width/2, len(text)+1-width))
	shown := text[from:min(len(text), from+width)]
	return []string{string(shown), strings.Repeat(" ", at-from) + string(cursorMark)}
}
