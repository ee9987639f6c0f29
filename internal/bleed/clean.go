package bleed

import (
	"errors"
	"fmt"
	"math"
)

// MinRate and MaxRate bound the rates of takes and backings, in Hz.
const (
	MinRate = 16000
	MaxRate = 96000
)

// MaxSeconds is the longest take that is cleaned, s: the work space grows with it.
const MaxSeconds = 600.0

// Span is a stretch of time, s on the take's clock; its end does not belong to it.
type Span struct{ From, To float64 }

// Options say what is known of a take. The zero value knows nothing but that take and backing start together.
type Options struct {
	// BackingRate is the backing's rate in Hz; 0: the take's.
	BackingRate int
	// Start is when the backing's first sample was sent, s on the take's clock; it may be negative. The sound arrives up to half a
	// second later.
	Start float64
	// StartUnknown: the backing may have been started at any time, and Start does not count.
	StartUnknown bool
	// Loops: the backing is one pass of a loop that goes round without a gap from Start on; with StartUnknown before the take too.
	Loops bool
	// VoiceFree are the stretches in which nobody sings while the backing sounds, such as the count-in; where it is empty they are looked for.
	VoiceFree []Span
	// SkewKnown says that SkewPPM is to be used as it is: 0 where one clock drives speaker and microphone, else from an
	// earlier Result with the same pair of devices.
	SkewKnown bool
	SkewPPM   float64
	// Path, where it is not nil, was learned by an earlier Clean while speaker and microphone stood as they do now, such as in the count-in of a
	// live round. It is used as it is but for lag and gain where the take's own voice-free stretches are too short to learn one from.
	Path *Path
}

// Method is how the bleed was taken out.
type Method string

// The methods.
const (
	Untouched Method = "untouched" // too little bleed to matter: the samples are the take's own
	Fixed     Method = "fixed"     // one path from speaker to microphone for the whole take
	Pieces    Method = "pieces"    // the fixed path, set right where the recording lost or gained samples
	Tracked   Method = "tracked"   // a path that moves, followed by the fast filter
)

// Result is a take without its bleed.
type Result struct {
	// Samples keep the take's times: sample n lies n/Rate s after its start. Rate is WorkRate, or the take's where Method is Untouched.
	Samples []float32
	Rate    int
	Method  Method
	// BleedDB is the level of the bleed over the voice while somebody sings; -100: none. ResidualDB is what is expected to be left of
	// it over the voice. NaN where nobody sings.
	BleedDB, ResidualDB float64
	// LeakDB is what was left of the bleed over the bleed in voice-free stretches, DriftDB how much the path has moved by the
	// end of the take, over the bleed; below -18 it stood still.
	LeakDB, DriftDB float64
	// Present says that the backing is in the take at all.
	Present bool
	// DelaySeconds is from Options.Start to the arrival of the sound; with StartUnknown from the take's start, modulo the loop.
	DelaySeconds float64
	// SkewPPM is by how much the microphone's clock is slower than the speaker's, in parts in a million.
	SkewPPM float64
	// VoiceFree are the stretches that were taken as free of voice.
	VoiceFree []Span
	// LeftPower is what is expected to be left of the bleed, mean square by frames of LeftFrame s from the take's start; nil where Method is
	// Untouched.
	LeftPower []float64
	// Verdict says what the take is good for, and Remarks say it to the player, with what would help.
	Verdict Verdict
	Remarks []string
	// Path is the way from speaker to microphone, to start a Live from; nil where nothing was fitted.
	Path *Path
}

// Path is the way of the sound from the program's samples to the microphone's, at WorkRate. It may be stored as it is.
type Path struct {
	Delay float64   // s from the sending of a sample to its strongest arrival; Taps start a little before
	Skew  float64   // by which the microphone's clock is slower, 1e-6: one part in a million
	Taps  []float64 // impulse response
	Ratio float64   // power of the take over that of the backing where nobody sang
	Leak  float64   // power that was left of the bleed over its power, where it was learned
}

// Clean takes the known backing out of a take. take is what the microphone recorded (mono, full scale 1, rate in Hz), backing what was
// sent to the speaker on the same nominal clock. Samples that are no numbers count as 0. The samples given are not changed.
func Clean(take, backing []float32, rate int, opt Options) (Result, error) {
	if err := checkInput(take, backing, rate, &opt); err != nil {
		return Result{}, err
	}
	t := &cleaning{opt: opt, rate: rate, take: finite(take), taps: pathTaps}
	t.y = ToWorkRate(t.take, rate)
	t.prepareBacking(finite(backing))
	t.setFree(opt.VoiceFree)
	if energy(t.y) == 0 || energy(t.x) == 0 {
		return t.untouched("The take or the backing is silent, so there is nothing to remove."), nil
	}
	if !t.align() {
		return t.untouched(""), nil
	}
	return t.remove(), nil
}

