package command

import (
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"larkhand/internal/journal"
	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/midiin"
)

// theory is the flags on how notes are named.
type theory struct{ key, numbering string }

func (t *theory) register(cmd *cobra.Command) {
	cmd.Flags().StringVar(&t.key, "key", "", "`key` of the phrase, such as \"C minor\" or \"F# dorian\"; guessed if not given")
	cmd.Flags().StringVar(&t.numbering, "numbering", music.ScaleNumbers.String(),
		"`custom` of the numbers: scale counts the key's own scale, altered counts against major")
	complete(cmd, "numbering", music.ScaleNumbers.String(), music.AlteredNumbers.String())
}

// options reads the texts.
func (t theory) options() (round.Options, error) {
	var opt round.Options
	if t.key != "" {
		key, err := music.ParseKey(t.key)
		if err != nil {
			return opt, wrongValue("key", err)
		}
		opt.Key = &key
	}
	numbering, err := music.ParseNumbering(t.numbering)
	if err != nil {
		return opt, wrongValue("numbering", err)
	}
	opt.Numbering = numbering
	return opt, nil
}

// settings is everything that a round may be told about besides its files: flags, or lines of a round.txt.
type settings struct {
	theory
	saving
	backing
	chart, tempo, loopStarts string
	answerStarts, instrument string
	written                  round.Written
	pieces                   string
	phrase                   string // kept phrase that the round is of
}

func (s *settings) register(cmd *cobra.Command) {
	s.theory.register(cmd)
	f := cmd.Flags()
	f.StringVar(&s.chart, "chart", "", "`chords` of the loop in bars, such as \"Cm7 | Fm7 | G7b9 | Cm7\"; needs --tempo")
	f.StringVar(&s.tempo, "tempo", "", "tempo of the loop, `quarters` a minute")
	f.StringVar(&s.loopStarts, "loop-starts", "0", "`seconds` after the start of each take at which the loop's first bar begins; two such as \"0.3,0.25\" where take 1 and take 2 differ")
	f.StringVar(&s.answerStarts, "answer-starts", "", "`seconds` after the start of the last take at which the answer's zero lies; without it there is no response time")
	f.StringVar(&s.instrument, "instrument", midiin.Keys.String(), "`kind` of instrument: keys or guitar; guitar drops a converter's ghost notes")
	f.StringVar(&s.phrase, "phrase", "", "kept phrase (`name`) that the round is of; \"larkhand phrases\" lists them; needs --key")
	f.StringVar(&s.written.Numbers, "numbers", "", "the phrase's `numbers` as the player wrote them down before playing, such as \"1 1 2 b3\"")
	f.StringVar(&s.written.Letters, "letters", "", "its `letters` as the player wrote them down before playing, such as \"C C D Eb\"")
	f.StringVar(&s.pieces, "pieces", "", "`seconds` on the answer's clock at which it was begun again where it was played in pieces, such as \"3.2 5.1\"; the pauses before do not count")
	complete(cmd, "instrument", midiin.Keys.String(), midiin.Guitar.String())
}

// set gives a setting by the name of its flag.
func (s *settings) set(name, value string) bool {
	field, ok := map[string]*string{
		"key": &s.key, "numbering": &s.numbering, "chart": &s.chart, "tempo": &s.tempo,
		"loop-starts": &s.loopStarts, "answer-starts": &s.answerStarts, "instrument": &s.instrument,
		"numbers": &s.written.Numbers, "letters": &s.written.Letters, "pieces": &s.pieces,
		"sang": &s.sang, "played": &s.played, "at": &s.at,
		"backing-starts": &s.starts, "backing-alone": &s.alone, "backing-path": &s.path,
	}[name]
	if ok {
		*field = value
	}
	return ok
}

// options reads the texts.
func (s settings) options() (round.Options, error) {
	opt, err := s.theory.options()
	if err != nil {
		return opt, err
	}
	if opt.Instrument, err = midiin.ParseInstrument(s.instrument); err != nil {
		return opt, wrongValue("instrument", err)
	}
	if opt.Loop, opt.TakeStarts, err = s.loop(); err != nil {
		return opt, err
	}
	if s.answerStarts != "" {
		starts, err := number("answer-starts", s.answerStarts)
		if err != nil {
			return opt, err
		}
		opt.AnswerStarts = &starts
	}
	written := s.written
	opt.Written = &written
	opt.Pieces, err = s.pieceStarts()
	return opt, err
}

