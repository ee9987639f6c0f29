package command

import (
	"fmt"

	"larkhand/internal/practice"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
)

// practiceFiles stand in for the microphone and the keyboard.
type practiceFiles struct {
	mics                     []string
	midi                     string
	fast                     bool
	loopStarts, answerStarts string

	sounds   [][]float32
	rate     int
	messages []practice.Message
	loop     float64  // s
	answer   *float64 // s; nil: the answer's bar line
}

// restAfterFiles is the silence after the last file, s: longer than the answer may wait for a note and the verdict takes.
const restAfterFiles = 60

// given says whether files stand in for the devices.
func (f *practiceFiles) given() bool { return len(f.mics) > 0 || f.midi != "" }

// read reads the files and what the flags say of them.
func (f *practiceFiles) read() error {
	const takes = 2
	if len(f.mics) > takes {
		return wrongUse("--mic is given %d times; give it once for the whole session, or twice for one file a take", len(f.mics))
	}
	if f.midi != "" && len(f.mics) == 0 {
		return wrongUse("--midi is a file in place of the keyboard; give the takes as --mic files too, or name a MIDI port with --midi-port")
	}
	var err error
	if f.loop, err = number("loop-starts", f.loopStarts); err != nil {
		return err
	}
	if f.answerStarts != "" {
		starts, err := number("answer-starts", f.answerStarts)
		if err != nil {
			return err
		}
		f.answer = &starts
	}
	for _, path := range f.mics {
		s, err := soundfile.Read(path)
		if err != nil {
			return err
		}
		if f.rate != 0 && s.Rate != f.rate {
			return fmt.Errorf("%s has %d samples a second and the other take %d; give takes of one rate", path, s.Rate, f.rate)
		}
		f.rate = s.Rate
		f.sounds = append(f.sounds, s.Samples)
	}
	if f.midi != "" {
		f.messages, err = practice.ReadMessages(f.midi)
	}
	return err
}

// layOut lays the files out in time. rounds is how many there are in them; 0 for as many as come.
func (f *practiceFiles) layOut(setup round.Setup) (files *practice.Files, rounds int, err error) {
	if len(f.sounds) == 1 {
		return practice.NewFiles([]practice.Placed{{Samples: f.sounds[0]}}, f.rate, f.messages, restAfterFiles, f.fast), 0, nil
	}
	if setup.Timing != round.OnForm {
		return nil, 0, fmt.Errorf("two --mic files are laid at the bar lines of the form; choose the timing form, or give one --mic file with the whole session")
	}
	first, second, answer := practice.FirstRound(setup)
	sounds := []practice.Placed{{At: first - f.loop, Samples: f.sounds[0]}, {At: second - f.loop, Samples: f.sounds[1]}}
	if f.answer != nil {
		answer = second - f.loop + *f.answer
	}
	for _, s := range sounds {
		if s.At < 0 {
			return nil, 0, fmt.Errorf("--loop-starts %g begins the first take before the session; give a count-in that is longer", f.loop)
		}
	}
	messages := make([]practice.Message, len(f.messages))
	for i, m := range f.messages {
		m.Time += answer
		messages[i] = m
	}
	return practice.NewFiles(sounds, f.rate, messages, restAfterFiles, f.fast), 1, nil
}
