package synth

import (
	"errors"
	"fmt"
	"math"
	"sync/atomic"

	"larkhand/internal/loop"
)

// Source is where a player gets its notes from. A *loop.Backing is one.
type Source interface {
	// AppendEvents appends the notes that begin from `from` up to but not including `to`, in s on the player's clock, in the order of time. The
	// player calls it for each block, so it must not wait or allocate.
	AppendEvents(dst []loop.Event, from, to float64) []loop.Event
	// Longest is the duration of the longest note in s.
	Longest() float64
}

// Volumes in dB below full, and how a player moves between them (own choices; see the package comment).
const (
	MinVolume   = -60.0 // dB
	MaxVolume   = 0.0   // dB
	StartVolume = -24.0 // dB

	RiseTime = 3.0  // s from silence to full volume
	fallTime = 0.05 // s from full volume to silence
	muteTime = 0.02 // s from full part to silence and back
	stopTime = 0.05 // s in which the notes of an old source fade
)

const (
	voices      = 64  // notes that can sound at a time; a busy bar at 400 quarter notes a minute needs about 40
	chunk       = 256 // samples that are mixed at a time
	roomForNote = 256 // notes that can begin in one chunk without allocating
)

// DefaultKeep is how long the sent samples are kept, s: longer than the takes of a round at a slow tempo.
const DefaultKeep = 120.0

// mostKept bounds the memory of what is kept, s.
const mostKept = 600.0

// Player plays a source by a synth. Render and SkipTo belong to one goroutine, the audio callback; everything else may be called from any.
type Player struct {
	rate int
	pos  int64 // number of the next sample

	source   Source
	voices   []slot
	events   []loop.Event
	mix      [loop.Parts][chunk]float32
	single   [chunk]float32
	partGain [loop.Parts]ramp
	gain     ramp
	limiter  limiter
	asides   asides

	volume   atomic.Uint64 // float64 bits of the linear gain
	muted    [loop.Parts]atomic.Bool
	next     atomic.Pointer[cue]
	position atomic.Int64
	dropped  atomic.Int64
	sent     kept
}

// cue is a source that waits for its sample.
type cue struct {
	source Source
	at     int64
}

// slot is a voice of the player.
type slot struct {
	voice  Voice
	part   loop.Part
	sounds bool
	fading bool
	fade   ramp
}

// NewPlayer makes a silent player for a rate in Hz, which must be that of the synth, and keeps the last keep seconds of what it sends (DefaultKeep for most uses).
func NewPlayer(s Synth, rate int, keep float64) (*Player, error) {
	switch {
	case s == nil:
		return nil, errors.New("a player needs a synthesizer")
	case rate < MinRate || rate > MaxRate:
		return nil, fmt.Errorf("a sampling rate of %d Hz does not work; give %d to %d", rate, MinRate, MaxRate)
	case !(keep >= 0 && keep <= mostKept):
		return nil, fmt.Errorf("%g seconds cannot be kept; give 0 to %g", keep, mostKept)
	}
	p := &Player{
		rate: rate, voices: make([]slot, voices), events: make([]loop.Event, 0, roomForNote),
		gain: newRamp(RiseTime, fallTime, rate), limiter: newLimiter(rate),
	}
	for i := range p.voices {
		p.voices[i].voice = s.NewVoice()
	}
	for i := range p.partGain {
		p.partGain[i] = newRamp(muteTime, muteTime, rate)
		p.partGain[i].now = 1
	}
	p.asides.prepare(rate)
	p.sent.samples = make([]atomic.Uint32, max(samplesOf(keep, rate), chunk))
	p.SetVolume(StartVolume)
	return p, nil
}

// SetVolume sets the volume in dB below full, MinVolume to MaxVolume; beyond these it takes the nearest, and MinVolume is silence. It gets louder slowly and
// softer at once.
func (p *Player) SetVolume(db float64) {
	const halfOfPower = 20 // dB for a factor of ten in amplitude
	gain := 0.0
	if db > MinVolume { // false for NaN too
		gain = math.Pow(10, min(db, MaxVolume)/halfOfPower)
	}
	p.volume.Store(math.Float64bits(gain))
}

// Mute silences a part or lets it sound again.
func (p *Player) Mute(part loop.Part, mute bool) {
	p.muted[part].Store(mute)
}

// Play takes the notes from a source from sample number `at` on; where that is over, from the next block on. The notes of the old source that still sound then fade
// quickly. A nil source is silence. Of several calls before the sample comes, the last counts.
func (p *Player) Play(s Source, at int64) {
	p.next.Store(&cue{s, at})
}

// Position is the number of samples sent.
func (p *Player) Position() int64 {
	return p.position.Load()
}

// Dropped is how many notes were left out because too many sounded.
func (p *Player) Dropped() int64 {
	return p.dropped.Load()
}

// Sent copies what was sent from sample number `from` on: exactly what Render gave, after volume, mutes and limiter. It is an error where that is not
// sent yet or no longer kept; then dst holds nothing of use. It waits for nobody and allocates nothing unless it fails.
func (p *Player) Sent(dst []float32, from int64) error {
	return p.sent.read(dst, from)
}

