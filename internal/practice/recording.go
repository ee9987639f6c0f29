package practice

import (
	"cmp"
	"math"
	"os"
	"path/filepath"
	"slices"

	"larkhand/internal/round"
	"larkhand/internal/safefile"
	"larkhand/midiin"
	"larkhand/voice"
)

// writeSeconds is how much sound is written at once: with the time that a disk takes, no more than half a second is lost.
const writeSeconds = 0.25

// recorded is a round as it is recorded: its folder, takes and answer. It belongs to the session's goroutine, but for the
// files, which belong to the disk's clerk.
type recorded struct {
	folder string
	takes  []*recordedTake
	answer *recordedAnswer
}

// recordedTake is one take.
type recordedTake struct {
	number  int
	path    string
	ear     *ear
	rate    int
	from    int64     // position of the first sample
	samples []float32 // so far
	length  int       // samples in the end
	codes   []byte    // they, as they are written, once the take has ended
	written int       // samples that were handed to the disk
	file    *takeFile
	done    chan struct{} // closed when the file is whole
	err     error         // of the file, once done
	judged  round.Take    // belongs to the bench's clerk
	judgeBy error         // why it cannot be judged; likewise

	reference Reference // what the speaker is sent; nil where that is not known
}

// recordedAnswer is the answer.
type recordedAnswer struct {
	port   string // "" for any
	from   float64
	tempo  float64        // quarters a minute, for the file
	events []midiin.Event // s since from
	reader *midiin.Reader // for the screen
	log    *eventLog
	smf    []byte
	end    float64 // s since from
	done   chan struct{}
	err    error
}

// beginTake begins to record.
func (e *engine) beginTake(c round.Command) {
	if e.kept == nil {
		e.kept = e.newFolder(c.Round)
	}
	mic := e.earOf(e.people()[c.Player].Microphone)
	if mic == nil {
		return // the machine was told that there is no microphone
	}
	samples, from := mic.since(mic.position(c.Cut))
	t := &recordedTake{
		number: c.Take, path: filepath.Join(e.kept.folder, takeNames[c.Take]), ear: mic, rate: mic.rate, from: from,
		samples: slices.Clone(samples), done: make(chan struct{}), reference: e.reference,
	}
	e.kept.takes = append(e.kept.takes, t)
	e.taking = t
	e.trails[c.Take-1], e.understood[c.Take-1] = e.trailSince(mic.time(from)), nil
	e.writeSheet(c.Facts)
	e.onDisk(func() {
		t.file = createTake(t.path, t.rate)
		syncFolder(filepath.Dir(t.path))
	})
	e.writeTake()
}

// writeTake hands to the disk what it has not yet.
func (e *engine) writeTake() {
	t := e.taking
	if float64(len(t.samples)-t.written) < writeSeconds*float64(t.rate) {
		return
	}
	codes := appendCodes(nil, t.samples[t.written:])
	t.written = len(t.samples)
	e.onDisk(func() {
		t.file.write(codes)
		if t.file.err != nil {
			e.report(trouble{t.file.err})
		}
	})
}

// endTake ends what is recorded at the cut and sends it to be judged.
func (e *engine) endTake(c round.Command) {
	t := e.taking
	if t == nil {
		return
	}
	e.taking = nil
	n := min(max(int(t.ear.position(c.Cut)-t.from), 0), len(t.samples))
	t.samples, t.length = t.samples[:n], n
	t.codes = appendCodes(make([]byte, 0, n*wavSampleAt), t.samples)
	codes := t.codes[min(t.written, n)*wavSampleAt:]
	e.onDisk(func() {
		t.file.write(codes)
		t.err = t.file.finish(n)
		close(t.done)
		if t.err != nil {
			e.report(trouble{t.err})
		}
	})
	if n > 0 && !c.Short {
		e.onBench(func() { t.analyse(e.ways[t.ear]) })
	}
}

