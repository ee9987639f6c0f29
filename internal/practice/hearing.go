package practice

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"

	"larkhand/internal/round"
	"larkhand/internal/sound/synth"
	"larkhand/match"
	"larkhand/voice"
)

// This file is what a player hears again: takes, what was understood of them, the key note, a chord. It sounds by a Speaker that is a Player.

// Own choices of how it sounds.
const (
	heardPeak    = synth.Ceiling // of all that is heard again: the loop at its loudest peaks there too
	mostRaised   = 30.0          // dB by which a soft take is raised at most, so that silence is not raised to noise
	voiceShare   = 0.7           // of the peak for the voice where tones sound beside it: with the rest they are about as loud
	heardFade    = 0.01          // s at both ends of a take
	keySeconds   = 2.0           // that the key note sounds
	chordSeconds = 3.0           // that a chord sounds
	lowestBass   = 43            // MIDI key from which a chord's bass lies: clear of mud, and carried by small speakers
	lowestTone   = 55            // MIDI key from which the key note and the other tones of a chord lie: near most voices
	octave       = 12
)

// noPlayer is said where nothing can be heard again.
const noPlayer = "Nothing can be heard again, since the loop does not come from a speaker of this program: choose a speaker in the settings."

// letHear lets something be heard, or ends it.
func (e *engine) letHear(s round.Sound) {
	e.asked++
	switch {
	case e.player == nil:
		if s.What != round.NoSound {
			e.notSounded(noPlayer)
		}
	case s.What == round.NoSound:
		e.player.Hush()
	case s.What == round.KeySound || s.What == round.ChordSound:
		rate := e.rate()
		e.sounds(tones(s, rate), rate)
	default:
		e.soundTake(s)
	}
}

// rate is that of sounds that no microphone gave, Hz.
func (e *engine) rate() int {
	if len(e.ears) == 0 {
		return usualRate
	}
	return e.ears[0].rate
}

const usualRate = 48000

// sounds lets samples be heard and tells the machine.
func (e *engine) sounds(samples []float32, rate int) {
	e.player.Play(samples, rate, e.now)
	e.tell(round.Event{Kind: round.SoundBegan, Time: e.now - settle, Seconds: float64(len(samples)) / float64(rate)})
}

// notSounded tells the player and the machine that nothing will be heard.
func (e *engine) notSounded(text string) {
	e.notice(round.NotSounded, text)
	e.tell(round.Event{Kind: round.SoundBegan, Time: e.now - settle})
}

// soundTake lets a take be heard, or what was understood of it.
func (e *engine) soundTake(s round.Sound) {
	t := e.takeHeard(s.Take)
	if t == nil {
		e.notSounded("This take is no longer there.")
		return
	}
	if s.What == round.TakeSound {
		samples := raised(t.sound(), heardPeak)
		faded(samples, t.rate)
		e.sounds(samples, t.rate)
		return
	}
	asked, decided := e.asked, e.decided(t)
	e.onBench(func() {
		u := understood{asked: asked, take: t}
		if u.notes, u.err = t.judged.Voice.Notes, t.judgeBy; decided != nil {
			u.notes = decided
		}
		if u.err == nil {
			u.samples = alongside(t.sound(), t.rate, u.notes)
		}
		e.report(u)
	})
}

// takeHeard is a take of the round under way, or of the one that stands at its verdict; nil where it is not there.
func (e *engine) takeHeard(number int) *recordedTake {
	k := e.kept
	if k == nil {
		k = e.before
	}
	if k == nil {
		return nil
	}
	for _, t := range k.takes {
		if t.number == number {
			return t
		}
	}
	return nil
}

// decided is what the verdict took the notes of the take for on which it rests; nil before it, and for the other take.
func (e *engine) decided(t *recordedTake) []voice.Note {
	if e.kept != nil || e.result == nil || e.result.Judged == nil || e.result.Folder != filepath.Dir(t.path) || t.number != len(e.result.Judged.Takes) {
		return nil
	}
	return decidedNotes(e.result.Judged.Last().Voice.Notes, e.result.Judged.Phrase)
}

// decidedNotes are notes with the pitches of the phrase that was made of them.
func decidedNotes(notes []voice.Note, phrase []match.Sung) []voice.Note {
	out := slices.Clone(notes)
	for i := range out {
		out[i].Semitone = phrase[i].Semitone
	}
	return out
}

// understood is a report: what was understood of a take, and how that sounds.
type understood struct {
	asked   int // the request's number
	take    *recordedTake
	notes   []voice.Note
	samples []float32
	err     error // why the take cannot be listened to
}