// pieceStarts reads where the pieces of the answer begin but the first.
func (s settings) pieceStarts() (starts []float64, err error) {
	words := strings.FieldsFunc(s.pieces, func(r rune) bool { return r == ' ' || r == ',' || r == ';' })
	if len(words) > journal.MostPieces {
		return nil, wrongUse("--pieces names %d pieces; give at most %d", len(words), journal.MostPieces)
	}
	for _, word := range words {
		x, err := strconv.ParseFloat(word, 64)
		if err != nil || !(x >= 0) || math.IsInf(x, 0) || len(starts) > 0 && x <= starts[len(starts)-1] {
			return nil, wrongUse("--pieces %q is no list of rising times; write it as in --pieces \"3.2 5.1\"", s.pieces)
		}
		starts = append(starts, x)
	}
	return starts, nil
}

// loop lays the chart on the clock of the last take, nil without a chart, and says where the takes lie on it where that was told of each.
func (s settings) loop() (*loop.Loop, []float64, error) {
	switch {
	case s.chart == "" && s.tempo == "":
		return nil, nil, nil
	case s.chart == "":
		return nil, nil, wrongUse("--tempo needs a --chart that is played at it")
	case s.tempo == "":
		return nil, nil, wrongUse("--chart needs a --tempo, such as --tempo 96")
	}
	chart, err := music.ParseChart(s.chart)
	if err != nil {
		return nil, nil, wrongValue("chart", err)
	}
	tempo, err := number("tempo", s.tempo)
	if err != nil {
		return nil, nil, err
	}
	starts, err := loopStarts(s.loopStarts)
	if err != nil {
		return nil, nil, err
	}
	last := starts[len(starts)-1]
	l, err := loop.New(chart, tempo, last)
	if err != nil {
		return nil, nil, wrongValue("tempo", err)
	}
	if len(starts) == 1 {
		return &l, nil, nil
	}
	// The loop goes round, so a take may as well have been sung where its first bar meets that of the last take.
	return &l, []float64{last - starts[0], 0}, nil
}

// loopStarts reads one number for all takes or one for each of two. A single comma that can be a decimal point is one, so that two whole
// numbers are written as in "1.0,2.0" or "1;2".
func loopStarts(text string) ([]float64, error) {
	const flag = "loop-starts"
	parts := strings.Split(text, ";")
	if _, err := number(flag, text); err != nil && len(parts) == 1 {
		parts = strings.Split(text, ",")
	}
	if len(parts) > mostFiles-1 {
		return nil, wrongUse("--%s %q is more than two numbers; write it as in --%s 0.3,0.25", flag, text, flag)
	}
	var starts []float64
	for _, part := range parts {
		x, err := number(flag, part)
		if err != nil {
			return nil, wrongUse("--%s %q is neither a number nor one for each take; write it as in --%s 0.3 or 0.3,0.25", flag, text, flag)
		}
		starts = append(starts, x)
	}
	return starts, nil
}

// number reads the value of a flag. A comma may stand for the point.
func number(flag, text string) (float64, error) {
	x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, wrongUse("--%s %q is no number; write it as in --%s 1.5", flag, text, flag)
	}
	return x, nil
}

// complete offers the values of a flag to the shell.
func complete(cmd *cobra.Command, flag string, values ...string) {
	if err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic("command: " + err.Error()) // the flag was registered on the line before
	}
}

// exclusive refuses two flags at once.
func exclusive(cmd *cobra.Command, a, b string) {
	before := cmd.PreRunE
	cmd.PreRunE = func(cmd *cobra.Command, args []string) error {
		if cmd.Flags().Changed(a) && cmd.Flags().Changed(b) {
			return wrongUse("--%s and --%s do not go together; give one of them", a, b)
		}
		if before != nil {
			return before(cmd, args)
		}
		return nil
	}
}
