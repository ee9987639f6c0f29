package practice

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"larkhand/internal/bleed"
	"larkhand/internal/round"
	"larkhand/internal/safefile"
	"larkhand/internal/soundfile"
	"larkhand/voice"
)

// This file is how the loop, where it comes back through a microphone, is known and taken out again (package bleed).
//
// While the loop plays alone, and in a count-in, the sound of each microphone is kept. When take 1 begins, the way from the speaker to the
// microphone is learned from it. With that the voice is followed while it is sung, and each take is cleaned before it is judged. What the
// speaker was sent is written beside the takes, so that their files give the same verdict.

// BackingLead is how long before its take the file of what the speaker was sent begins, s: rooms ring, and sound takes its time.
const BackingLead = 1.0

const (
	leastAlone = 1.5  // s of the loop alone without which nothing is learned: as package bleed needs to fit a path there
	mostAlone  = 30.0 // s that are kept: once through a slow chart
)

// Names of files in a round's folder.
const pathName = "path.json"

var backingNames = [...]string{1: "backing1.wav", 2: "backing2.wav"}

// loopback is what is known of the loop in one microphone. Its fields belong to the session's goroutine.
type loopback struct {
	alone   []float32 // the microphone while the loop played and nobody was to sing, without a hole
	from    int64     // position of its first sample
	learned bool      // it was learned from since the loop, its volume or a device changed
	level   float64   // dBFS of the loop in the microphone
	path    *bleed.Path
	known   bool        // level is
	live    *bleed.Live // made from path when the voice is followed; nil before
	next    int64       // position after the last sample that live took
	ear     *ear        // of what live gives
	sent    []float32
	cleaned []float32
}

// forget begins anew: loop, volume or device have changed. What is known of the way serves until it is learned again.
func (l *loopback) forget() { l.alone, l.learned = nil, false }

// hear keeps sound of the loop alone that ends at a position.
func (l *loopback) hear(samples []float32, end int64, rate int) {
	from := end - int64(len(samples))
	if l.from+int64(len(l.alone)) != from {
		l.alone, l.from = l.alone[:0], from
	}
	if float64(len(l.alone)) < mostAlone*float64(rate) {
		l.alone = append(l.alone, samples...)
	}
}

// learned is a report: what was found out about the loop in a microphone; path is nil where it cannot be heard.
type learned struct {
	ear   *ear
	path  *bleed.Path
	level float64
}

// hearAlone keeps a chunk of a microphone where the loop plays and nobody is to sing.
func (e *engine) hearAlone(mic *ear, chunk []float32) {
	if e.reference != nil && e.looping && (e.part == round.PartLoopAlone || e.part == round.PartCountIn) {
		mic.loop.hear(chunk, mic.end, mic.rate)
	}
}

// learn learns the way of the loop into each microphone, where there is something to learn from, up to the cut at which take 1 begins.
func (e *engine) learn(cut float64) {
	if e.reference == nil || !e.looping {
		return
	}
	for _, mic := range e.ears {
		l := &mic.loop
		n := min(max(int(mic.position(cut)-l.from), 0), len(l.alone))
		if l.learned || float64(n) < leastAlone*float64(mic.rate) {
			continue
		}
		alone, from, reference := slices.Clone(l.alone[:n]), l.from, e.reference
		l.alone, l.learned = nil, true
		e.onBench(func() {
			found := learned{ear: mic}
			found.path, found.level = learnWay(reference, alone, from, mic.rate)
			e.ways[mic] = found.path
			e.report(found)
		})
	}
	for _, mic := range e.ears {
		mic.loop.alone = nil
	}
}

// learnWay learns from sound of the loop alone; nil where the loop cannot be heard in it. level is that of the loop, dBFS.
func learnWay(reference Reference, alone []float32, from int64, rate int) (path *bleed.Path, level float64) {
	lead := int64(BackingLead * float64(rate))
	sent, err := sentTo(reference, from-lead, len(alone)+int(lead))
	if err != nil {
		return nil, backgroundFloor
	}
	seconds := float64(len(alone)) / float64(rate)
	r, err := bleed.Clean(alone, sent, rate, bleed.Options{Start: -BackingLead, VoiceFree: []bleed.Span{{From: 0, To: seconds}}})
	if err != nil || r.Path == nil {
		return nil, backgroundFloor
	}
	all, left := bleed.ToWorkRate(alone, rate), 0.0
	sum := 0.0
	for i, x := range all[:min(len(all), len(r.Samples))] {
		sum += x * x
		left += float64(r.Samples[i]) * float64(r.Samples[i])
	}
	return r.Path, math.Max(backgroundFloor, 10*math.Log10(math.Max(sum-left, 0)/float64(len(all))+1e-12))
}

