package screen

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

// countedOffer counts what it is answered.
func countedOffer(kept, dropped *int, fault error) *Offer {
	return &Offer{
		Text: "A round was broken off.",
		Keep: func() (string, error) { *kept++; return "It is kept.", fault },
		Drop: func() (string, error) { *dropped++; return "It is gone.", fault },
	}
}

// An offer is answered once, stands where that fails, and is left for later by l.
func TestOffer(t *testing.T) {
	for _, c := range []struct {
		key           string
		fault         error
		kept, dropped int
		view          view
		told          string
	}{
		{keyKeep, nil, 1, 0, setupView, "It is kept."},
		{keyDrop, nil, 0, 1, setupView, "It is gone."},
		{keyLater, nil, 0, 0, setupView, "It is offered again at the next start."},
		{keyDrop, errors.New("the disk is full"), 0, 1, offerView, "the disk is full"},
		{"z", nil, 0, 0, offerView, ""},
	} {
		kept, dropped := 0, 0
		m := newModel(t.Context(), io.Discard, Config{Settings: Usual(), Offer: countedOffer(&kept, &dropped, c.fault)})
		_, cmd := m.Update(key(c.key))
		if _, again := m.Update(key(keyDrop)); cmd != nil && again != nil {
			t.Errorf("%s: a second key is taken while the first is being done", c.key)
		}
		if cmd != nil {
			m.Update(cmd())
		}
		if kept != c.kept || dropped != c.dropped || m.view != c.view || m.form.told != c.told {
			t.Errorf("%s: kept %d, dropped %d, view %d, told %q; want %+v", c.key, kept, dropped, m.view, m.form.told, c)
		}
	}
}

// One can quit without an answer to the offer.
func TestQuitAtTheOffer(t *testing.T) {
	kept, dropped := 0, 0
	m := newModel(t.Context(), io.Discard, Config{Settings: Usual(), Offer: countedOffer(&kept, &dropped, nil)})
	_, cmd := m.Update(tea.KeyMsg{Type: tea.KeyCtrlC})
	if _, quits := cmd().(tea.QuitMsg); !quits || kept+dropped > 0 {
		t.Errorf("quits %v, kept %d, dropped %d", quits, kept, dropped)
	}
}

// Line by line the offer comes before the session; it is asked again until it is answered, and left where the lines end.
func TestPlainOffer(t *testing.T) {
	for _, c := range []struct {
		lines         string
		fault         error
		kept, dropped int
		begun         bool
		say           string
	}{
		{"\nk\nq\n", nil, 1, 0, true, "It is kept."},
		{"t\nq\n", nil, 0, 1, true, "It is gone."},
		{"l\nq\n", nil, 0, 0, true, "offered again"},
		{"t\nl\nq\n", errors.New("the disk is full"), 0, 1, true, "the disk is full"},
		{"q\n", nil, 0, 0, false, "One letter and enter"},
	} {
		kept, dropped, begun := 0, 0, false
		var out bytes.Buffer
		err := Plain(t.Context(), strings.NewReader(c.lines), &out, PlainConfig{Offer: countedOffer(&kept, &dropped, c.fault), Begin: func() (Session, error) {
			begun = true
			return &toldSession{newSilentSession(), nil, make(chan struct{})}, nil
		}})
		if err != nil || kept != c.kept || dropped != c.dropped || begun != c.begun || !strings.Contains(out.String(), c.say) {
			t.Errorf("%q: error %v, kept %d, dropped %d, begun %v; want %+v; said\n%s", c.lines, err, kept, dropped, begun, c, out.String())
		}
	}
}
