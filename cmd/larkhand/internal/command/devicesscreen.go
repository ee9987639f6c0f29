package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
)

const (
	meterFloor   = -60.0 // dBFS at the left end of the meter (common practice, no source)
	meterWidth   = 48    // columns at most
	keyLines     = 8     // of the MIDI monitor
	remarkStands = 5.0   // s
)

// monitorModel is what the monitor shows on a terminal. It is drawn below the list and stays there.
type monitorModel struct {
	mic, port string // names
	width     int
	now       float64
	level     *monitorLine
	micGone   bool
	remark    string
	remarked  float64
	keys      []string // the newest last
}

type endOfWatch struct{ err error }

// monitorScreen shows the monitor until q, Esc or Ctrl-C, or the end of ctx.
func monitorScreen(ctx context.Context, in io.Reader, out io.Writer, mic, port string, opened monitored) error {
	ctx, cancel := context.WithCancel(ctx)
	program := tea.NewProgram(monitorModel{mic: mic, port: port}, tea.WithInput(in), tea.WithOutput(out), tea.WithoutSignalHandler())
	watched := make(chan error, 1)
	go func() {
		err := watch(ctx, opened, screenEvery, func(m monitorLine) error {
			program.Send(m)
			return nil
		})
		program.Send(endOfWatch{err})
		watched <- err
	}()
	_, err := program.Run()
	cancel()
	return errors.Join(err, <-watched)
}

// Init asks for nothing.
func (m monitorModel) Init() tea.Cmd { return nil }

// Update takes one message.
func (m monitorModel) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.width = msg.Width
	case tea.KeyMsg:
		switch msg.String() {
		case "q", "esc", "ctrl+c":
			return m, tea.Quit
		}
	case endOfWatch:
		return m, tea.Quit
	case monitorLine:
		m.take(msg)
	}
	return m, nil
}

// take keeps a line.
func (m *monitorModel) take(line monitorLine) {
	m.now = max(m.now, line.Time)
	switch {
	case line.Level != nil:
		m.level, m.micGone = &line, false
	case line.Remark != "":
		m.remark, m.remarked = line.Remark, line.Time
	case line.Device == "microphone":
		m.micGone = line.Status == "gone"
	default:
		m.key(line)
	}
}

func (m *monitorModel) key(line monitorLine) {
	m.keys = append(m.keys, fmt.Sprintf("%7.1f s  %s", line.Time, line.text()))
	if len(m.keys) > keyLines {
		m.keys = m.keys[1:]
	}
}

// View draws the monitor, always with as many lines.
func (m monitorModel) View() string {
	lines := []string{"", "Microphone  " + m.mic, m.meter(), meterScale(m.columns()), m.state(), ""}
	if m.port == "" {
		lines = append(lines, "No MIDI port to listen to.")
	} else {
		lines = append(lines, "Keyboard    "+m.port)
		lines = append(lines, m.keys...)
		for range keyLines - len(m.keys) {
			lines = append(lines, "")
		}
	}
	lines = append(lines, "q ends.  Delays: larkhand devices --measure, --measure-midi")
	for i, line := range lines {
		if m.width > 0 {
			lines[i] = ansi.Truncate(line, m.width, "")
		}
	}
	return strings.Join(lines, "\n") + "\n"
}

// columns is the width of the meter itself.
func (m monitorModel) columns() int {
	const beside = 32 // columns of the numbers
	if m.width == 0 {
		return meterWidth
	}
	return min(meterWidth, max(10, m.width-beside))
}

// meter is a bar of the level with a mark at the peak.
func (m monitorModel) meter() string {
	n := m.columns()
	if m.level == nil {
		return "  [" + strings.Repeat(" ", n) + "]"
	}
	bar := []byte(strings.Repeat(" ", n))
	full := place(*m.level.Level, n)
	for i := range full {
		bar[i] = '='
	}
	if peak := place(*m.level.Peak, n); peak > 0 {
		bar[peak-1] = '|'
	}
	return fmt.Sprintf("  [%s] %4.0f dBFS, peak %4.0f", bar, *m.level.Level, *m.level.Peak)
}

// place is where a level lies on the meter, 0 to n.
func place(dbfs float64, n int) int {
	return max(0, min(n, int(math.Round((dbfs-meterFloor)/-meterFloor*float64(n)))))
}

// meterScale marks every 20 dB.
func meterScale(n int) string {
	scale := []byte(strings.Repeat(" ", n+8))
	for _, dbfs := range []float64{-60, -40, -20, 0} {
		copy(scale[place(dbfs, n)+1:], fmt.Sprintf("%.0f", dbfs))
	}
	return "  " + strings.TrimRight(string(scale), " ")
}

// state says in words how the microphone is.
func (m monitorModel) state() string {
	switch {
	case m.micGone:
		return "  The microphone is gone: plug it in again."
	case m.level == nil:
		return "  Waiting for the microphone."
	case m.remark != "" && m.now-m.remarked < remarkStands:
		return "  " + m.remark
	case m.level.Clipped:
		return "  Clipped just now."
	case m.level.Voice:
		return "  A voice is heard."
	}
	return "  Sing or speak as loud as you will."
}
