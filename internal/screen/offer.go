package screen

import (
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/screen/draw"
)

// offerKeys is the line that says what an offer can be answered.
const offerKeys = "k keep (judged where there is an answer)  t throw away  l later"

// answer does what a key says of an offer. done is false where the key says nothing, or where it could not be done.
func (o *Offer) answer(key string) (told string, done bool) {
	var act func() (string, error)
	switch key {
	case keyKeep:
		act = o.Keep
	case keyDrop:
		act = o.Drop
	case keyLater:
		return "It is offered again at the next start.", true
	default:
		return "", false
	}
	told, err := act()
	if err != nil {
		return err.Error(), false
	}
	return told, true
}

// offeredMsg tells what became of the offer.
type offeredMsg struct {
	told string
	done bool
}

// pressOffer takes a key at the offer.
func (m *model) pressOffer(key string) tea.Cmd {
	switch {
	case key == keyBreak, key == keyQuit, key == keyBack:
		return tea.Quit
	case m.form.answering || key != keyKeep && key != keyDrop && key != keyLater:
		return nil
	}
	m.form.answering = true
	offer := m.cfg.Offer
	return func() tea.Msg {
		told, done := offer.answer(key)
		return offeredMsg{told, done}
	}
}

// offered goes on to the set-up where the offer was dealt with.
func (m *model) offered(msg offeredMsg) {
	m.form.answering, m.form.told = false, msg.told
	if msg.done {
		m.view = setupView
	}
}

// viewOffer draws the offer.
func (m *model) viewOffer() string {
	body := []string{m.styles.Strong.Render("Larkhand: before you begin"), ""}
	for line := range strings.SplitSeq(m.cfg.Offer.Text, "\n") {
		body = append(body, draw.Wrap(line, m.width)...)
	}
	body = append(body, "")
	for _, choice := range []string{
		"k   keep: judge what has an answer, and put the rest aside",
		"t   throw away: it is deleted for good",
		"l   later: leave it where it is; it is offered again",
	} {
		body = append(body, draw.Wrap(choice, m.width)...)
	}
	var foot []string
	switch {
	case m.form.answering:
		foot = []string{"One moment ..."}
	case m.form.told != "":
		for _, line := range draw.Wrap("! "+m.form.told, m.width) {
			foot = append(foot, m.styles.Look.Render(line))
		}
	}
	foot = append(foot, m.styles.Quiet.Render(draw.Clip("k keep  t throw away  l later  q quit", m.width)))
	return draw.Page(body, foot, m.width, m.height)
}