// checkPath refuses a path that cannot have come from Clean.
func checkPath(p *Path) error {
	if p == nil {
		return nil
	}
	finite := p.Delay + p.Skew + p.Ratio + p.Leak + total(p.Taps)
	if len(p.Taps) == 0 || len(p.Taps) > pathTaps || math.IsNaN(finite) || math.IsInf(finite, 0) || math.Abs(p.Skew) > largestSkew || p.Ratio < 0 || p.Leak < 0 {
		return errors.New("bleed: the stored path from speaker to microphone is damaged: leave it out, and let the loop play alone before you sing")
	}
	return nil
}

// checkInput refuses what cannot be cleaned, and fills in the backing's rate.
func checkInput(take, backing []float32, rate int, opt *Options) error {
	if opt.BackingRate == 0 {
		opt.BackingRate = rate
	}
	for _, r := range []int{rate, opt.BackingRate} {
		if r < MinRate || r > MaxRate {
			return fmt.Errorf("bleed: rate %d Hz: takes and backings need %d to %d Hz", r, MinRate, MaxRate)
		}
	}
	switch seconds := float64(len(take)) / float64(rate); {
	case len(take) == 0:
		return errors.New("bleed: the take is empty: record something first")
	case len(backing) == 0:
		return errors.New("bleed: the backing is empty: give the samples that were sent to the speaker")
	case seconds > MaxSeconds:
		return fmt.Errorf("bleed: the take lasts %.0f s: at most %.0f s can be cleaned at once", seconds, MaxSeconds)
	case seconds < shortest:
		return fmt.Errorf("bleed: the take lasts %.2f s: at least %.0f s are needed to learn how the backing arrives", seconds, shortest)
	case math.IsNaN(opt.Start) || math.IsInf(opt.Start, 0) || math.IsNaN(opt.SkewPPM) || math.Abs(opt.SkewPPM) > largestSkew*1e6:
		return fmt.Errorf("bleed: start %g s, skew %g ppm: want a finite start and a skew within %.0f ppm", opt.Start, opt.SkewPPM, largestSkew*1e6)
	}
	for _, s := range opt.VoiceFree {
		if !(s.From < s.To) {
			return fmt.Errorf("bleed: voice-free stretch from %g to %g s: it must end after it begins", s.From, s.To)
		}
	}
	return checkPath(opt.Path)
}

// Constants of the whole way.
const (
	shortest      = 1.0  // s of take without which nothing can be learned
	leastFreeTime = 1.5  // s of voice-free backing from which the path is fitted there alone: one bar at 160 beats a minute
	edge          = 1.0  // s of backing kept before the take's start and after its end
	presentERLE   = 0.5  // dB; held-out gain that shows bleed (none: -0.3 to -0.1; -30 dB: 0.8 to 1.9, simulated rooms)
	harmlessDB    = -30. // bleed below that over the voice is left alone
	movedDB       = -18. // drift above that: the path has moved (still takes: below -20)
	brokenDB      = -3.  // drift above that: something broke
	nonlinearGain = 0.5  // dB of held-out gain from which the references of a bad speaker are kept
	nonlinearLeak = -24. // dB; a smaller held-out leak leaves nothing to gain
	trackBlock    = 1024 // samples a block of the filters over a whole take
)

// cleaning is the state of one Clean.
type cleaning struct {
	opt  Options
	rate int
	take []float32 // as given, without what is no number
	y, x []float64 // take and backing at WorkRate
	from float64   // s on the take's clock of x[0]
	mask []float64 // 1 where a sample of y is known to be free of voice, else 0
	w    []float64 // weight of every sample of y when a path is fitted
	free []Span    // empty where none were given or found

	at        alignment
	sharp     float64
	u         []float64
	extra     [][]float64 // the further references of a bad speaker, empty for a good one
	h         [][]float64
	fixed     []float64 // predicted bleed
	taps      int       // of the filters
	knownLeak float64   // power ratio, where the leak was found otherwise; else 0
	mended    bool      // lost samples were found and bridged
	found     bool      // the voice-free stretches were looked for, not told
	recalled  bool      // the path that was given is in use
	ratio     float64   // power of the take over that of the backing
}

// finite returns x, or a copy with 0 for what is no number.
func finite(x []float32) []float32 {
	var out []float32
	for i, v := range x {
		if v != v || v > math.MaxFloat32 || v < -math.MaxFloat32 {
			if out == nil {
				out = append([]float32(nil), x...)
			}
			out[i] = 0
		}
	}
	if out == nil {
		return x
	}
	return out
}

