package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen"
)

// practising is the flags of the practice command.
type practising struct {
	settings screen.Settings // what the flags say, and else what was remembered
	files    practiceFiles
	plain    bool
	keep     string
}

func newPractice() *cobra.Command {
	var p practising
	cmd := &cobra.Command{
		Use:   "practice",
		Short: "Practise round after round, or one from files",
		Long: `Practise: set up a loop, sing a phrase twice, work it out, play it, look at the
verdict. The settings are remembered.

Files stand in for devices. One --mic file and the --midi file begin with the
session. Two --mic files are the two takes: each is laid at its part of the
round, --loop-starts seconds before its bar line, and the --midi file as
--answer-starts says, as for 'larkhand check'. With --fast they come as fast as
the machine goes, otherwise in real time.`,
		Example: `  larkhand demo --keep demo-round
  larkhand practice --mic demo-round/take1.wav --mic demo-round/take2.wav \
    --midi demo-round/answer.mid --loop-starts 0.25 --answer-starts 9.863
  larkhand practice --plain --fast --keep rounds --mic session.wav --midi session.mid`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return p.run(cmd) },
	}
	f := cmd.Flags()
	f.StringArrayVar(&p.files.mics, "mic", nil, "sound `file` in place of the microphone; twice for one file a take")
	f.StringVar(&p.files.midi, "midi", "", "MIDI `file` in place of the keyboard")
	f.BoolVar(&p.files.fast, "fast", false, "files come as fast as the machine goes")
	f.StringVar(&p.files.loopStarts, "loop-starts", "0", "`seconds` after the start of a take's file at which its first bar begins")
	f.StringVar(&p.files.answerStarts, "answer-starts", "", "`seconds` after the start of the last take's file at which the MIDI file's zero lies; else the answer's bar line")
	f.BoolVar(&p.plain, "plain", false, "line by line, for a screen reader or a pipe")
	f.StringVar(&p.keep, "keep", "", "keep the rounds in this `folder`, each session in a folder of its own")
	for _, s := range practiceSettings {
		f.StringVar(s.value(&p.settings), s.flag, "", s.usage)
	}
	return cmd
}

// practiceSettings are the flags that go before remembered settings.
var practiceSettings = []struct {
	flag, usage string
	value       func(*screen.Settings) *string
}{
	{"key", "`key` of the phrase, such as \"C minor\"; empty: guessed", func(s *screen.Settings) *string { return &s.Key }},
	{"numbering", "`custom` of the numbers: scale or altered", func(s *screen.Settings) *string { return &s.Numbering }},
	{"chart", "`chords` of the loop in bars, or the name of a chart, such as \"minor vamp\"", func(s *screen.Settings) *string { return &s.Chart }},
	{"tempo", "tempo of the loop, `quarters` a minute", func(s *screen.Settings) *string { return &s.Tempo }},
	{"feel", "`feel`: straight, swing, or a ratio, such as \"swing 2:1\"", func(s *screen.Settings) *string { return &s.Feel }},
	{"timing", "`what` ends the parts: form, free or \"no loop\"", func(s *screen.Settings) *string { return &s.Timing }},
	{"bars", "`bars` of a take and of the answer", func(s *screen.Settings) *string { return &s.Bars }},
	{"thinking", "`bars` of thinking room, or free", func(s *screen.Settings) *string { return &s.Thinking }},
	{"count-in", "`bars` counted before take 1", func(s *screen.Settings) *string { return &s.CountIn }},
	{"loop-alone", "whether the loop plays once alone first: `yes` or no", func(s *screen.Settings) *string { return &s.LoopAlone }},
	{"from-top", "whether take 1 begins at bar 1 of the chart: `yes` or no", func(s *screen.Settings) *string { return &s.FromTop }},
	{"players", "`names` of the players, with commas between them", func(s *screen.Settings) *string { return &s.Players }},
}

// errNoDevices is said where there is nothing to listen to.
var errNoDevices = errors.New("practice has no microphone and keyboard to listen to: give it files in their place, as in " +
	"larkhand practice --mic take1.wav --mic take2.wav --midi answer.mid")

func (p *practising) run(cmd *cobra.Command) error {
	if len(p.files.mics) == 0 {
		return errNoDevices
	}
	if err := p.remembered(cmd); err != nil {
		return err
	}
	if err := p.files.read(); err != nil {
		return err
	}
	in, out := cmd.InOrStdin(), cmd.OutOrStdout()
	if !p.plain && (!isTerminal(out) || os.Getenv("TERM") == "dumb") {
		return wrongUse("practice draws its screens on a terminal, which this is not; add --plain to read it line by line")
	}
	place, kept, drop, err := p.folder()
	if err != nil {
		return err
	}
	defer drop()
	ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGHUP) // the terminal was closed
	defer stop()
	begin := func(setup round.Setup) (screen.Session, error) { return p.begin(setup, place) }
	if p.plain {
		return p.runPlain(ctx, in, out, begin, kept)
	}
	return screen.Run(ctx, in, out, screen.Config{
		Settings: p.settings, Begin: begin, Kept: kept, Colour: inColour(out),
		Remember: func(s screen.Settings) error { return screen.SaveSettings(screen.SettingsFile(), s) },
	})
}

// remembered takes the settings of last time for those that no flag gives.
func (p *practising) remembered(cmd *cobra.Command) error {
	all, err := screen.LoadSettings(screen.SettingsFile())
	if err != nil {
		return err
	}
	for _, s := range practiceSettings {
		if cmd.Flags().Changed(s.flag) {
			*s.value(&all) = *s.value(&p.settings)
		}
	}
	if cmd.Flags().Changed("chart") {
		all.NameChart()
	}
	p.settings = all
	return nil
}

// runPlain practises with the settings as they are.
func (p *practising) runPlain(ctx context.Context, in io.Reader, out io.Writer, begin func(round.Setup) (screen.Session, error), kept string) error {
	setup, err := p.settings.Setup()
	if err != nil {
		var setting *screen.SettingError
		if errors.As(err, &setting) {
			return wrongUse("%s: %v", setting.Name, err)
		}
		return err
	}
	session, err := begin(setup)
	if err != nil {
		return err
	}
	return screen.Plain(ctx, in, out, session, kept)
}

// folder is where sessions are recorded, a sentence on whether that is kept, and what is to be done at the end.
func (p *practising) folder() (place, kept string, drop func(), err error) {
	if p.keep != "" {
		if err := os.MkdirAll(p.keep, 0o755); err != nil {
			return "", "", nil, fmt.Errorf("cannot make the folder %s: %w", p.keep, plainCause(err))
		}
		return p.keep, "The rounds are kept in " + p.keep + ".", func() {}, nil
	}
	place, err = os.MkdirTemp("", "larkhand-practice-*")
	if err != nil {
		return "", "", nil, fmt.Errorf("cannot record: %w", plainCause(err))
	}
	return place, "The rounds are not kept; --keep FOLDER keeps them.", func() { os.RemoveAll(place) }, nil
}

// begin makes a session, whose rounds lie in a new folder of place.
func (p *practising) begin(setup round.Setup, place string) (screen.Session, error) {
	files, rounds, err := p.files.layOut(setup)
	if err != nil {
		return nil, err
	}
	folder, err := os.MkdirTemp(place, time.Now().Format("2006-01-02-150405-")+"*")
	if err != nil {
		return nil, fmt.Errorf("cannot record in %s: %w", filepath.Clean(place), plainCause(err))
	}
	return practice.New(practice.Config{
		Setup: setup, Folder: folder, Start: true, Rounds: rounds,
		Microphones: []practice.Microphone{files.Microphone()}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
}
