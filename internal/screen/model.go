package screen

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"sync"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// Smallest terminal that the screens fit into.
const (
	MinWidth  = 60 // columns
	MinHeight = 20 // rows
)

// Session is a live session, as *practice.Session is one.
type Session interface {
	Run(ctx context.Context) error
	Do(a round.Action, amount int)
	Write(text string)
	Resize(rungs int)
	ChangeVolume(db float64)
	Snapshots() <-chan practice.Snapshot
}

// Devices are the names of the devices that the set-up offers, and of the phrases that are kept.
type Devices struct{ Microphones, Speakers, MIDIInputs, MIDIOutputs, Phrases []string }

// Offer is what is asked before practice begins: what earlier sessions left.
type Offer struct {
	Text       string                 // lines that say what is there
	Keep, Drop func() (string, error) // each says what was done
}

// Config is what the screens work with.
type Config struct {
	Settings Settings
	// Begin makes the session that is practised with a setup. It may be called again after a session has ended. The error is shown in the set-up.
	Begin func(Settings, round.Setup) (Session, error)
	// Remember keeps settings with which a session began; nil keeps none. Its error is shown.
	Remember func(Settings) error
	Kept     string         // one sentence on where rounds are kept, or that they are not
	Devices  func() Devices // may take seconds; nil: none are offered
	Offer    *Offer         // nil: nothing was left
	// Watch begins at once, leaves out the set-up, and takes any key that is not of another use for going on: a session that is looked at.
	Watch  bool
	About  string // a paragraph that stands where nothing is sung or played
	Colour bool
}

// Run shows the screens on a terminal until the player quits or ctx ends. It returns when the session that runs, if there is
// one, has ended too. The error is that of the terminal or of the last session.
func Run(ctx context.Context, in io.Reader, out io.Writer, cfg Config) error {
	m := newModel(ctx, out, cfg)
	program := tea.NewProgram(m, tea.WithContext(ctx), tea.WithInput(in), tea.WithOutput(out), tea.WithAltScreen(), tea.WithoutSignalHandler())
	_, err := program.Run()
	m.live.end()
	m.running.Wait()
	if errors.Is(err, tea.ErrProgramKilled) && ctx.Err() != nil {
		err = ctx.Err()
	}
	return errors.Join(err, m.live.failed)
}

// view is one of the screens.
type view int

const (
	setupView view = iota
	roundView
	offerView
)

// model is the state of the screens.
type model struct {
	ctx           context.Context
	cfg           Config
	styles        draw.Styles
	width, height int
	view          view
	help          bool
	helpPage      int
	keys          bool // the keys at hand are shown
	form          form
	live          *live
	running       sync.WaitGroup // sessions that have not ended
}

// Messages.
type (
	// snapshotMsg brings the newest snapshot of a session.
	snapshotMsg struct {
		of       *live
		snapshot practice.Snapshot
	}
	// endedMsg tells that a session has ended.
	endedMsg struct{ of *live }
	// devicesMsg brings the devices of this machine.
	devicesMsg struct{ found Devices }
)

func newModel(ctx context.Context, out io.Writer, cfg Config) *model {
	m := &model{ctx: ctx, cfg: cfg, styles: draw.NewStyles(out, cfg.Colour), form: newForm(cfg.Settings), live: &live{}}
	if cfg.Offer != nil {
		m.view = offerView
	}
	return m
}

// Init looks for devices, or begins what is only to be watched.
func (m *model) Init() tea.Cmd {
	if m.cfg.Watch {
		return m.begin()
	}
	return m.look()
}

// look looks for devices, beside the screens.
func (m *model) look() tea.Cmd {
	if m.cfg.Devices == nil || m.form.looking {
		return nil
	}
	m.form.looking = true
	return func() tea.Msg { return devicesMsg{m.cfg.Devices()} }
}

// Update takes one message.
func (m *model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.width, m.height = msg.Width, msg.Height
	case tea.KeyMsg:
		return m, m.press(msg)
	case snapshotMsg:
		if msg.of == m.live {
			m.live.take(msg.snapshot)
			m.follow(msg.snapshot)
			return m, m.live.wait()
		}
	case offeredMsg:
		m.offered(msg)
	case devicesMsg:
		m.form.devices, m.form.looking = msg.found, false
	case endedMsg:
		if msg.of == m.live {
			m.live.over = true
			m.live.failed = m.live.err
		}
	}
	return m, nil
}

// press takes the keys of one message.
func (m *model) press(msg tea.KeyMsg) tea.Cmd {
	switch {
	case m.help:
	case m.view == setupView:
		return m.pressSetup(msg)
	case m.view == offerView:
		return m.pressOffer(msg.String())
	case m.writes():
		return m.pressWriting(msg)
	}
	for _, key := range single(msg) {
		if cmd := m.pressRound(key); cmd != nil {
			return cmd
		}
	}
	return nil
}

