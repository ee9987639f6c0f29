package past

import (
	"context"
	"errors"
	"io"
	"sync"

	tea "github.com/charmbracelet/bubbletea"

	"larkhand/internal/journal"
	"larkhand/internal/round"
	"larkhand/internal/screen/draw"
)

// Smallest terminal that the screens fit into.
const (
	minWidth  = 60 // columns
	minHeight = 20 // rows
)

// Config is what the screens work with.
type Config struct {
	Journal *journal.Journal
	Filter  journal.Filter // the rounds that are listed at first
	Program string         // this version of the program
	// Judge judges a stored round from its files and keeps nothing.
	Judge func(context.Context, journal.Stored) (round.Round, error)
	// Rejudge judges a round again and keeps the result in the journal.
	Rejudge func(context.Context, journal.ID) (journal.Change, error)
	Speaker Speaker // plays sounds back; nil where there is none
	Silent  string  // one sentence on why there is no speaker and what would work
	Colour  bool
}

// Run shows the screens on a terminal until the player quits or ctx ends.
func Run(ctx context.Context, in io.Reader, out io.Writer, cfg Config) error {
	inner, stop := context.WithCancel(ctx)
	defer stop()
	m := newModel(inner, out, cfg)
	program := tea.NewProgram(m, tea.WithContext(ctx), tea.WithInput(in), tea.WithOutput(out), tea.WithAltScreen(), tea.WithoutSignalHandler())
	_, err := program.Run()
	stop()
	m.rest()
	if errors.Is(err, tea.ErrProgramKilled) && ctx.Err() != nil {
		err = ctx.Err()
	}
	return err
}

// view is one of the screens.
type view int

const (
	listView view = iota
	filterView
	roundView
	changesView
)

// model is the state of the screens.
type model struct {
	ctx           context.Context
	cfg           Config
	styles        draw.Styles
	width, height int
	view          view
	help          bool
	list          list
	filter        form
	open          open
	changes       changes
	asking        bool   // whether the chosen round is to be deleted
	message       string // what came of the last key
	wrong         bool   // message is an error
	deleted       []journal.Row
	volume        float64 // dB below full
	playing       playing
	working       sync.RWMutex // is read-locked by work beside the screen
}

func newModel(ctx context.Context, out io.Writer, cfg Config) *model {
	return &model{ctx: ctx, cfg: cfg, styles: draw.NewStyles(out, cfg.Colour), list: list{filter: cfg.Filter}, volume: startVolume}
}

// Init asks for the first page.
func (m *model) Init() tea.Cmd { return m.reload() }

// do runs work beside the screen; Run waits for it.
func (m *model) do(work func(context.Context) tea.Msg) tea.Cmd {
	return func() tea.Msg {
		m.working.RLock()
		defer m.working.RUnlock()
		if m.ctx.Err() != nil {
			return nil
		}
		return work(m.ctx)
	}
}

// rest waits for the work that has begun. m.ctx has ended, so that none begins any more.
func (m *model) rest() {
	m.working.Lock()
	defer m.working.Unlock()
	m.playing = playing{}
}

// tell shows what came of a key, or what went wrong.
func (m *model) tell(text string, err error) {
	m.message, m.wrong = text, err != nil
	if err != nil {
		m.message = err.Error()
	}
}

// Update takes one message.
func (m *model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.width, m.height = msg.Width, msg.Height
	case tea.KeyMsg:
		return m, m.press(msg)
	case pageMsg:
		return m, m.takePage(msg)
	case choicesMsg:
		m.takeChoices(msg)
	case openedMsg:
		m.takeOpened(msg)
	case markedMsg:
		return m, m.takeMarked(msg)
	case misheardMsg:
		return m, m.takeMisheard(msg)
	case changeMsg:
		return m, m.takeChange(msg)
	case dueMsg:
		return m, m.takeDue(msg)
	case soundMsg:
		return m, m.takeSound(msg)
	case playedMsg:
		return m, m.takePlayed(msg)
	}
	return m, nil
}

// press takes the keys of one message.
func (m *model) press(msg tea.KeyMsg) tea.Cmd {
	if m.view == filterView && !m.help {
		return m.pressFilter(msg)
	}
	var cmds []tea.Cmd
	for _, key := range single(msg) {
		cmds = append(cmds, m.pressKey(key))
	}
	return tea.Batch(cmds...)
}

// single takes apart keys that arrived in one read, which come as one message with several runes.
func single(msg tea.KeyMsg) []string {
	if msg.Type != tea.KeyRunes || msg.Paste || len(msg.Runes) < 2 {
		return []string{msg.String()}
	}
	keys := make([]string, len(msg.Runes))
	for i, r := range msg.Runes {
		keys[i] = string(r)
	}
	return keys
}

func (m *model) pressKey(key string) tea.Cmd {
	switch {
	case key == keyBreak:
		return m.quit()
	case m.asking:
		return m.answered(key)
	case key == keyHelp:
		m.help = !m.help
		return nil
	case m.help:
		m.help = key != keyBack && m.help
		return nil
	case key == keyQuit:
		return m.quit()
	}
	m.tell("", nil)
	switch m.view {
	case roundView:
		return m.pressRound(key)
	case changesView:
		return m.pressChanges(key)
	}
	return m.pressList(key)
}

func (m *model) quit() tea.Cmd {
	m.playing.end()
	m.changes.end()
	return tea.Quit
}

// View draws the screen.
func (m *model) View() string {
	switch {
	case m.width == 0:
		return "" // its size is not known yet
	case m.width < minWidth || m.height < minHeight:
		return draw.Page(draw.Wrap("The history needs at least 60 columns and 20 rows; make the window larger or the letters smaller. Nothing is lost.", m.width), nil, m.width, m.height)
	case m.help:
		return m.viewHelp()
	}
	switch m.view {
	case filterView:
		return m.viewFilter()
	case roundView:
		return m.viewRound()
	case changesView:
		return m.viewChanges()
	}
	return m.viewList()
}

// foot is what is to be said, and the keys.
func (m *model) foot(bindings []binding) []string {
	text := m.message
	switch {
	case m.asking:
		text = m.styles.Look.Render(draw.Clip(m.question(), m.width))
	case m.wrong:
		text = m.styles.Look.Render(draw.Clip("! "+text, m.width))
	}
	return []string{draw.Clip(text, m.width), m.styles.Quiet.Render(helpLine(bindings, m.width))}
}