// sentTo is what a speaker was sent from a sample on, rounded to 16 bits as a file keeps it; before the first sample lies silence.
func sentTo(reference Reference, from int64, count int) ([]float32, error) {
	out := make([]float32, count)
	skip := min(max(-from, 0), int64(count))
	if err := reference.Sent(out[skip:], from+skip); err != nil {
		return nil, err
	}
	for i, x := range out {
		out[i] = rounded(x)
	}
	return out, nil
}

// know takes what was learned of a microphone, and warns where too much of the loop would be left beside the voice.
func (e *engine) know(found learned) {
	l := &found.ear.loop
	l.path, l.level, l.known, l.live = found.path, found.level, true, nil
	if found.path == nil {
		return
	}
	over := l.level - found.ear.watch.loud
	left := over + 10*math.Log10(math.Max(found.path.Leak, 1e-10))
	if found.ear == e.singerEar() && left > bleedOverdB {
		text := fmt.Sprintf("The loop comes back through the microphone, %.0f dB against your voice, and cannot all be taken out: use headphones, or turn the loop down.", over)
		e.tell(round.Event{Kind: round.Level, Time: e.now - settle, Device: found.ear.name, Trouble: round.Bleed, Text: text})
	}
}

// follow hears a chunk of the voice, without the loop where its way is known, and gives its frames.
func (e *engine) follow(mic *ear, chunk []float32, give func(voice.Frame)) {
	l := &mic.loop
	if l.path == nil || !e.looping || !l.clean(e.reference, mic, chunk) {
		if f, ok := mic.listen(chunk); ok {
			give(f)
		}
		return
	}
	for rest := l.cleaned; len(rest) > 0; {
		var part []float32
		part, rest = l.ear.add(rest)
		if f, ok := l.ear.listen(part); ok && f.Time > mic.framed {
			mic.framed = f.Time
			give(f)
		}
	}
}

// clean takes the loop out of the newest chunk of a microphone; false where that cannot be done.
func (l *loopback) clean(reference Reference, mic *ear, chunk []float32) bool {
	from := mic.end - int64(len(chunk))
	l.sent = slices.Grow(l.sent[:0], len(chunk))[:len(chunk)]
	if err := reference.Sent(l.sent, from); err != nil {
		l.live = nil
		return false
	}
	if l.live == nil || l.next != from {
		if err := l.begin(mic, from); err != nil {
			l.path = nil // one that Clean gave and Live refuses lies beyond its reach
			return false
		}
	}
	l.next = mic.end
	l.cleaned = l.live.Write(l.cleaned[:0], chunk, l.sent)
	return true
}

// begin begins to take the loop out from a position on.
func (l *loopback) begin(mic *ear, from int64) (err error) {
	if l.live, err = bleed.NewLive(mic.rate, mic.chunk, *l.path); err != nil {
		return err
	}
	if l.ear, err = newEar(mic.name, bleed.WorkRate); err != nil {
		return err
	}
	l.ear.begin(mic.time(from))
	return nil
}

// beside is what the speaker was sent beside a take, and the way by which it came; nil where it was not heard.
type beside struct {
	path     *bleed.Path
	backing  string // file
	pathFile string
}

// analyseBeside listens to a take beside which the loop was heard, and writes down what is needed to do that again. ok is false where what was
// sent is no longer known.
func (t *recordedTake) analyseBeside(path *bleed.Path, samples []float32) (take round.Take, ok bool, err error) {
	lead := int64(BackingLead * float64(t.rate))
	sent, err := sentTo(t.reference, t.from-lead, len(samples)+int(lead))
	if err != nil {
		return take, false, nil
	}
	folder := filepath.Dir(t.path)
	b := &beside{path: path, backing: filepath.Join(folder, backingNames[t.number]), pathFile: filepath.Join(folder, pathName)}
	if err := b.write(sent, t.rate); err != nil {
		return take, false, err
	}
	take, err = round.CleanedTake("", samples, t.rate, sent, bleed.Options{Start: -BackingLead, BackingRate: t.rate, Path: path})
	return take, true, err
}

// write writes the two files.
func (b *beside) write(sent []float32, rate int) error {
	data, err := json.Marshal(b.path)
	if err != nil {
		return err
	}
	if err := safefile.WriteBytes(b.pathFile, sheetMode, append(data, '\n')); err != nil {
		return err
	}
	return soundfile.WriteWAV(b.backing, sent, rate)
}

// besideOf finds the files that were written beside the takes of a round's folder; empty where there are none.
func besideOf(folder string, takes []string) (backings []string, path string) {
	path = filepath.Join(folder, pathName)
	if _, err := os.Stat(path); err != nil {
		return nil, ""
	}
	for _, take := range takes {
		number := slices.Index(takeNames[:], filepath.Base(take))
		backing := filepath.Join(folder, backingNames[number])
		if _, err := os.Stat(backing); err != nil {
			return nil, ""
		}
		backings = append(backings, backing)
	}
	return backings, path
}
