package command

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

// readTake reads a take: a sound file, which is analysed, or a MIDI file, whose notes are taken as they stand.
func readTake(path string) (round.Take, error) { return readTakeBeside(path, 0, backing{}) }

// readTakeBeside is readTake for take number index of a round, which may have been sung beside a speaker.
func readTakeBeside(path string, index int, b backing) (round.Take, error) {
	sound, err := soundfile.Read(path)
	if errors.Is(err, soundfile.ErrMIDI) {
		return readWritten(path)
	}
	if err != nil {
		return round.Take{}, err
	}
	if b.wanted() {
		return readCleaned(path, index, sound, b)
	}
	take, err := round.SungTake(path, sound.Samples, sound.Rate)
	if err != nil {
		return round.Take{}, fmt.Errorf("%s: %w", path, err)
	}
	take.Remarks = append(sentences(path, sound.Remarks), take.Remarks...)
	return take, nil
}

// readCleaned takes the backing out of a take and analyses it. Its remarks name the file, since takes differ in it.
func readCleaned(path string, index int, sound soundfile.Sound, b backing) (round.Take, error) {
	take, err := b.clean(index, path, sound)
	if err != nil {
		return round.Take{}, fmt.Errorf("%s: %w", path, err)
	}
	take.Remarks = sentences(path, append(sound.Remarks, take.Remarks...))
	return take, nil
}

// readWritten reads a phrase that is already known from a MIDI file.
func readWritten(path string) (round.Take, error) {
	notes, remarks, err := readMIDI(path, midiin.Options{})
	if err != nil {
		return round.Take{}, err
	}
	take := round.WrittenTake(path, notes)
	take.Remarks = remarks
	return take, nil
}

// readAnswer reads what was played.
func readAnswer(path string, instrument midiin.Instrument) (round.Answer, error) {
	notes, remarks, err := readMIDI(path, midiin.Options{Instrument: instrument})
	if err != nil {
		return round.Answer{}, err
	}
	return round.Answer{File: path, Notes: notes, Remarks: remarks}, nil
}

func readMIDI(path string, opt midiin.Options) (notes []midiin.Note, remarks []string, err error) {
	file, err := midiin.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil, fmt.Errorf("%s does not exist: check the name and the folder", path)
	case errors.Is(err, fs.ErrPermission):
		return nil, nil, fmt.Errorf("%s may not be read: its permissions do not allow it", path)
	case err != nil:
		return nil, nil, err
	}
	notes, more := midiin.Notes(file, opt)
	return notes, sentences(path, append(file.Remarks, more...)), nil
}

// sentences puts the file's name before what its reader had to say.
func sentences(path string, remarks []string) []string {
	out := make([]string, len(remarks))
	for i, text := range remarks {
		out[i] = path + ": " + strings.TrimSuffix(text, ".") + "."
	}
	return out
}
