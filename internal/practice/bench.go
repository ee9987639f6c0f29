package practice

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"time"

	"larkhand/internal/bleed"
	"larkhand/internal/round"
	"larkhand/internal/soundfile"
	"larkhand/midiin"
	"larkhand/voice"
)

// analyse listens to the take as a whole: the samples that are in its file. way is that of the loop into the microphone; nil where the loop is
// not heard there.
func (t *recordedTake) analyse(way *bleed.Path) {
	<-t.done
	samples := t.samples
	t.samples = nil
	if t.judged, t.judgeBy = t.listen(way, samples); t.judgeBy != nil {
		return
	}
	if sound, err := soundfile.Read(t.path); err == nil { // what it has to say of the sound; a disk that failed was reported
		t.judged.Remarks = append(sentences(t.judged.Name(t.number-1), sound.Remarks), t.judged.Remarks...)
	}
}

// listen analyses the take, without the loop where that is heard beside it.
func (t *recordedTake) listen(way *bleed.Path, samples []float32) (round.Take, error) {
	if way != nil {
		if take, ok, err := t.analyseBeside(way, samples); ok || err != nil {
			take.Remarks = sentences(take.Name(t.number-1), take.Remarks)
			return take, err
		}
	}
	analysed, err := voice.Analyse(samples, t.rate)
	if err != nil {
		return round.Take{}, err
	}
	return round.LiveTake("", analysed), nil
}

// sentences puts a name before what is said of it.
func sentences(name string, remarks []string) []string {
	out := make([]string, len(remarks))
	for i, text := range remarks {
		out[i] = strings.ToUpper(name[:1]) + name[1:] + ": " + strings.TrimSuffix(text, ".") + "."
	}
	return out
}

// verdict is a judged round, or why there is no verdict.
type verdict struct {
	finished Finished
	took     time.Duration
}

// saved tells what became of saving a round.
type saved struct {
	round int
	told  string
	err   error
}

// trouble is an error of the disk.
type trouble struct{ err error }

// judge has the round judged; it becomes a verdict, which finish hands over. since is when that was decided.
func (e *engine) judge(c round.Command) {
	k, setup := e.kept, e.setup
	if k == nil {
		return
	}
	since := time.Now()
	f := e.finished(c.Facts)
	e.onBench(func() {
		k.judgeInto(&f, setup)
		if f.Judged != nil && e.cfg.Planner != nil {
			e.cfg.Planner.Judged(&f)
		}
		f.Backings, f.Path = besideOf(f.Folder, f.Takes)
		e.verdicts[c.Round] = f
		e.report(verdict{f, time.Since(since)})
	})
}

// judgeInto judges what was recorded.
func (k *recorded) judgeInto(f *Finished, setup round.Setup) {
	var takes []round.Take
	for _, t := range k.takes {
		if t.judgeBy != nil {
			f.Reason = strings.TrimPrefix(t.judgeBy.Error(), "bleed: ")
			return
		}
		takes = append(takes, t.judged)
	}
	answer, err := parseAnswer(k.answer.smf, setup.Instrument)
	if err != nil {
		f.Reason = err.Error()
		return
	}
	judged, err := round.Judge(takes, answer, f.Options)
	if err != nil {
		f.Reason = err.Error()
		return
	}
	f.Judged = &judged
	f.Response = responseTo(f, judged)
}

// parseAnswer reads the MIDI file of an answer.
func parseAnswer(smf []byte, instrument midiin.Instrument) (round.Answer, error) {
	file, err := midiin.Parse(smf)
	if err != nil {
		return round.Answer{}, err
	}
	notes, remarks := midiin.Notes(file, midiin.Options{Instrument: instrument})
	return round.Answer{Notes: notes, Remarks: sentences("The answer", append(file.Remarks, remarks...))}, nil
}

// responseTo splits the response time, on the clock of the last take.
func responseTo(f *Finished, judged round.Round) *round.Response {
	if judged.AnswerStarts == nil || judged.ResponseSeconds == nil {
		return nil
	}
	notes := judged.Last().Voice.Notes
	awaited := f.Facts.Awaited
	if awaited != 0 {
		awaited -= f.Facts.Takes[len(f.Facts.Takes)-1].From
	}
	first := *judged.AnswerStarts + judged.Answer.Notes[0].Onset
	r, ok := round.ResponseOf(notes[len(notes)-1].Offset, first, judged.Loop, awaited)
	if !ok {
		return nil
	}
	if !judged.Straight() { // nobody waited for the loop
		r.Wait, r.NetSeconds = 0, r.Seconds
	}
	return &r
}

// finished gathers what is known of a round when it ends. Takes that hold nothing are left out.
func (e *engine) finished(facts round.Facts) Finished {
	k := e.kept
	f := Finished{Folder: k.folder, Facts: facts, Setup: e.setup, Began: e.cfg.Began}
	f.Facts.Takes = nil
	from := 0.0
	for _, t := range k.takes {
		n := t.length
		if n == 0 {
			continue
		}
		from = t.ear.time(t.from)
		f.Facts.Takes = append(f.Facts.Takes, round.Span{From: from, To: t.ear.time(t.from + int64(n))})
		f.Takes = append(f.Takes, t.path)
	}
	if k.answer != nil {
		f.Facts.Answer = round.Span{From: k.answer.from, To: k.answer.from + k.answer.end}
		f.Answer = filepath.Join(k.folder, answerName)
	}
	f.Options = judgeOptions(f.Facts, e.setup, from)
	if !facts.Complete {
		f.Reason = "The round is incomplete."
	}
	return f
}

// save hands the round over.
func (e *engine) save(c round.Command) {
	if e.kept == nil {
		return
	}
	f := e.finished(c.Facts)
	e.writeSheet(f.Facts)
	e.before, e.kept = e.kept, nil
	whole := make(chan struct{})
	e.onDisk(func() { close(whole) })
	e.onBench(func() {
		<-whole
		if judged, ok := e.verdicts[c.Round]; ok {
			f = judged
			delete(e.verdicts, c.Round)
		} else {
			e.report(verdict{f, 0})
		}
		told, err := e.hand(f)
		e.handed = handed{f, err}
		e.report(saved{c.Round, told, err})
	})
	e.over++
}

// saveTime is how long a Saver may take after the session was ended.
const saveTime = 10 * time.Second

// hand gives a round to the Saver and removes its folder when it is kept elsewhere.
func (e *engine) hand(f Finished) (told string, err error) {
	if e.cfg.Saver == nil {
		return "", nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), saveTime)
	defer cancel()
	if told, err = e.cfg.Saver.Save(ctx, f); err != nil {
		return told, err
	}
	return told, os.RemoveAll(f.Folder)
}
