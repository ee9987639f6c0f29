package sound

import (
	"math"
	"sync/atomic"
	"time"
)

// Renderer makes the sound of a speaker. A *synth.Player is one. All of it is called by the audio callback, so it must neither wait nor allocate.
type Renderer interface {
	Render(dst []float32) // the next len(dst) samples, full scale 1
	SkipTo(frame int64)   // goes on at a later sample
	Position() int64      // number of the next sample; that of the audio clock
}

const (
	// mostThrown is the longest gap, in s, that is rendered and thrown away, so that the music is where it should be and sounds on; a longer one is skipped
	// (own choice: rendering 0.2 s took under 2 ms).
	mostThrown = 0.2
	// mostHeld is how many slots wait at most for the judgement of an overrun (own choice: 0.17 s at 48 kHz in blocks of 128 samples).
	mostHeld = 64
	// mostDelay bounds what a sound system claims for its delays, s (own choice: Bluetooth has up to 0.3).
	mostDelay = 1.0
)

// line is what is behind the audio callback of a stream, whichever library calls it. call belongs to the callback. It copies and counts, allocates nothing
// and takes no lock.
type line struct {
	rate      int
	born      time.Time // the monotonic clock counts from here
	in        *ring     // of the first microphone channel; nil without microphone
	rings     []*ring   // of each microphone channel, all filled in step
	play      Renderer  // nil without speaker
	channels  int       // of the speaker, interleaved
	roundTrip float64   // s from a sample to the speaker until it is back; 0: as the sound system claims
	time      *timeline

	frame   int64 // number of the next sample
	ahead   int64 // samples that the speaker is given early, so that they sound in time
	unheard int   // samples lost since the last slot
	fresh   bool  // no callback since resume
	resumed bool  // the device was gone before the next slot
	held    int   // slots that wait until it is known how much an overrun lost
	mixed   [slotFrames]float32

	last     atomic.Int64 // ns on the monotonic clock of the last callback
	stale    atomic.Bool  // the stream is being closed: its callbacks count no more
	overruns atomic.Int64
	lost     atomic.Int64
	dropped  atomic.Int64
}

// call is one callback of the sound system.
type call struct {
	mono     float64 // s on the monotonic clock, the first thing that is looked at
	inDelay  float64 // s since the first sample of in was taken in, as the sound system claims; 0 without microphone
	outDelay float64 // s until the first sample of out sounds
	overrun  bool    // the sound system reports that samples were lost
	in, out  []float32
	frames   int
}

func newLine(rate int, hasMicrophone bool, play Renderer, channels int, roundTrip float64) *line {
	l := &line{rate: rate, born: time.Now(), play: play, channels: channels, roundTrip: roundTrip, time: newTimeline(rate, 0), fresh: true}
	if hasMicrophone {
		l.hear(1)
	}
	return l
}

// hear makes room for so many channels of the microphone. It must be called before the first callback.
func (l *line) hear(channels int) {
	l.rings = nil
	for range channels {
		l.rings = append(l.rings, newRing(slots))
	}
	l.in = l.rings[0]
}

// mono is now on the monotonic clock, in s.
func (l *line) mono() float64 { return time.Since(l.born).Seconds() }

// resume prepares for another stream. No callback may come meanwhile.
func (l *line) resume() {
	l.push()
	l.fresh, l.resumed = true, true
	l.stale.Store(false)
	l.last.Store(int64(time.Since(l.born)))
}

// call takes and gives the samples of one callback.
func (l *line) call(c call) {
	if l.stale.Load() {
		clear(c.out)
		return
	}
	l.last.Store(int64(c.mono * 1e9))
	c.inDelay = bounded(c.inDelay)
	if l.fresh {
		l.begin(c)
	}
	if lost := l.time.add(c.mono, l.frame, c.inDelay, c.overrun); lost > 0 {
		l.miss(lost)
	}
	if c.overrun {
		l.overruns.Add(1)
	}
	l.record(c.in)
	l.sound(c.out)
	l.frame += int64(c.frames)
}

// begin finds the number of the first sample of a stream.
func (l *line) begin(c call) {
	l.fresh = false
	if at := l.time.frameAt(c.mono - c.inDelay); at > l.frame {
		if l.resumed {
			l.unheard += int(at - l.frame)
		}
		l.frame = at
	}
	l.time.forget()
	l.ahead = int64(math.Round((c.inDelay + bounded(c.outDelay)) * float64(l.rate)))
	if l.roundTrip > 0 {
		l.ahead = int64(math.Round(bounded(l.roundTrip) * float64(l.rate)))
	}
}

// miss counts samples that are missing: before the slots that are held, where there are any.
func (l *line) miss(lost int) {
	l.frame += int64(lost)
	l.lost.Add(int64(lost))
	if l.held == 0 {
		l.unheard += lost
		return
	}
	for _, r := range l.rings {
		r.filled(0).lost += lost
		for i := range l.held {
			r.filled(i).frame += int64(lost)
		}
	}
}

// push hands the slots that are held over to the readers.
func (l *line) push() {
	for _, r := range l.rings {
		r.push(l.held)
	}
	l.held = 0
}

// room is true where every channel has a free slot.
func (l *line) room() bool {
	for _, r := range l.rings {
		if r.free(l.held) == nil {
			return false
		}
	}
	return true
}

// bounded makes of what a sound system claims something to reckon with.
func bounded(delay float64) float64 {
	if !(delay > 0) {
		return 0
	}
	return min(delay, mostDelay)
}

// record puts samples into the ring; those that find no room are counted.
func (l *line) record(in []float32) {
	channels := len(l.rings)
	if channels == 0 {
		return
	}
	for at := l.frame; len(in) >= channels; {
		n := min(len(in)/channels, slotFrames)
		if !l.room() {
			l.unheard += n
			l.dropped.Add(int64(n))
		} else {
			for c, r := range l.rings {
				s := r.free(l.held)
				s.frame, s.lost, s.resumed, s.n = at, l.unheard, l.resumed, n
				for i := range n {
					s.samples[i] = in[i*channels+c]
				}
			}
			l.unheard, l.resumed = 0, false
			l.held++
		}
		in, at = in[n*channels:], at+int64(n)
	}
	if !l.time.probe.on || l.held > mostHeld {
		l.push()
	}
}

// sound renders what is to be played.
func (l *line) sound(out []float32) {
	if l.play == nil {
		clear(out)
		return
	}
	l.catchUp(l.frame + l.ahead)
	for len(out) >= l.channels && len(out) > 0 {
		n := min(len(out)/l.channels, slotFrames)
		mixed := l.mixed[:n]
		l.play.Render(mixed)
		for i, x := range mixed {
			for c := range l.channels {
				out[i*l.channels+c] = x
			}
		}
		out = out[n*l.channels:]
	}
}

// catchUp brings the renderer to a sample.
func (l *line) catchUp(to int64) {
	gap := to - l.play.Position()
	if gap > int64(mostThrown*float64(l.rate)) {
		l.play.SkipTo(to)
		return
	}
	for gap > 0 {
		n := min(gap, slotFrames)
		l.play.Render(l.mixed[:n])
		gap -= n
	}
}

// silentFor is how long no callback has come.
func (l *line) silentFor() time.Duration {
	return time.Since(l.born) - time.Duration(l.last.Load())
}