// Mono is what was sent from `from` up to `to`, in s on the player's clock, each rounded to the nearest sample.
func (p *Player) Mono(from, to float64) ([]float32, error) {
	if !(from >= 0 && to >= from && to-from <= mostKept) {
		return nil, fmt.Errorf("no sound can be given from %g to %g s; ask for a stretch of at most %g s after 0", from, to, mostKept)
	}
	first, end := p.sampleAt(from), p.sampleAt(to)
	out := make([]float32, end-first)
	if err := p.sent.read(out, first); err != nil {
		return nil, err
	}
	return out, nil
}

// sampleAt is the sample nearest to a time in s.
func (p *Player) sampleAt(seconds float64) int64 {
	return int64(math.Floor(seconds*float64(p.rate) + 0.5))
}

// SkipTo goes on at a sample number, later than the next: after a gap in the device's clock, say. What sounds stops, the samples between count as silence,
// and the volume rises from silence again. A number that is over changes nothing.
func (p *Player) SkipTo(to int64) {
	if to <= p.pos {
		return
	}
	p.sent.silence(p.pos, to)
	p.pos = to
	p.position.Store(to)
	p.gain.now = 0
	for i := range p.voices {
		p.voices[i].sounds = false
	}
}

// Render writes the next len(dst) samples. It neither allocates nor waits.
func (p *Player) Render(dst []float32) {
	p.gain.target = math.Float64frombits(p.volume.Load())
	for i := range p.partGain {
		p.partGain[i].target = 1
		if p.muted[i].Load() {
			p.partGain[i].target = 0
		}
	}
	for len(dst) > 0 {
		n := p.untilCue(min(len(dst), chunk))
		p.renderChunk(dst[:n])
		dst = dst[n:]
	}
}

// untilCue takes a waiting source whose sample has come, and gives how many of n samples can be rendered before the next one's.
func (p *Player) untilCue(n int) int {
	c := p.next.Load()
	if c == nil {
		return n
	}
	if c.at > p.pos {
		return int(min(int64(n), c.at-p.pos))
	}
	if p.next.CompareAndSwap(c, nil) { // else a newer one has come, which the next chunk looks at
		p.source = c.source
		for i := range p.voices {
			p.voices[i].fadeOut(p.rate)
		}
	}
	return n
}

// renderChunk writes up to chunk samples.
func (p *Player) renderChunk(dst []float32) {
	for i := range p.mix {
		clear(p.mix[i][:len(dst)])
	}
	done := 0
	for _, e := range p.eventsIn(len(dst)) {
		at := int(p.sampleAt(e.Time) - p.pos)
		if at < 0 || at >= len(dst) {
			continue
		}
		p.addVoices(done, at)
		done = at
		p.start(e)
	}
	p.addVoices(done, len(dst))
	p.mixDown(dst)
	p.sent.write(p.pos, dst)
	p.pos += int64(len(dst))
	p.position.Store(p.pos)
}

// eventsIn gives the notes that may begin in the next n samples, and perhaps a few beside.
func (p *Player) eventsIn(n int) []loop.Event {
	if p.source == nil {
		return nil
	}
	from, to := float64(p.pos-1)/float64(p.rate), float64(p.pos+int64(n))/float64(p.rate)
	p.events = p.source.AppendEvents(p.events[:0], from, to)
	return p.events
}

// start gives a note to the first free voice.
func (p *Player) start(e loop.Event) {
	for i := range p.voices {
		if v := &p.voices[i]; !v.sounds {
			v.voice.Start(e)
			v.part, v.sounds, v.fading = e.Part, true, false
			return
		}
	}
	p.dropped.Add(1)
}

// addVoices lets all voices sound in a part of the chunk.
func (p *Player) addVoices(from, to int) {
	if from == to {
		return
	}
	for i := range p.voices {
		v := &p.voices[i]
		switch bus := p.mix[v.part][from:to]; {
		case !v.sounds:
		case v.fading:
			p.addFading(v, bus)
		default:
			v.sounds = v.voice.Add(bus)
		}
	}
}

// addFading lets a voice sound that is being faded out.
func (p *Player) addFading(v *slot, bus []float32) {
	single := p.single[:len(bus)]
	clear(single)
	v.sounds = v.voice.Add(single)
	for i, s := range single {
		bus[i] += s * float32(smooth(v.fade.next()))
	}
	v.sounds = v.sounds && v.fade.now > 0
}

// fadeOut begins to fade a voice, if it sounds.
func (v *slot) fadeOut(rate int) {
	if v.sounds && !v.fading {
		v.fading = true
		v.fade = newRamp(stopTime, stopTime, rate)
		v.fade.now = 1
	}
}

// mixDown puts the parts together.
func (p *Player) mixDown(dst []float32) {
	p.asides.look()
	for i := range dst {
		var sum float64
		for part := range p.mix {
			sum += float64(p.mix[part][i]) * smooth(p.partGain[part].next())
		}
		dst[i] = float32(p.limiter.next(p.asides.sample(sum, p.pos+int64(i)) * p.gain.next()))
	}
}
