package practice

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"larkhand/internal/loop"
	"larkhand/internal/music"
	"larkhand/internal/round"
	"larkhand/internal/safefile"
	"larkhand/midiin"
)

// Names of the files in a round's folder.
const (
	sheetName  = "round.json"
	logName    = "answer.log"
	answerName = "answer.mid"
)

var takeNames = [...]string{1: "take1.wav", 2: "take2.wav"}

// sheetFormat names the layout of round.json.
const sheetFormat = "larkhand.recording/1"

// sheet is what is written down of a round beside its recordings: round.json. Times are s on the audio clock.
type sheet struct {
	Format     string     `json:"format"`
	Round      int        `json:"round"`
	Began      string     `json:"began,omitempty"` // the moment at which the audio clock was 0
	Singer     int        `json:"singer"`
	Player     int        `json:"player"`
	Players    []string   `json:"players,omitempty"`
	Key        string     `json:"key,omitempty"`
	Numbering  string     `json:"numbering"`
	Instrument string     `json:"instrument"`
	Timing     string     `json:"timing"`
	Chart      string     `json:"chart,omitempty"`
	Tempo      float64    `json:"tempo,omitempty"`
	Swing      float64    `json:"swing,omitempty"`
	LoopStarts float64    `json:"loop_starts,omitempty"`
	Takes      []sheetCut `json:"takes"`
	Answer     *sheetCut  `json:"answer,omitempty"`
	Awaited    float64    `json:"awaited,omitempty"`
	Complete   bool       `json:"complete"`
	Troubles   []string   `json:"troubles,omitempty"`

	Written  *sheetWritten `json:"written,omitempty"`
	Pieces   []float64     `json:"pieces,omitempty"`
	Helped   *round.Helped `json:"helped,omitempty"`
	Misheard bool          `json:"misheard,omitempty"`
}

// sheetCut is where a recording lies; To is From as long as it goes on.
type sheetCut struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

// sheetWritten is what was written down, as it was typed, and how long that took in s.
type sheetWritten struct {
	Numbers        string   `json:"numbers,omitempty"`
	NumbersSeconds *float64 `json:"numbers_seconds,omitempty"`
	Letters        string   `json:"letters,omitempty"`
	LettersSeconds *float64 `json:"letters_seconds,omitempty"`
}

// newSheet writes facts down.
func newSheet(f round.Facts, s round.Setup, began time.Time) sheet {
	out := sheet{
		Format: sheetFormat, Round: f.Round, Singer: f.Singer, Player: f.Player,
		Numbering: s.Numbering.String(), Instrument: s.Instrument.String(), Timing: f.Timing.String(),
		Awaited: f.Awaited, Complete: f.Complete, Troubles: f.Troubles, Takes: []sheetCut{},
		Pieces: f.Pieces, Misheard: f.Misheard,
	}
	if w := f.Written; w != nil {
		out.Written = &sheetWritten{Numbers: w.Numbers, NumbersSeconds: w.NumbersSeconds, Letters: w.Letters, LettersSeconds: w.LettersSeconds}
	}
	if !f.Helped.Zero() {
		out.Helped = &f.Helped
	}
	if !began.IsZero() {
		out.Began = began.Format(time.RFC3339Nano)
	}
	for _, p := range s.Players {
		out.Players = append(out.Players, p.Name)
	}
	if f.Key != nil {
		out.Key = f.Key.String()
	}
	if f.Loop != nil {
		out.Chart, out.Tempo, out.LoopStarts, out.Swing = f.Loop.Chart.String(), f.Loop.Tempo, f.Loop.Starts, f.Swing
	}
	for _, t := range f.Takes {
		out.Takes = append(out.Takes, sheetCut(t))
	}
	if f.Answer != (round.Span{}) {
		cut := sheetCut(f.Answer)
		out.Answer = &cut
	}
	return out
}

// facts reads a sheet back.
func (s sheet) facts() (f round.Facts, setup round.Setup, err error) {
	if s.Format != sheetFormat {
		return f, setup, fmt.Errorf("its format is %q, not %q", s.Format, sheetFormat)
	}
	f = round.Facts{Round: s.Round, Singer: s.Singer, Player: s.Player, Swing: s.Swing, Awaited: s.Awaited, Complete: s.Complete, Troubles: s.Troubles,
		Pieces: s.Pieces, Misheard: s.Misheard}
	if w := s.Written; w != nil {
		f.Written = &round.Written{Numbers: w.Numbers, NumbersSeconds: w.NumbersSeconds, Letters: w.Letters, LettersSeconds: w.LettersSeconds}
	}
	if s.Helped != nil {
		f.Helped = *s.Helped
	}
	if f.Timing, err = round.ParseTiming(s.Timing); err != nil {
		return f, setup, err
	}
	setup.Timing = f.Timing
	if setup.Numbering, err = music.ParseNumbering(s.Numbering); err != nil {
		return f, setup, err
	}
	if setup.Instrument, err = midiin.ParseInstrument(s.Instrument); err != nil {
		return f, setup, err
	}
	if s.Key != "" {
		key, err := music.ParseKey(s.Key)
		if err != nil {
			return f, setup, err
		}
		f.Key, setup.Key = &key, &key
	}
	if s.Chart != "" {
		chart, err := music.ParseChart(s.Chart)
		if err != nil {
			return f, setup, err
		}
		l, err := loop.New(chart, s.Tempo, s.LoopStarts)
		if err != nil {
			return f, setup, err
		}
		f.Loop = &l
		setup.Chart, setup.Tempo, setup.Swing = chart, s.Tempo, s.Swing
	}
	for _, name := range s.Players {
		setup.Players = append(setup.Players, round.Person{Name: name})
	}
	for _, t := range s.Takes {
		f.Takes = append(f.Takes, round.Span(t))
	}
	if s.Answer != nil {
		f.Answer = round.Span(*s.Answer)
	}
	return f, setup, nil
}

// began is the moment at which the audio clock was 0; zero where that is not known.
func (s sheet) began() time.Time {
	began, err := time.Parse(time.RFC3339Nano, s.Began)
	if err != nil {
		return time.Time{}
	}
	return began
}

// write puts the sheet into a round's folder, whole or not at all.
func (s sheet) write(folder string) error {
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	return safefile.WriteBytes(filepath.Join(folder, sheetName), sheetMode, append(data, '\n'))
}

// sheetMode is that of an ordinary document, as all files of a round are.
const sheetMode = 0o644

func readSheet(folder string) (sheet, error) {
	var s sheet
	data, err := os.ReadFile(filepath.Join(folder, sheetName))
	if err != nil {
		return s, err
	}
	return s, json.Unmarshal(data, &s)
}

// judgeOptions are what a round's files are judged with: everything on the clock of the last take, which begins at from.
func judgeOptions(f round.Facts, s round.Setup, from float64) round.Options {
	opt := round.Options{Key: f.Key, Numbering: s.Numbering, Instrument: s.Instrument, Written: f.Written, Helped: f.Helped}
	for _, at := range f.Pieces {
		opt.Pieces = append(opt.Pieces, at-f.Answer.From)
	}
	if f.Loop != nil {
		l := *f.Loop
		l.Starts -= from
		opt.Loop = &l
		for _, t := range f.Takes {
			opt.TakeStarts = append(opt.TakeStarts, t.From-from)
		}
	}
	if f.Answer != (round.Span{}) {
		starts := f.Answer.From - from
		opt.AnswerStarts = &starts
	}
	return opt
}
