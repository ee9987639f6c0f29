package midiin

import (
	"math"
	"slices"
)

// Pitch bend: 14 bits, 8192 is the centre, and a full bend reaches the range (MIDI 1.0):
// semitones = (value - 8192) / 8192 * range.
const (
	bendCentre       = 8192
	defaultBendRange = 2.0   // semitones (MIDI 1.0, General MIDI)
	maxBendRange     = 127.0 // semitones; the largest data value, without cents
)

// How the pitch of a bent note is found: own. A bend arrives as a curve, so no single value is "held": the time that the
// note spends at each pitch is added up, the window of one semitone (100 cents) that holds the most of it is taken, then the
// median over time in that window, and the pitch is the mean over time of what lies within a quarter of a semitone of the
// median. So a bend counts when it is held longer than what was before it, be it a whole step or a flat half step; vibrato
// averages to its centre, and jitter does not matter. Of two windows with equal time the later counts: bends lead to a goal.
//
// The attack is left out: 60 ms, or a third of a shorter note. A pitch-to-MIDI converter needs 1.5 to 2 periods, 18 to 24 ms
// on a guitar's low E (82.4 Hz), plus processing before its bend values settle; a scoop lasts 50 ms and more. What a longer scoop
// spends below its goal is outvoted. Only the time the key is down counts: a wheel that springs back under the pedal does not.
const (
	bendAttack      = 0.060 // s
	bendAttackShare = 1.0 / 3
	nearby          = 0.25      // semitones about the median that count in the mean
	windowBins      = 4         // the window of a semitone is searched in steps of a quarter of a semitone ...
	fineBins        = 4         // ... and the median in it in steps of a quarter of that, 6.25 cents
	reachSemitones  = 2*128 + 2 // two bends (member and master) of at most 127 semitones and 127 cents each
	coarseCount     = 2*reachSemitones*windowBins + windowBins
)

// maxBendSteps bounds the memory and time of one channel's bends. When so many came while keys were down, they are thinned to
// half as many at an even spacing in time, and later ones keep that spacing (own). At the thousand messages a second of a
// MIDI cable that is 1 ms for the first half second, 2 ms to a second, 4 ms to two seconds, and so on.
const maxBendSteps = 512

// bendWeights is room for adding up the seconds at each pitch, empty between uses.
type bendWeights struct {
	coarse [coarseCount]float64            // bins of a quarter of a semitone
	fine   [coarseCount * fineBins]float64 // bins of 6.25 cents
}

// bendStep is a bend in force from a time on.
type bendStep struct {
	time      float64 // s
	semitones float64
}

// bendState is the bend of one channel: its wheel, its range, and what it did while keys were down.
type bendState struct {
	value     int        // 0 to 16383
	semitones int        // the range, whole semitones ...
	cents     float64    // ... and the rest, in cents
	log       []bendStep // strictly rising in time; the master's bend is in it
	spacing   float64    // s; the least time between two steps of the log
}

func (b *bendState) setRange(semitones float64) {
	b.semitones = int(semitones)
	b.cents = (semitones - float64(b.semitones)) * centsPerSemitone
}

// step moves the range by one cent up or down, from 0 to 127 semitones.
func (b *bendState) step(cents float64) {
	total := float64(b.semitones)*centsPerSemitone + b.cents + cents
	b.setRange(min(max(total, 0), maxBendRange*centsPerSemitone) / centsPerSemitone)
}

// own is the channel's own bend in semitones.
func (b *bendState) own() float64 {
	return float64(b.value-bendCentre) / bendCentre * (float64(b.semitones) + b.cents/centsPerSemitone)
}

// restart forgets the past; semitones is the bend in force at t.
func (b *bendState) restart(t, semitones float64) {
	b.log, b.spacing = append(b.log[:0], bendStep{t, semitones}), 0
}

// change notes that the bend in force from t on is semitones. restart must have come before.
func (b *bendState) change(t, semitones float64) {
	if b.log[len(b.log)-1].semitones == semitones {
		return
	}
	if len(b.log) == maxBendSteps {
		b.thin(t)
	}
	b.push(bendStep{t, semitones})
}

// push adds a step, or lets the last step take its bend where the two are closer than the spacing.
func (b *bendState) push(s bendStep) {
	if last := &b.log[len(b.log)-1]; s.time == last.time || s.time-last.time < b.spacing {
		last.semitones = s.semitones
		return
	}
	b.log = append(b.log, s)
}