// hear takes a report, unless something else was asked for since.
func (e *engine) hear(u understood) {
	if e.takeHeard(u.take.number) == u.take && u.err == nil {
		e.understood[u.take.number-1] = u.notes
	}
	switch {
	case u.asked != e.asked:
	case u.err != nil:
		e.notSounded("What was understood cannot be heard: " + u.err.Error() + ".")
	default:
		e.sounds(u.samples, u.take.rate)
	}
}

// sound is a take as it was recorded. It may be called from any goroutine once the take has ended.
func (t *recordedTake) sound() []float32 {
	samples := make([]float32, len(t.codes)/wavSampleAt)
	for i := range samples {
		samples[i] = float32(int16(uint16(t.codes[2*i])|uint16(t.codes[2*i+1])<<8)) / (1 << 15)
	}
	return samples
}

// raised brings samples to a peak, as far as that raises them by no more than mostRaised. It changes them.
func raised(samples []float32, peak float64) []float32 {
	top := 0.0
	for _, x := range samples {
		top = math.Max(top, math.Abs(float64(x)))
	}
	gain := math.Pow(10, mostRaised/20)
	if top*gain > peak {
		gain = peak / top
	}
	for i := range samples {
		samples[i] *= float32(gain)
	}
	return samples
}

// faded lets samples begin and end in silence.
func faded(samples []float32, rate int) {
	n := min(int(heardFade*float64(rate)), len(samples)/2)
	for i := range n {
		gain := float32(i) / float32(n)
		samples[i] *= gain
		samples[len(samples)-1-i] *= gain
	}
}

// alongside lays the notes that were understood of a take beside its voice, as plain tones in the voice's own tuning: what clashes was misheard.
func alongside(samples []float32, rate int, notes []voice.Note) []float32 {
	raised(samples, voiceShare*heardPeak)
	faded(samples, rate)
	for _, n := range notes {
		tone := synth.Tone{Onset: n.Onset, Offset: n.Offset, Pitch: float64(n.Semitone) + n.ReferenceCents/100}
		synth.AddTones(samples, rate, (1-voiceShare)*heardPeak, tone)
	}
	return samples
}

// tones are the key note, or a chord.
func tones(s round.Sound, rate int) []float32 {
	seconds := keySeconds
	pitches := []int{keyFrom(lowestTone, s.Key.PitchClasses()[0])}
	if s.What == round.ChordSound {
		seconds = chordSeconds
		_, bass, _ := s.Chord.Bass()
		pitches = []int{keyFrom(lowestBass, bass)}
		for _, n := range s.Chord.Notes() {
			pitches = append(pitches, keyFrom(lowestTone, n.PitchClass))
		}
	}
	samples := make([]float32, int(seconds*float64(rate)))
	for _, p := range pitches {
		synth.AddTones(samples, rate, heardPeak/float64(len(pitches)), synth.Tone{Offset: seconds, Pitch: float64(p)})
	}
	return samples
}

// keyFrom is the lowest MIDI key of a pitch class that is not below another.
func keyFrom(lowest, class int) int { return lowest + ((class-lowest)%octave+octave)%octave }

// handed is the round that was handed over last. It belongs to the bench.
type handed struct {
	finished Finished
	err      error // of the Saver
}

// marked is a report: what became of a mark.
type marked struct {
	round int
	told  string
	err   error
}

// errNoMark is given by a Saver that cannot mark.
var errNoMark = errors.New("what keeps the rounds has no such mark")

// mark marks the round that was saved as misheard, or takes the mark away.
func (e *engine) mark(c round.Command) {
	e.onBench(func() {
		r := marked{round: c.Round}
		if e.handed.finished.Facts.Round == c.Round {
			r.told, r.err = e.setMark(c.Misheard)
		}
		e.report(r)
	})
}

// setMark marks where the round is: with the Saver, or still in its folder. It belongs to the bench.
func (e *engine) setMark(misheard bool) (told string, err error) {
	f := &e.handed.finished
	f.Facts.Misheard = misheard
	if e.cfg.Saver == nil || e.handed.err != nil {
		if _, err := os.Stat(f.Folder); err != nil {
			return "", err
		}
		return "", newSheet(f.Facts, f.Setup, f.Began).write(f.Folder)
	}
	marker, ok := e.cfg.Saver.(Marker)
	if !ok {
		return "", errNoMark
	}
	ctx, cancel := context.WithTimeout(context.Background(), saveTime)
	defer cancel()
	return marker.Mark(ctx, *f, misheard)
}

// markSet takes what became of a mark.
func (e *engine) markSet(m marked) {
	if m.err != nil {
		e.notice(round.NotKept, "The round could not be marked as misheard, nor the mark taken away: "+m.err.Error())
		return
	}
	if e.result != nil && e.result.Facts.Round == m.round && m.told != "" {
		r := *e.result
		r.Journal = m.told
		e.result = &r
	}
}