// prepareBacking cuts the backing to what can be heard in the take, repeats it where it loops, and converts it.
func (t *cleaning) prepareBacking(backing []float32) {
	rate := t.opt.BackingRate
	length := float64(len(t.take)) / float64(t.rate)
	at := func(s float64) int { return int(math.Round(s * float64(rate))) }
	switch {
	case t.opt.StartUnknown && !t.opt.Loops:
		t.x, t.from = ToWorkRate(backing, rate), 0
		return
	case t.opt.StartUnknown:
		period := float64(len(backing)) / float64(rate)
		t.from = -period - edge
		t.x = ToWorkRate(round(backing, at(t.from), at(length+edge)), rate)
		return
	}
	first := max(0, at(-maxDelay-edge-t.opt.Start))
	last := max(first, at(length+edge-t.opt.Start))
	t.from = t.opt.Start + float64(first)/float64(rate)
	if t.opt.Loops {
		t.x = ToWorkRate(round(backing, first, last), rate)
		return
	}
	t.x = ToWorkRate(backing[min(first, len(backing)):min(last, len(backing))], rate)
}

// round reads a loop from one place to another, which may lie before its first sample or after its last.
func round(loop []float32, from, to int) []float32 {
	out := make([]float32, to-from)
	at := ((from % len(loop)) + len(loop)) % len(loop)
	for i := range out {
		out[i] = loop[at]
		if at++; at == len(loop) {
			at = 0
		}
	}
	return out
}

// setFree turns spans into the mask.
func (t *cleaning) setFree(spans []Span) {
	t.mask = make([]float64, len(t.y))
	for _, s := range spans {
		from, to := int(s.From*WorkRate), int(s.To*WorkRate)
		for n := max(0, from); n < min(to, len(t.mask)); n++ {
			t.mask[n] = 1
		}
	}
	t.free = spans
}

// align finds delay and skew, by the path that was given where it serves; false where the backing cannot be heard.
func (t *cleaning) align() bool {
	told := total(t.mask) > 0
	t.w = t.mask
	if !told {
		t.w = steadyWeights(framePowers(t.y), levelFrame, len(t.y))
	}
	if !t.opt.StartUnknown && t.recall() {
		return true
	}
	t.search(told)
	if !told {
		t.w, t.found = t.findFree(), true
	}
	if total(t.mask) >= leastFreeTime*WorkRate {
		t.w = t.mask
	}
	t.at = refineAlignment(t.y, t.x, t.w, WorkRate, t.at, t.opt.SkewKnown, skewRounds)
	t.u = warp(t.x, t.at.skew, t.at.delay, len(t.y))
	if t.opt.StartUnknown && t.recall() { // it needs the delay that was found
		return true
	}
	return energy(t.u) > 0
}

// search finds a first delay, where voice-free stretches were told by these.
func (t *cleaning) search(told bool) {
	y := t.y
	if told {
		y = make([]float64, len(t.y))
		for n, v := range t.mask {
			y[n] = v * t.y[n]
		}
	}
	first, last := t.lagRange()
	found := searchDelay(y, t.x, first, last)
	t.sharp = found.sharp
	t.at = alignment{delay: float64(found.lag - leadSamples)}
	if t.opt.SkewKnown {
		t.at.skew = t.opt.SkewPPM * 1e-6
	}
}

// lagRange is where the backing's x[0] may lie on the take's clock, samples.
func (t *cleaning) lagRange() (first, last int) {
	from := int(math.Round(t.from * WorkRate))
	switch {
	case t.opt.StartUnknown && t.opt.Loops:
		return from, from + len(t.x) - len(t.y) - 2*int(edge*WorkRate)
	case t.opt.StartUnknown:
		return -len(t.x) + WorkRate, len(t.y) - WorkRate
	}
	return from, from + int(maxDelay*WorkRate)
}

// remove fits the path, decides and judges.
func (t *cleaning) remove() Result {
	if t.recalled {
		return t.judge()
	}
	if !t.heard() {
		return t.untouched("")
	}
	t.fit(nil)
	l := measureLevels(t.fixed, subtract(t.y, t.fixed), t.mask)
	if toDB(l.leak) > nonlinearLeak {
		if powers := speakerPowers(t.u); t.bends(powers) {
			t.fit(powers)
		}
	}
	return t.judge()
}

// fit learns the path on all that is free of voice, with further references or none.
func (t *cleaning) fit(extra [][]float64) {
	t.extra = extra
	refs := append([][]float64{t.u}, extra...)
	t.h = fitPath(refs, t.y, t.w, nil, pathTaps, pathSteps)
	t.fixed = convolve(refs, t.h)
}

// delaySeconds is from the sending of the backing's first sample to its arrival.
func (t *cleaning) delaySeconds() float64 {
	return (t.at.delay+leadSamples)/WorkRate - t.from
}

// energy is the sum of squares.
func energy(x []float64) float64 { return dot(x, x) }

func (t *cleaning) untouched(remark string) Result {
	r := Result{Samples: t.take, Rate: t.rate, Method: Untouched, BleedDB: -100, ResidualDB: -100, LeakDB: -100, DriftDB: -100,
		SkewPPM: t.at.skew * 1e6, VoiceFree: t.free}
	if remark != "" {
		r.Remarks = append(r.Remarks, remark)
	}
	return r
}