func (m *model) pressRound(key string) tea.Cmd {
	switch {
	case key == keyBreak, key == keyQuit:
		return tea.Quit
	case m.help:
		m.pressHelp(key)
		return nil
	case key == keyHelp, key == keyInfo:
		m.help, m.helpPage = true, 0
		return nil
	case key == keyBack && m.cfg.Watch:
		return tea.Quit
	case key == keyBack:
		old := m.live
		m.live = &live{}
		m.view = setupView
		look := m.look()
		return func() tea.Msg {
			old.end() // its devices are free then
			if look == nil {
				return nil
			}
			return look()
		}
	case key == keyUp:
		m.live.scroll--
		return nil
	case key == keyDown:
		m.live.scroll++
		return nil
	case key == keyKeys:
		m.turnKeys()
		return nil
	case m.live.over:
		return nil
	case m.cfg.Watch:
		m.live.session.Do(round.GoOn, 0)
		return nil
	}
	if way := volumeWay(key); way != 0 {
		m.live.session.ChangeVolume(way * volumeStep)
		return nil
	}
	if way := sizeWay(key); way != 0 {
		m.live.session.Resize(way)
		return nil
	}
	if b, ok := bound(key); ok && b.acts {
		if b.action == round.HearNotes {
			m.live.keysOver = false
		}
		m.live.session.Do(b.action, b.amount)
	}
	return nil
}

// pressSetup takes a key in the set-up.
func (m *model) pressSetup(msg tea.KeyMsg) tea.Cmd {
	switch msg.String() {
	case keyBreak, keyBack:
		return tea.Quit
	case keyHelp:
		m.help, m.helpPage = true, 0
		return nil
	case "enter":
		return m.begin()
	case "ctrl+r":
		return m.look()
	}
	m.form.press(msg)
	return nil
}

// begin starts a session with the settings, or says what keeps it from that.
func (m *model) begin() tea.Cmd {
	setup, err := m.form.settings.Setup()
	if err != nil {
		m.form.refuse(err)
		return nil
	}
	session, err := m.cfg.Begin(m.form.settings, setup)
	if err != nil {
		m.form.refuse(err)
		return nil
	}
	m.live = start(m.ctx, session, setup, &m.running)
	if m.cfg.Remember != nil {
		if err := m.cfg.Remember(m.form.settings); err != nil {
			m.live.remark = err.Error()
		}
	}
	m.form.refuse(nil)
	m.view = roundView
	return m.live.wait()
}

// follow remembers what a round changed: what goes on, the volume, the parts that are silent.
func (m *model) follow(s practice.Snapshot) {
	before, v := m.form.settings, s.View
	setup, err := before.Setup()
	if err != nil || v.PartName == "" {
		return // nothing is known of the round yet
	}
	now, told := before, ""
	if text := goOnText(v.GoOnKey, v.GoOnPedal); text != "" && (setup.GoOnKey != v.GoOnKey || setup.GoOnPedal != v.GoOnPedal) {
		now.GoOn, told = text, "From now on "+goOnName(text)+" goes on."
	}
	if db, err := volume(cmp.Or(before.Volume, usualVolume)); s.HasVolume && err == nil && db != s.Volume {
		now.Volume = fmt.Sprintf("%.0f", s.Volume)
	}
	if setup.Muted != v.Muted && before.Sound != clickAlone {
		now.Muted = mutedText(v.Muted)
	}
	if now == before {
		return
	}
	m.form.settings = now
	if told != "" {
		m.live.told, m.live.toldAt = told, s.Time
	}
	if m.cfg.Remember != nil {
		if err := m.cfg.Remember(now); err != nil {
			m.live.remark = err.Error()
		}
	}
}

// goOnName is what goes on, in a sentence.
func goOnName(text string) string {
	if text == pedalWord {
		return "the sustain pedal"
	}
	return "the key " + text
}

// View draws the screen.
func (m *model) View() string {
	switch {
	case m.width == 0:
		return "" // its size is not known yet
	case m.width < MinWidth || m.height < MinHeight:
		return draw.Page(draw.Wrap("Larkhand needs at least 60 columns and 20 rows; make the window larger or the letters smaller. Nothing is lost.", m.width), nil, m.width, m.height)
	case m.help:
		return m.viewHelp()
	case m.view == offerView:
		return m.viewOffer()
	case m.view == setupView:
		return m.viewSetup()
	case m.live.verdictStands():
		return m.viewVerdict()
	}
	return m.viewRound()
}
