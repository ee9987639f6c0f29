package midiin

import (
	"math"
	"slices"
)

// Options says how messages are to be understood. The zero value is a keyboard with the usual bend range.
type Options struct {
	Instrument Instrument // Guitar also drops a converter's ghost notes
	BendRange  float64    // semitones of a full pitch bend until the messages set it (RPN 0); 0 means 2; at most 127
}

// Reader turns channel messages into notes. Files and live ports go through it alike, so both give the same notes.
// It must not be used from two goroutines at once. Message allocates only when the list of notes has to grow.
type Reader struct {
	opt      Options
	now      float64 // s; the latest time seen
	notes    []Note  // in the order of their onsets; those still sounding have provisional ends
	channels [16]channel
	lower    int // member channels of the lower MPE zone: 1 to lower (counted from 0); 0 is no zone
	upper    int // member channels of the upper MPE zone: 15-upper to 14; 0 is no zone
	unclosed int // notes that Finish had to end
	ghosts   int // notes that the last Finish or Notes dropped
	weights  bendWeights
}

// channel is the state of one MIDI channel.
type channel struct {
	note      [128]int32 // for each sounding key its place in Reader.notes
	down      keySet     // keys held by a finger
	sounding  keySet     // those and the ones that a pedal holds
	captured  keySet     // keys that the sostenuto pedal holds
	again     keySet     // keys struck again while down, whose old strike's release may still come
	sustain   bool
	sostenuto bool
	mono      bool // one note at a time (mode 4)
	bend      bendState
	parameter parameter
}

// initialNotes is room for the notes of several answers before the list must grow (own choice).
const initialNotes = 256

// NewReader returns a Reader with no key down, no pedal down and no bend. It panics where opt.BendRange is not from 0 to 127.
func NewReader(opt Options) *Reader {
	if !(opt.BendRange >= 0 && opt.BendRange <= maxBendRange) {
		panic("midiin: bend range must be from 0 to 127 semitones")
	}
	r := &Reader{opt: opt, notes: make([]Note, 0, initialNotes)}
	for i := range r.channels {
		c := &r.channels[i]
		c.parameter = noParameter
		c.bend = bendState{value: bendCentre, log: make([]bendStep, 0, maxBendSteps)}
		c.bend.setRange(r.usualRange())
	}
	return r
}

// Message takes one complete channel message (status byte and data bytes) that came at t seconds. Anything else (system
// messages, incomplete messages, data without a status) is ignored. Times that go back, or are no number, count as the
// latest time before; times before 0 count as 0.
func (r *Reader) Message(t float64, msg []byte) {
	t = r.advance(t)
	if len(msg) < 2 || msg[0] < 0x80 || msg[0] >= sysEx || len(msg) != 1+dataBytes(msg[0]) {
		return
	}
	first, last := msg[1], msg[len(msg)-1]
	if first >= 0x80 || last >= 0x80 {
		return
	}
	switch ch := int(msg[0] & 0x0F); msg[0] & 0xF0 {
	case noteOn:
		if last == 0 {
			r.noteOff(t, ch, int(first))
			return
		}
		r.noteOn(t, ch, int(first), int(last))
	case noteOff:
		r.noteOff(t, ch, int(first))
	case controlChange:
		r.control(t, ch, first, int(last))
	case pitchBend:
		r.channels[ch].bend.value = int(first) | int(last)<<7
		r.bendChanged(t, ch)
	}
}

// advance returns t, kept from going back, and makes it the latest time.
func (r *Reader) advance(t float64) float64 {
	if t > r.now && !math.IsInf(t, 1) {
		r.now = t
	}
	return r.now
}

func (r *Reader) noteOn(t float64, ch, key, velocity int) {
	c := &r.channels[ch]
	again := c.down.has(key)
	if c.sounding.has(key) {
		r.end(t, ch, key) // struck again: one note ends where the next starts
	}
	if c.mono {
		for k := range c.sounding.all() {
			r.end(t, ch, k)
		}
	}
	if c.down.empty() {
		c.bend.restart(t, r.bendOf(ch))
	}
	c.note[key] = int32(len(r.notes))
	c.down.add(key)
	c.sounding.add(key)
	if again {
		c.again.add(key)
	}
	r.notes = append(r.notes, Note{
		Onset: t, Offset: t, Released: t,
		Key: key, Pitch: float64(key) + r.bendOf(ch), Velocity: velocity, Channel: ch,
	})
}

