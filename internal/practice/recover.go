package practice

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"larkhand/internal/bleed"
	"larkhand/internal/round"
	"larkhand/internal/safefile"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
)

// roundPrefix begins the names of the rounds' folders.
const roundPrefix = "round-"

// shortestRecovered is the shortest take, in s, that is worth being offered again.
const shortestRecovered = 0.3

// Recover finds the rounds that were left in a session's folder by a crash or a failed Saver, and makes their files whole: true
// sizes in the heads of sound files, a MIDI file of what was played. It must not run while a session records there. A folder that does not exist
// holds no rounds. A round that cannot be read is left as it is, and the error tells of it; the others are returned all the same.
func Recover(folder string) ([]Finished, error) {
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var found []Finished
	var faults []error
	for _, entry := range entries {
		if !entry.IsDir() || !strings.HasPrefix(entry.Name(), roundPrefix) {
			continue
		}
		f, err := recoverRound(filepath.Join(folder, entry.Name()))
		switch {
		case err != nil:
			faults = append(faults, err)
		case len(f.Takes) > 0 || f.Answer != "":
			found = append(found, f)
		}
	}
	return found, errors.Join(faults...)
}

// recoverRound makes one round whole.
func recoverRound(folder string) (Finished, error) {
	out := Finished{Folder: folder, Recovered: true, Reason: "The round was cut short."}
	s, err := readSheet(folder)
	if err != nil {
		return out, fmt.Errorf("%s cannot be recovered: %w", folder, err)
	}
	if out.Facts, out.Setup, err = s.facts(); err != nil {
		return out, fmt.Errorf("%s cannot be recovered: %w", folder, err)
	}
	out.Began = s.began()
	from := 0.0
	spans := out.Facts.Takes
	out.Facts.Takes = nil
	for i, span := range spans[:min(len(spans), len(takeNames)-1)] {
		path := filepath.Join(folder, takeNames[i+1])
		rate, samples, err := mendTake(path)
		if err != nil || rate <= 0 || float64(samples) < shortestRecovered*float64(rate) {
			continue // a file that was hardly begun holds nothing
		}
		span.To = span.From + float64(samples)/float64(rate)
		from = span.From
		out.Facts.Takes = append(out.Facts.Takes, span)
		out.Takes = append(out.Takes, path)
	}
	if err := recoverAnswer(&out); err != nil {
		return out, err
	}
	out.Backings, out.Path = besideOf(folder, out.Takes)
	out.Options = judgeOptions(out.Facts, out.Setup, from)
	return out, nil
}

// Judge judges a round by its files, as the live session would have; it fills in Judged, or Reason. It takes about as long as an analysis of
// the takes does.
func (f *Finished) Judge() {
	f.Judged, f.Response = nil, nil
	judged, err := f.judgeFiles()
	if err != nil {
		f.Reason = strings.TrimPrefix(err.Error(), "bleed: ")
		return
	}
	f.Reason, f.Judged = "", &judged
	f.Response = responseTo(f, judged)
}

func (f *Finished) judgeFiles() (round.Round, error) {
	if len(f.Takes) == 0 {
		return round.Round{}, errors.New("nothing was sung")
	}
	if f.Answer == "" {
		return round.Round{}, errors.New("no answer was played")
	}
	var takes []round.Take
	for i := range f.Takes {
		take, err := f.readTake(i)
		if err != nil {
			return round.Round{}, err
		}
		takes = append(takes, take)
	}
	data, err := os.ReadFile(f.Answer)
	if err != nil {
		return round.Round{}, err
	}
	answer, err := parseAnswer(data, f.Options.Instrument)
	if err != nil {
		return round.Round{}, err
	}
	return round.Judge(takes, answer, f.Options)
}

// readTake analyses a take's file, and takes the loop out where its sound is beside it.
func (f *Finished) readTake(index int) (take round.Take, err error) {
	sound, err := soundfile.Read(f.Takes[index])
	if err != nil {
		return take, err
	}
	if f.Path == "" {
		take, err = round.SungTake("", sound.Samples, sound.Rate)
	} else {
		take, err = f.cleanedTake(index, sound)
	}
	take.Remarks = append(sentences(take.Name(index), sound.Remarks), take.Remarks...)
	return take, err
}

func (f *Finished) cleanedTake(index int, sound soundfile.Sound) (round.Take, error) {
	backing, err := soundfile.Read(f.Backings[index])
	if err != nil {
		return round.Take{}, err
	}
	data, err := os.ReadFile(f.Path)
	if err != nil {
		return round.Take{}, err
	}
	var way bleed.Path
	if err := json.Unmarshal(data, &way); err != nil {
		return round.Take{}, fmt.Errorf("%s is damaged: %w", f.Path, err)
	}
	take, err := round.CleanedTake("", sound.Samples, sound.Rate, backing.Samples, bleed.Options{Start: -BackingLead, BackingRate: backing.Rate, Path: &way})
	take.Remarks = sentences(take.Name(index), take.Remarks)
	return take, err
}

// recoverAnswer makes the MIDI file from the log, where there is one.
func recoverAnswer(out *Finished) error {
	events, err := readLog(filepath.Join(out.Folder, logName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	end := out.Facts.Answer.To - out.Facts.Answer.From
	if len(events) > 0 {
		end = max(end, events[len(events)-1].Time)
	}
	if !hasNotes(events) {
		return nil
	}
	out.Facts.Answer.To = out.Facts.Answer.From + end
	out.Answer = filepath.Join(out.Folder, answerName)
	return safefile.WriteBytes(out.Answer, sheetMode, answerFile(events, end, tempoOf(out.Facts)))
}

func hasNotes(events []midiin.Event) bool {
	for _, e := range events {
		if e.Status&0xF0 == noteOn && e.Data2 > 0 {
			return true
		}
	}
	return false
}
