package bleed

import (
	"fmt"
	"math"
)

// Verdict says what a take is good for, by what is expected to be left of the bleed.
type Verdict int

// The verdicts, with the residual over the voice from which they hold (read off note errors of simulated takes).
const (
	Usual     Verdict = iota // below -25 dB: judged as any take
	SomeBleed                // -25 to -20 dB: judged as usual, and said
	Marked                   // -20 to -15 dB: judged with wider tolerances, headphones suggested
	NoVerdict                // -15 to -10 dB: notes may be shown but not judged
	Unusable                 // above
)

// The bounds between the verdicts, dB.
const (
	someBleedFrom = -25.0
	markedFrom    = -20.0
	noVerdictFrom = -15.0
	unusableFrom  = -10.0
)

// String is the verdict in words.
func (v Verdict) String() string {
	return [...]string{"usual", "some bleed", "marked", "no verdict", "unusable"}[v]
}

// verdictOf reads a residual in dB; NaN, where nobody sings, is usual.
func verdictOf(residual float64) Verdict {
	switch {
	case residual > unusableFrom:
		return Unusable
	case residual > noVerdictFrom:
		return NoVerdict
	case residual > markedFrom:
		return Marked
	case residual > someBleedFrom:
		return SomeBleed
	}
	return Usual
}

// heard says whether the backing is in the take: by the sharpness of the delay's peak, else by whether a path learned on the first
// half of the weights takes anything out of the second.
func (t *cleaning) heard() bool {
	if t.sharp > sharpPresence {
		return true
	}
	train, test := halves(t.w)
	return weightedEnergy(t.y, test) > fromDB(presentERLE)*t.heldOutLeft([][]float64{t.u}, train, test)
}

// bends says whether further references for a bad speaker earn their place: learned on the first half of the weights they
// must leave less in the second.
func (t *cleaning) bends(powers [][]float64) bool {
	train, test := halves(t.w)
	straight := t.heldOutLeft([][]float64{t.u}, train, test)
	return t.heldOutLeft(append([][]float64{t.u}, powers...), train, test) < straight*fromDB(-nonlinearGain)
}

// heldOutLeft is the weighted energy that a path fitted with train leaves in test.
func (t *cleaning) heldOutLeft(refs [][]float64, train, test []float64) float64 {
	h := fitPath(refs, t.y, train, nil, pathTaps, pathSteps)
	return weightedEnergy(subtract(t.y, convolve(refs, h)), test) + leastPowerVal
}

// halves splits weights at the middle of their sum.
func halves(w []float64) (first, second []float64) {
	first, second = make([]float64, len(w)), make([]float64, len(w))
	half, sum := total(w)/2, 0.0
	for n, v := range w {
		if sum += v; sum <= half {
			first[n] = v
		} else {
			second[n] = v
		}
	}
	return first, second
}

// speakerPowers are the square without its mean and the cube without what it shares with the reference itself: the further
// references of a speaker that bends the wave (a Hammerstein model of order three).
func speakerPowers(u []float64) [][]float64 {
	square, cube := make([]float64, len(u)), make([]float64, len(u))
	mean, shared := 0.0, 0.0
	for _, v := range u {
		mean += v * v
		shared += v * v * v * v
	}
	shared /= mean + leastPowerVal
	mean /= float64(len(u))
	for n, v := range u {
		square[n], cube[n] = v*v-mean, v*v*v-shared*v
	}
	return [][]float64{square, cube}
}

// judge measures the levels, looks for movement, chooses the method and says what the take is good for.
func (t *cleaning) judge() Result {
	left := subtract(t.y, t.fixed)
	l := measureLevels(t.fixed, left, t.mask)
	r := Result{Rate: WorkRate, Method: Fixed, Present: true, LeakDB: toDB(t.leak(l)), DriftDB: toDB(0), BleedDB: toDB(l.bleedOverVoice()),
		SkewPPM: t.at.skew * 1e6, DelaySeconds: t.delaySeconds(), VoiceFree: t.free}
	if r.BleedDB < harmlessDB {
		u := t.untouched(fmt.Sprintf("The backing in the microphone is too soft to matter (%.0f dB beside the voice).", r.BleedDB))
		u.Present, u.BleedDB, u.ResidualDB, u.LeakDB = true, r.BleedDB, r.BleedDB, 0
		return u
	}
	if t.ratio == 0 {
		t.ratio = weightedEnergy(t.y, t.w) / (weightedEnergy(t.u, t.w) + leastPowerVal)
	}
	leak := t.follow(&r, left)
	r.ResidualDB = r.BleedDB + toDB(leak)
	r.Verdict = verdictOf(r.ResidualDB)
	if t.mended {
		r.Verdict = max(r.Verdict, Marked)
	}
	r.LeftPower = framePowers(t.fixed)
	for i := range r.LeftPower {
		r.LeftPower[i] *= leak
	}
	r.Path = &Path{Delay: t.delaySeconds(), Skew: t.at.skew, Taps: t.h[0], Ratio: t.ratio, Leak: leak}
	r.Remarks = remarksOn(r)
	return r
}

// follow looks whether the path moved. It fills in the samples, the drift and the method, and returns the leak as a power ratio.
func (t *cleaning) follow(r *Result, left []float64) float64 {
	leak := fromDB(r.LeakDB)
	drifted := t.drifted()
	r.DriftDB = toDB(drifted)
	if r.DriftDB > movedDB {
		if t.x != nil && t.rejoin() {
			t.mended, r.Method, left = true, Pieces, subtract(t.y, t.fixed)
			drifted = t.drifted()
		}
	}
	if toDB(drifted) > movedDB {
		r.Method = Tracked
		var wrong float64
		left, wrong = t.track()
		leak += wrong
	}
	r.Samples = toSingle(left)
	return leak
}

