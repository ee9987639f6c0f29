package practice

import (
	"math"
	"time"

	"larkhand/internal/round"
	"larkhand/midiin"
	"larkhand/voice"
)

// Snapshot is what a screen shows. It may be kept: nothing in it is changed later.
type Snapshot struct {
	Time      float64 // s on the audio clock
	View      round.View
	Pitch     Point         // the newest of the voice
	Trails    [2][]Point    // of takes 1 and 2 of the round, s since the take's first sample; provisional
	Played    []midiin.Note // of the answer so far, s since it began; provisional
	Level     float64       // dBFS of the microphone of whose turn it is, with a slow fall
	Volume    float64       // of the loop, dB below full
	HasVolume bool          // the loop is played by this program, so that its volume can be changed
	// Understood are the notes that were understood of takes 1 and 2 of the round, on the clocks of Trails; nil until HearNotes was asked for.
	Understood [2][]voice.Note
	Notices    []Notice // the latest, oldest first
	Judging    bool     // a verdict is under way
	Result     *Result  // of the latest round that ended; nil before
	Rounds     int      // that ended and were kept
	Plan       *Plan    // of the round under way, at the verdict and before a start of the next one; nil where there is none
}

// Point is the voice at one moment.
type Point struct {
	Time  float64 // s
	Pitch float64 // MIDI note number; NaN where there is no voice
	Level float64 // dBFS
}

// Notice is something for the player to read.
type Notice struct {
	Time    float64 // s on the audio clock
	Warning round.Warning
	Text    string
}

// Result is what became of a round.
type Result struct {
	Finished
	Singer, Player round.Person
	Took           time.Duration // from the answer's end being decided to the verdict
	Saved          bool
	Journal        string // what the Saver said, such as "Kept as round 12."
	SaveError      string // why it could not be saved; its folder is still there
}

// Bounds of what a snapshot holds (own choices).
const (
	mostNotices   = 20
	usualFrame    = time.Second / 30
	longestTrails = 300.0 // s
)

// point makes a point of a frame.
func point(f voice.Frame, from float64) Point {
	return Point{Time: f.Time - from, Pitch: 69 + 12*math.Log2(f.F0/440), Level: f.Level}
}

// trailSince is the beginning of a take's trail: what of the newest frames belongs to it.
func (e *engine) trailSince(from float64) []Point {
	var trail []Point
	for _, f := range e.frames {
		if f.Time >= from {
			trail = append(trail, point(f, from))
		}
	}
	return trail
}

// see takes a frame of the voice of whose turn it is.
func (e *engine) see(f voice.Frame) {
	const keep = 200 // frames: 2 s, more than round.MaxCutBack
	if len(e.frames) == cap(e.frames) {
		if cap(e.frames) == 0 {
			e.frames = make([]voice.Frame, 0, 2*keep)
		} else {
			e.frames = e.frames[:copy(e.frames, e.frames[len(e.frames)-keep:])]
		}
	}
	e.frames = append(e.frames, f)
	e.pitch = point(f, 0)
	if t := e.taking; t != nil {
		from := t.ear.time(t.from)
		if trail := &e.trails[t.number-1]; f.Time >= from && f.Time < from+longestTrails {
			*trail = append(*trail, point(f, from))
		}
	}
}

// snapshot is what is to be seen now.
func (e *engine) snapshot() Snapshot {
	s := Snapshot{
		Time: e.now, View: e.machine.View(e.now), Pitch: e.pitch, Trails: e.trails, Understood: e.understood, Level: backgroundFloor,
		Notices: e.notices[:len(e.notices):len(e.notices)], Judging: e.judging > 0, Result: e.result, Rounds: e.over,
		Volume: e.volume, HasVolume: e.cfg.Speaker != nil, Plan: e.outlook.plan,
	}
	if a := e.answering; a != nil {
		e.shown = a.reader.Notes(e.now - a.from)
	}
	s.Played = e.shown
	if mic := e.earOf(s.View.Singer.Microphone); mic != nil {
		s.Level = mic.watch.meter
	}
	return s
}

// notice keeps something for the player to read.
func (e *engine) notice(w round.Warning, text string) {
	list := append(e.notices[:len(e.notices):len(e.notices)], Notice{Time: e.now, Warning: w, Text: text})
	e.notices = list[max(0, len(list)-mostNotices):]
}
