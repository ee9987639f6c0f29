package command

import (
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"larkhand/internal/plan"
	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/screen"
	"larkhand/internal/sound"
)

// practising is the flags of the practice command.
type practising struct {
	settings screen.Settings // what the flags say, and else what was remembered
	files    practiceFiles
	plain    bool
	keep     string
	journal  journalDir
}

func newPractice() *cobra.Command {
	var p practising
	cmd := &cobra.Command{
		Use:   "practice",
		Short: "Practise round after round, or one from files",
		Long: `Practise: set up a loop, sing a phrase twice, work it out, play it, look at the
verdict. The settings are remembered, and the rounds go into the journal with
their takes and answers. "larkhand devices" lists microphones, speakers and MIDI
ports; without a choice the default ones are taken. A MIDI port that is not there
yet is waited for, and a device that goes away as well. What was sung when the
program or the machine broke down is offered at the next start.

A circle has several players: with --players "Ada, Bo" the first sings and the
next plays, then that one sings. They share microphone and MIDI port, or each has
an own one: --channels "1; 2" are microphones at the inputs of one audio
interface, and --midi-port "Piano; Pads" are two ports. Two microphones with a USB
plug each do not go together, since each has a clock of its own: connect both to
one interface.

A phrase that you keep (larkhand phrases) is practised by ear with --phrase Rain: the
program names it and the key, never its notes. --phrase-keys carries it through keys,
each with a record of its own; --journal says where phrases and records are kept.

Files stand in for devices; then nothing is kept without --keep or --journal. One --mic file and the --midi file begin with the
session. Two --mic files are the two takes: each is laid at its part of the
round, --loop-starts seconds before its bar line, and the --midi file as
--answer-starts says, as for 'larkhand check'. With --fast they come as fast as
the machine goes, otherwise in real time.`,
		Example: `  larkhand practice
  larkhand practice --key "G dorian" --chart "Gm7 | C7" --tempo 84 --midi-port Piano
  larkhand demo --keep demo-round
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
	f.StringVar(&p.keep, "keep", "", "keep the rounds in this `folder` in place of the journal, each session in a folder of its own")
	p.journal.register(cmd)
	for _, s := range practiceSettings {
		f.StringVar(s.value(&p.settings), s.flag, "", s.usage)
	}
	var ways []string
	for _, order := range plan.KeyOrders {
		ways = append(ways, string(order))
	}
	complete(cmd, "phrase-keys", ways...)
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
	{"steps", "whether numbers and letters are written down before the answer: `yes` or no", func(s *screen.Settings) *string { return &s.Steps }},
	{"phrase", "`name` of a kept phrase to sing and play by ear; empty: make one up each time", func(s *screen.Settings) *string { return &s.Phrase }},
	{"phrase-keys", "`way` of the kept phrase through keys: stay, fourths, semitones, random, weak (those that failed first) or due", func(s *screen.Settings) *string { return &s.PhraseKeys }},
	{"verdict", "`bars` for which the verdict stays before the next round comes; 0: until you go on", func(s *screen.Settings) *string { return &s.Verdict }},
	{"players", "`names` of the players, with commas between them", func(s *screen.Settings) *string { return &s.Players }},
	{"instrument", "`kind` of instrument: keys or guitar", func(s *screen.Settings) *string { return &s.Instrument }},
	{"microphone", "`name` of the microphone", func(s *screen.Settings) *string { return &s.Microphone }},
	{"channels", "`channels` of the microphone, one for each player, such as \"1; 2\"", func(s *screen.Settings) *string { return &s.Channels }},
	{"speaker", "`name` of the speaker, or none", func(s *screen.Settings) *string { return &s.Speaker }},
	{"midi-port", "`name` of the MIDI port, or one for each player with ; between them, or none", func(s *screen.Settings) *string { return &s.MIDI }},
	{"midi-out", "`name` of a MIDI output that plays the loop in place of the speaker", func(s *screen.Settings) *string { return &s.MIDIOut }},
	{"sound", "`what` plays the loop: a SoundFont file, plain, or click for the click alone; empty: a font that is found", func(s *screen.Settings) *string { return &s.Sound }},
	{"volume", "`dB` of the loop below full, -60 to 0", func(s *screen.Settings) *string { return &s.Volume }},
	{"mute", "`parts` of the loop that are silent, with commas: bass, comping, hi-hat, click", func(s *screen.Settings) *string { return &s.Muted }},
	{"go-on", "`what` goes on without a hand on the computer: pedal, or a MIDI key such as C2", func(s *screen.Settings) *string { return &s.GoOn }},
}

// Bounds of the memory of a session (own choices): cleaning a take needs 100 MB for a moment, which is given back sooner so, and other programs keep theirs.
const (
	practiceGarbage = 25        // percent of what is in use that may wait to be collected
	practiceMemory  = 130 << 20 // bytes from which collecting goes before working
)

func (p *practising) run(cmd *cobra.Command) error {
	if !p.files.given() && !sound.Built {
		return errBuiltWithout
	}
	if p.keep != "" && cmd.Flags().Changed(journalFlag) {
		return wrongUse("--keep and --%s name two places for the rounds; give one", journalFlag)
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
	ctx, stop := signal.NotifyContext(cmd.Context(), syscall.SIGHUP) // the terminal was closed
	defer stop()
	k, err := p.roundsPlace(ctx, cmd.Flags().Changed(journalFlag))
	if err != nil {
		return err
	}
	defer k.close()
	debug.SetGCPercent(practiceGarbage)
	debug.SetMemoryLimit(practiceMemory)
	defer sound.Hush()() // the libraries write where the screens are
	begin := func(s screen.Settings, setup round.Setup) (screen.Session, error) { return p.begin(s, setup, k) }
	if p.plain {
		return p.runPlain(ctx, in, out, begin, k)
	}
	cfg := screen.Config{
		Settings: p.settings, Begin: begin, Kept: k.sentence(), Colour: inColour(out), Offer: k.left.offer(ctx),
		Remember: func(s screen.Settings) error { return screen.SaveSettings(screen.SettingsFile(), s) },
	}
	if !p.files.given() {
		l := newLookout()
		defer l.end()
		cfg.Devices = func() screen.Devices {
			d := l.look()
			d.Phrases = phraseNames(p.journal.book())
			return d
		}
	}
	return screen.Run(ctx, in, out, cfg)
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
func (p *practising) runPlain(ctx context.Context, in io.Reader, out io.Writer, begin func(screen.Settings, round.Setup) (screen.Session, error), k *roundsPlace) error {
	setup, err := p.settings.Setup()
	if err != nil {
		var setting *screen.SettingError
		if errors.As(err, &setting) {
			return wrongUse("%s: %v", setting.Name, err)
		}
		return err
	}
	return screen.Plain(ctx, in, out, screen.PlainConfig{
		Begin: func() (screen.Session, error) { return begin(p.settings, setup) },
		Setup: setup, Kept: k.sentence(), Offer: k.left.offer(ctx),
	})
}

// begin makes a session.
func (p *practising) begin(s screen.Settings, setup round.Setup, k *roundsPlace) (screen.Session, error) {
	if !p.files.given() {
		return p.beginDevices(s, setup, k)
	}
	planner, err := p.planner(s, &setup, k)
	if err != nil {
		return nil, err
	}
	files, rounds, err := p.files.layOut(setup)
	if err != nil {
		return nil, err
	}
	sitting, err := k.sit(s)
	if err != nil {
		return nil, err
	}
	session, err := practice.New(practice.Config{
		Setup: setup, Folder: sitting.folder, Saver: sitting.saver, Began: time.Now(), Start: true, Rounds: rounds, Planner: planner,
		Microphones: []practice.Microphone{files.Microphone()}, MIDIPorts: []practice.MIDIPort{files.MIDIPort()},
	})
	if err != nil {
		sitting.end()
		return nil, err
	}
	return deviceSession{session, func() error { sitting.end(); return planner.fault() }}, nil
}

func (p *practising) beginDevices(s screen.Settings, setup round.Setup, k *roundsPlace) (screen.Session, error) {
	planner, err := p.planner(s, &setup, k)
	if err != nil {
		return nil, err
	}
	r, err := openDevices(s, setup)
	if err != nil {
		return nil, err
	}
	sitting, err := k.sit(s)
	if err != nil {
		return nil, errors.Join(err, r.close())
	}
	cfg := r.config
	cfg.Setup, cfg.Folder, cfg.Saver, cfg.Start, cfg.Planner = setup, sitting.folder, sitting.saver, true, planner
	session, err := practice.New(cfg)
	if err != nil {
		sitting.end()
		return nil, errors.Join(err, r.close())
	}
	return deviceSession{session, func() error { sitting.end(); return errors.Join(planner.fault(), r.close()) }}, nil
}