// drifted is M of the fixed path as a power ratio.
func (t *cleaning) drifted() float64 {
	bent := t.bent()
	straight := subtract(t.y, bent)
	moved := filterTake(t.filter(slow), t.u, straight)
	return drift(subtract(straight, moved), subtract(t.fixed, bent), t.mask)
}

// leak is K as a power ratio: the share of the bleed that is left where nobody sings, and what the noise puts into the path: a path of p
// taps learned on n samples carries p/n of the noise's power (the variance of a least-squares prediction; the ridge makes it less).
func (t *cleaning) leak(l levels) float64 {
	if t.knownLeak > 0 {
		return math.Max(leastLeak, t.knownLeak)
	}
	bleed, frames := 0.0, 0.0
	for i, free := range l.free {
		if free {
			bleed += l.bleed[i]
			frames++
		}
	}
	if frames*levelFrame < leastFreeTime*WorkRate || bleed == 0 {
		return t.doubtOfParts()
	}
	learned := math.Min(1, pathTaps*float64(len(t.h))/(frames*levelFrame))
	leak := l.leak + learned*l.noise*frames/bleed
	if t.found {
		leak = math.Max(leak, t.doubtOfParts())
	}
	return math.Max(leastLeak, leak)
}

// doubtOfParts is how far the predictions of two paths lie apart that are learned on every other second of the take: half of their squared
// difference over the bleed. It serves where the voice-free stretches were not told, since some may hold soft singing.
func (t *cleaning) doubtOfParts() float64 {
	even, odd := make([]float64, len(t.w)), make([]float64, len(t.w))
	for n, v := range t.w {
		if n/WorkRate%2 == 0 {
			even[n] = v
		} else {
			odd[n] = v
		}
	}
	refs := append([][]float64{t.u}, t.extra...)
	a := convolve(refs, fitPath(refs, t.y, even, nil, pathTaps, pathSteps))
	b := convolve(refs, fitPath(refs, t.y, odd, nil, pathTaps, pathSteps))
	return math.Max(leastLeak, energy(subtract(a, b))/2/(energy(t.fixed)+leastPowerVal))
}

// bent is what the further references contribute.
func (t *cleaning) bent() []float64 {
	if len(t.extra) == 0 {
		return make([]float64, len(t.y))
	}
	return convolve(t.extra, t.h[1:])
}

// filter starts a filter from the fixed path.
func (t *cleaning) filter(speed tracking) *kalman {
	k := newKalman(trackBlock, t.taps, speed)
	k.setPath(t.h[0])
	k.setDoubt(speed.doubt, t.ratio)
	return k
}

// track follows a moving path by the fast filter, forwards and then backwards from where it ended, and takes the mean of both
// predictions: one is behind the movement as far as the other is ahead, and they learn from different parts of the take
// (two-filter smoothing, Fraser and Potter 1969, with equal weights). Half of their squared difference is how wrong either is where
// their errors are independent; the mean is better, but gain control fools both alike. wrong is that over the bleed.
func (t *cleaning) track() (left []float64, wrong float64) {
	straight := subtract(t.y, t.bent())
	k := t.filter(fast)
	ahead := filterTake(k, t.u, straight)
	k.turn()
	back := filterTake(k, reversed(t.u, t.taps-1), reversed(straight, 0))
	left = make([]float64, len(ahead))
	apart, bleed := 0.0, leastPowerVal
	for n, a := range ahead {
		b := back[len(back)-1-n]
		left[n] = (a + b) / 2
		if t.mask[n] == 0 {
			apart += (a - b) * (a - b) / 2
			bleed += t.fixed[n] * t.fixed[n]
		}
	}
	return left, apart / bleed
}

// reversed is x backwards, read early by some samples.
func reversed(x []float64, early int) []float64 {
	out := make([]float64, len(x))
	for n := range out {
		if from := len(x) - 1 - n - early; from >= 0 {
			out[n] = x[from]
		}
	}
	return out
}

func toSingle(x []float64) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = float32(v)
	}
	return out
}

// remarksOn says to the player what was found.
func remarksOn(r Result) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	heard := fmt.Sprintf("The backing was in the microphone (%.0f dB beside the voice, %.0f dB after it was taken out)", r.BleedDB, r.ResidualDB)
	switch {
	case math.IsNaN(r.BleedDB):
	case r.Verdict == Usual:
		say("%s.", heard)
	case r.Verdict == SomeBleed:
		say("%s; a little of it is left.", heard)
	case r.Verdict == Marked:
		say("%s; not all of it could be taken out, so notes may be wrong: use headphones or turn the speaker down.", heard)
	case r.Verdict == NoVerdict:
		say("%s; too much of it is left to judge notes by the take: use headphones or turn the speaker down, then sing again.", heard)
	default:
		say("%s and drowns the voice: use headphones or turn the speaker down, then sing again.", heard)
	}
	if r.Method == Pieces {
		say("A few milliseconds of the recording were lost during the take: close other programs that use the sound device, or use longer buffers.")
	} else if r.DriftDB > brokenDB {
		say("The sound of the backing in the microphone broke off or jumped: close other programs that record, switch automatic gain and noise suppression off, then sing again.")
	} else if r.DriftDB > movedDB {
		say("The way from speaker to microphone changed during the take: keep the microphone still, and switch automatic gain off.")
	}
	return out
}