// beginAnswer begins to record, with what was played since the cut.
func (e *engine) beginAnswer(c round.Command) {
	if e.kept == nil {
		e.kept = e.newFolder(c.Round)
	}
	a := &recordedAnswer{
		port: e.people()[c.Player].Keyboard, from: c.Cut, tempo: tempoOf(c.Facts), done: make(chan struct{}),
		reader: midiin.NewReader(midiin.Options{Instrument: e.setup.Instrument}),
	}
	e.kept.answer, e.answering = a, a
	e.writeSheet(c.Facts)
	path := filepath.Join(e.kept.folder, logName)
	e.onDisk(func() {
		a.log = createLog(path)
		syncFolder(filepath.Dir(path))
	})
	for i, s := range e.standings {
		if a.takes(e.ports[i]) {
			for _, event := range s.kept {
				e.answer(event)
			}
		}
	}
	for _, m := range e.played {
		if m.time >= c.Cut && a.takes(m.port) {
			e.answer(a.placed(m))
		}
	}
}

// takes is true for the messages of the player's port.
func (a *recordedAnswer) takes(port string) bool { return a.port == "" || a.port == port }

// placed is a message on the answer's clock, rounded as it is written down.
func (a *recordedAnswer) placed(m playedMessage) midiin.Event {
	const steps = 1e6 // a second
	event := m.event
	event.Time = math.Max(0, math.Round((m.time-a.from)*steps)/steps)
	return event
}

// answer adds a message to the answer.
func (e *engine) answer(event midiin.Event) {
	a := e.answering
	a.events = append(a.events, event)
	a.reader.Message(event.Time, event.Append(nil))
	e.onDisk(func() { a.log.add(event) })
	e.unsynced = true
}

// syncAnswer sees to it from time to time that the answer outlives the machine's power.
func (e *engine) syncAnswer() {
	if e.answering == nil || !e.unsynced || e.now-e.synced < writeSeconds {
		return
	}
	e.unsynced, e.synced = false, e.now
	a := e.answering
	e.onDisk(func() { a.log.sync() })
}

// endAnswer ends the recording and writes the MIDI file.
func (e *engine) endAnswer(c round.Command) {
	a := e.answering
	if a == nil {
		return
	}
	e.answering = nil
	a.end = math.Max(0, c.Cut-a.from)
	a.events = slices.DeleteFunc(a.events, func(m midiin.Event) bool { return m.Time > a.end })
	slices.SortStableFunc(a.events, func(x, y midiin.Event) int { return cmp.Compare(x.Time, y.Time) })
	a.smf = answerFile(a.events, a.end, a.tempo)
	e.shown = a.reader.Notes(a.end)
	path := filepath.Join(e.kept.folder, answerName)
	e.onDisk(func() {
		a.err = a.log.close()
		if a.err == nil {
			a.err = safefile.WriteBytes(path, sheetMode, a.smf)
		}
		close(a.done)
		if a.err != nil {
			e.report(trouble{a.err})
		}
	})
}

func tempoOf(f round.Facts) float64 {
	if f.Loop == nil {
		return tempoWithoutLoop
	}
	return f.Loop.Tempo
}

// newFolder begins the folder of a round.
func (e *engine) newFolder(number int) *recorded {
	k := &recorded{folder: filepath.Join(e.cfg.Folder, folderName(number))}
	e.onDisk(func() {
		if err := os.MkdirAll(k.folder, 0o755); err != nil {
			e.report(trouble{err})
		}
		syncFolder(filepath.Dir(k.folder))
	})
	e.trails, e.understood, e.shown, e.broken, e.before = [2][]Point{}, [2][]voice.Note{}, nil, false, nil
	return k
}

// discard throws away a take or the whole round.
func (e *engine) discard(c round.Command) {
	k := e.kept
	if k == nil {
		return
	}
	if c.Part == round.PartIdle {
		e.kept = nil
		e.onDisk(func() { e.remove(k.folder) })
		return
	}
	k.takes = slices.DeleteFunc(k.takes, func(t *recordedTake) bool {
		if t.number != c.Take {
			return false
		}
		backing := filepath.Join(filepath.Dir(t.path), backingNames[t.number])
		e.onDisk(func() { e.remove(t.path) })
		e.onBench(func() { e.remove(backing) }) // which its analysis may have written
		return true
	})
}

func (e *engine) remove(path string) {
	if err := os.RemoveAll(path); err != nil {
		e.report(trouble{err})
	}
}

func (e *engine) writeSheet(f round.Facts) {
	s, folder := newSheet(f, e.setup, e.cfg.Began), e.kept.folder
	e.onDisk(func() {
		if err := s.write(folder); err != nil {
			e.report(trouble{err})
		}
	})
}
