package midiin

import "slices"

// Pitch bend: 14 bits, 8192 is the centre, and a full bend reaches the range (MIDI 1.0):
// semitones = (value - 8192) / 8192 * range.
const (
	bendCentre       = 8192
	defaultBendRange = 2.0   // semitones (MIDI 1.0, General MIDI)
	maxBendRange     = 127.0 // semitones; the largest data value, without cents
)

// How the pitch of a bent note is found: own. A bend arrives as a curve, so no single value is "held": the time that the
// note spends at each pitch is added up, the semitone-wide window (100 cents) that holds the most of it is taken, and the
// pitch is the time-weighted mean within a quarter of a semitone of that window's mean. So a bend up to a whole step counts as the
// step when it is held longer than the way there, vibrato averages to its centre, and jitter does not matter. Of two
// pitches held equally long the later counts: bends lead to their goal.
//
// The attack is left out: 60 ms, or a third of a shorter note. A pitch-to-MIDI converter needs 1.5 to 2 periods, 18 to 24 ms
// on a guitar's low E (82.4 Hz), plus processing before its bend values settle; a scoop lasts 50 ms and more. What a longer scoop
// spends below its goal is outvoted. Only the time the key is down counts: a wheel that springs back under the pedal does not.
const (
	bendAttack      = 0.060 // s
	bendAttackShare = 1.0 / 3
	binsPerSemitone = 4         // resolution of the search for the window; the mean uses the exact values
	windowWidth     = 1.0       // semitones
	nearby          = 0.25      // semitones; what counts in the mean
	reachSemitones  = 2*128 + 2 // two bends (member and master) of at most 127 semitones and 127 cents each
	bendBins        = 2*reachSemitones*binsPerSemitone + binsPerSemitone
)

// maxBendSteps bounds the memory and time of one channel's bends. When so many came while keys were down, they are thinned to
// half as many at an even spacing in time, and later ones keep that spacing (own). At the thousand messages a second of a
// MIDI cable that is 1 ms for the first second, 2 ms to the second, 4 ms to the fourth, and so on.
const maxBendSteps = 1024

// bendWeights is room for adding up, empty between uses: seconds in each bin.
type bendWeights [bendBins]float64

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
	centre, ok := meanWithin(steps, from, end, fullestWindow(steps, from, end, weights), windowWidth)
	if !ok {
		return steps[len(steps)-1].semitones
	}
	if finer, ok := meanWithin(steps, from, end, centre-nearby, 2*nearby); ok {
		return finer
	}
	return centre
}

// duration is how long step i lasts between from and end, in seconds.
func duration(steps []bendStep, i int, from, end float64) float64 {
	stop := end
	if i+1 < len(steps) {
		stop = min(stop, steps[i+1].time)
	}
	return max(0, stop-max(from, steps[i].time))
}

// bin is the place of a bend in bendWeights.
func bin(semitones float64) int {
	return int((semitones + reachSemitones) * binsPerSemitone)
}

// fullestWindow is the lower edge, in semitones, of the semitone that holds the most time. It takes time linear in steps.
func fullestWindow(steps []bendStep, from, end float64, weights *bendWeights) float64 {
	for i, s := range steps {
		weights[bin(s.semitones)] += duration(steps, i, from, end)
	}
	best, most := 0, -1.0
	for _, s := range steps {
		low := bin(s.semitones)
		sum := 0.0
		for _, w := range weights[low : low+binsPerSemitone] {
			sum += w
		}
		if sum >= most {
			best, most = low, sum
		}
	}
	for _, s := range steps {
		weights[bin(s.semitones)] = 0
	}
	return float64(best)/binsPerSemitone - reachSemitones
}

// meanWithin is the time-weighted mean of the bends from low to low + width semitones; ok is false where there is none.
func meanWithin(steps []bendStep, from, end, low, width float64) (mean float64, ok bool) {
	sum, time := 0.0, 0.0
	for i, s := range steps {
		if s.semitones >= low && s.semitones <= low+width {
			d := duration(steps, i, from, end)
			sum += d * s.semitones
			time += d
		}
	}
	return sum / time, time > 0
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