// noteOff takes a key's release. Of a release and a strike of one key at one time the release counts as the earlier,
// in whichever order they came: a release at the very time of a second strike belongs to the first.
func (r *Reader) noteOff(t float64, ch, key int) {
	c := &r.channels[ch]
	if !c.down.has(key) {
		return
	}
	if c.again.has(key) {
		c.again.remove(key)
		if r.notes[c.note[key]].Onset == t {
			return
		}
	}
	r.release(t, ch, key)
}

// release lifts a key that is down; the note goes on where a pedal holds it.
func (r *Reader) release(t float64, ch, key int) {
	c := &r.channels[ch]
	r.lift(t, ch, key)
	if !c.sustain && !c.captured.has(key) {
		r.end(t, ch, key)
	}
}

// lift writes down when a key that is down went up and what pitch it had until then.
func (r *Reader) lift(t float64, ch, key int) {
	c := &r.channels[ch]
	n := &r.notes[c.note[key]]
	n.Released = t
	n.Pitch = r.pitch(n, t)
	c.down.remove(key)
	c.again.remove(key)
}

// end silences a sounding key at once.
func (r *Reader) end(t float64, ch, key int) {
	c := &r.channels[ch]
	if c.down.has(key) {
		r.lift(t, ch, key)
	}
	r.notes[c.note[key]].Offset = t
	c.sounding.remove(key)
	c.captured.remove(key)
}

// endUnheld silences the keys of a channel that neither a finger nor a pedal holds any longer.
func (r *Reader) endUnheld(t float64, ch int) {
	c := &r.channels[ch]
	if c.sustain {
		return
	}
	for key := range c.sounding.without(c.down).without(c.captured).all() {
		r.end(t, ch, key)
	}
}

// Notes returns the notes so far, in the order of their onsets. Those still sounding end at now for the time being, and
// their pitch may still change; now may lie behind messages that are still to come. With a guitar, ghosts are left out, and so is a very soft note that has only just begun.
func (r *Reader) Notes(now float64) []Note {
	if !(now > r.now) {
		now = r.now
	}
	notes := slices.Clone(r.notes)
	for ch := range r.channels {
		c := &r.channels[ch]
		for key := range c.sounding.all() {
			n := &notes[c.note[key]]
			n.Offset = now
			if c.down.has(key) {
				n.Released = now
				n.Pitch = r.pitch(n, now)
			}
		}
	}
	notes, r.ghosts = r.withoutGhosts(notes)
	return notes
}

// Finish ends all notes that still sound at t and returns all notes, in the order of their onsets. Remarks then says how many were never released.
func (r *Reader) Finish(t float64) []Note {
	t = r.advance(t)
	for ch := range r.channels {
		c := &r.channels[ch]
		r.unclosed += c.down.len()
		for key := range c.sounding.all() {
			r.end(t, ch, key)
		}
	}
	return r.Notes(t)
}

// Remarks says in plain sentences what the last Finish or Notes had to mend: notes never released, ghosts dropped.
func (r *Reader) Remarks() []string {
	var list remarks
	if r.unclosed > 0 {
		list.add("%s never released; the end of the playing was taken.", countedWere(r.unclosed, "note"))
	}
	if r.ghosts > 0 {
		list.add("%s dropped: very short, very soft, and beside a louder note, as guitar converters make them.", countedWere(r.ghosts, "ghost note"))
	}
	return list.all()
}

func (r *Reader) withoutGhosts(notes []Note) (kept []Note, dropped int) {
	if r.opt.Instrument != Guitar {
		return notes, 0
	}
	return DropGhosts(notes)
}

// Notes reads the notes of a file. The remarks are about the notes; those about the file stay in file.Remarks.
func Notes(file File, opt Options) (notes []Note, remarks []string) {
	r := NewReader(opt)
	var msg [3]byte
	for _, e := range file.Events {
		r.Message(e.Time, e.Append(msg[:0]))
	}
	notes = r.Finish(file.End)
	return notes, r.Remarks()
}