// thin spaces the steps until t so that about half of maxBendSteps are left.
func (b *bendState) thin(t float64) {
	steps := b.log
	b.spacing = (t - steps[0].time) / (maxBendSteps / 2)
	b.log = steps[:1]
	for _, s := range steps[1:] {
		b.push(s)
	}
}

// held is the bend held longest between onset and end, in semitones.
func (b *bendState) held(onset, end float64, weights *bendWeights) float64 {
	from := onset + min(bendAttack, (end-onset)*bendAttackShare)
	i, found := slices.BinarySearchFunc(b.log, from, func(s bendStep, t float64) int {
		switch {
		case s.time < t:
			return -1
		case s.time > t:
			return 1
		}
		return 0
	})
	if !found && i > 0 {
		i--
	}
	steps := b.log[i:]
	if len(steps) == 1 || !(end > from) {
		return steps[len(steps)-1].semitones
	}
	return meanNear(steps, from, end, weights.median(steps, from, end))
}

// duration is how long step i lasts between from and end, in seconds.
func duration(steps []bendStep, i int, from, end float64) float64 {
	stop := end
	if i+1 < len(steps) {
		stop = min(stop, steps[i+1].time)
	}
	return max(0, stop-max(from, steps[i].time))
}

// fineBin is the place of a bend in bendWeights.fine; its place in bendWeights.coarse is that divided by fineBins.
func fineBin(semitones float64) int {
	return int((semitones + reachSemitones) * windowBins * fineBins)
}

// median is the median over time of the bends in the fullest window, to the nearest fine bin's middle, in semitones. It takes
// time linear in steps, which must last some time between from and end.
func (w *bendWeights) median(steps []bendStep, from, end float64) float64 {
	for i, s := range steps {
		b, d := fineBin(s.semitones), duration(steps, i, from, end)
		w.fine[b] += d
		w.coarse[b/fineBins] += d
	}
	low, total := w.fullestWindow(steps)
	middle, sum := low*fineBins, 0.0
	for b := middle; b < (low+windowBins)*fineBins && sum < total/2; b++ {
		sum += w.fine[b]
		middle = b
	}
	for _, s := range steps {
		b := fineBin(s.semitones)
		w.fine[b], w.coarse[b/fineBins] = 0, 0
	}
	return (float64(middle)+0.5)/(windowBins*fineBins) - reachSemitones
}

// fullestWindow is the first coarse bin of the window that holds the most time, and that time in seconds. A fullest window
// begins at a bin that is in use, so only these are tried.
func (w *bendWeights) fullestWindow(steps []bendStep) (low int, total float64) {
	for _, s := range steps {
		b := fineBin(s.semitones) / fineBins
		sum := 0.0
		for _, seconds := range w.coarse[b : b+windowBins] {
			sum += seconds
		}
		if sum >= total {
			low, total = b, sum
		}
	}
	return low, total
}

// meanNear is the mean over time of the bends near the median, in semitones.
func meanNear(steps []bendStep, from, end, median float64) float64 {
	sum, time := 0.0, 0.0
	for i, s := range steps {
		if math.Abs(s.semitones-median) <= nearby {
			d := duration(steps, i, from, end)
			sum += d * s.semitones
			time += d
		}
	}
	return sum / time
}

// pitch is the sounding pitch of a note whose key is down, as heard until end.
func (r *Reader) pitch(n *Note, end float64) float64 {
	return float64(n.Key) + r.channels[n.Channel].bend.held(n.Onset, end, &r.weights)
}

// bendOf is the bend in force on a channel, in semitones; in an MPE zone the master's bend adds to each member's.
func (r *Reader) bendOf(ch int) float64 {
	semitones := r.channels[ch].bend.own()
	if master := r.master(ch); master != ch {
		semitones += r.channels[master].bend.own()
	}
	return semitones
}

// bendChanged writes down the bend of a channel, and of its members where it is a master, if keys are down there.
func (r *Reader) bendChanged(t float64, ch int) {
	first, last := r.scope(ch)
	for i := first; i <= last; i++ {
		if c := &r.channels[i]; !c.down.empty() {
			c.bend.change(t, r.bendOf(i))
		}
	}
}
