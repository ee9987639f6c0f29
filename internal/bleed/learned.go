package bleed

import (
	"errors"
	"fmt"
	"math"

	"larkhand/internal/resample"
)

// Constants of the backing known by ear.
const (
	shortestPeriod = 1.5  // s, one bar of two beats at 80 a minute
	sameEnergy     = 0.15 // of the energy of two passes that their difference has at most: they are the same
	divideReach    = 3    // samples around a part of the period that are tried
	hintShare      = 0.02 // around a period that was told
	periodRounds   = 3
	learnedTaps    = 2048 // of the filter that follows a microphone which moves after the learning
	sharpRepeat    = 8.0  // peak over rms of the lags from which a repeat counts as heard (measured on simulated rooms and on voices alone)
	restShare      = 0.05 // quantile of the power that is left which stands for what lies beneath the voice
)

// LearnedOptions say what is known of a take whose backing is known only by ear.
type LearnedOptions struct {
	// VoiceFree is the stretch in which the loop sounds alone, s on the take's clock: one whole pass at least, two are better.
	VoiceFree Span
	// Period is how long one pass lasts, s, within two percent; 0: it is looked for.
	Period float64
}

// CleanLearned takes a loop out of a take that is known only from its own voice-free passes in the microphone. The passes are averaged and
// subtracted whole periods later; a speaker that bends the wave does no harm, a microphone that moves does. The room's
// noise rises by up to 3 dB. Result.Path is nil. It is an error if no repeat can be heard.
func CleanLearned(take []float32, rate int, opt LearnedOptions) (Result, float64, error) {
	if err := checkInput(take, take, rate, &Options{VoiceFree: []Span{opt.VoiceFree}}); err != nil {
		return Result{}, 0, err
	}
	t := &cleaning{rate: rate, take: finite(take), taps: learnedTaps}
	t.y = ToWorkRate(t.take, rate)
	t.setFree([]Span{opt.VoiceFree})
	if energy(t.y) == 0 {
		return t.untouched("The take is silent, so there is nothing to remove."), 0, nil
	}
	r := repeats{y: t.y, from: max(0, int(opt.VoiceFree.From*WorkRate)), to: min(len(t.y), int(opt.VoiceFree.To*WorkRate))}
	if err := r.findPeriod(opt.Period); err != nil {
		return Result{}, 0, err
	}
	t.u = r.reference(int(float64(r.to-r.from) / r.period))
	for n := range t.mask {
		if t.u[n] == 0 {
			t.mask[n] = 0
		}
	}
	t.w = t.mask
	t.h = [][]float64{make([]float64, learnedTaps)}
	t.h[0][leadSamples] = 1
	t.fixed = convolve([][]float64{t.u}, t.h)
	t.ratio = 1
	t.knownLeak = r.leak(t.fixed)
	result := t.judge()
	result.Path = nil
	return result, r.period / WorkRate, nil
}

// repeats is a loop in the microphone that sounds alone from sample from to sample to.
type repeats struct {
	y        []float64
	from, to int
	period   float64 // samples
}

// findPeriod looks for the lag at which the voice-free stretch comes again; hint is in s, 0 for none.
func (r *repeats) findPeriod(hint float64) error {
	first, last := int(shortestPeriod*WorkRate), r.to-r.from
	if hint > 0 {
		first, last = int(hint*(1-hintShare)*WorkRate), min(last, int(hint*(1+hintShare)*WorkRate))
	}
	if last <= first || r.from+last >= len(r.y) {
		return fmt.Errorf("bleed: the voice-free stretch of %.1f s is too short to hold one pass of the loop: let the loop play once alone before singing", float64(r.to-r.from)/WorkRate)
	}
	alone := make([]float64, r.to)
	copy(alone[r.from:], r.y[r.from:r.to])
	found := findDelay(r.y, alone, first, last)
	if found.sharp < sharpRepeat {
		return errors.New("bleed: no repeat of the backing can be heard: let the loop play once or twice alone before singing")
	}
	r.period = float64(found.lag)
	if hint == 0 {
		r.divide(first)
	}
	r.refinePeriod()
	return nil
}

// divide replaces a multiple of the period by the period: the shortest part of it after which the voice-free stretch is the same.
func (r *repeats) divide(least int) {
	for parts := int(r.period) / least; parts > 1; parts-- {
		middle := int(r.period) / parts
		for lag := middle - divideReach; lag <= middle+divideReach; lag++ {
			a, b := r.y[r.from+lag:r.to], r.y[r.from:r.to-lag]
			if energy(subtract(a, b[:len(a)])) < sameEnergy*(energy(a)+energy(b)) {
				r.period = float64(lag)
				return
			}
		}
	}
}

// refinePeriod reads the period between samples off the lags of later passes: pass k lags by k times the error.
func (r *repeats) refinePeriod() {
	free := make([]float64, len(r.y))
	for n := r.from; n < r.to; n++ {
		free[n] = 1
	}
	for range periodRounds {
		early := r.reference(1)
		predicted := make([]float64, len(early))
		copy(predicted[leadSamples:], early)
		num, den := 0.0, 0.0
		for _, l := range windowLags(r.y, predicted, free, WorkRate, true, skewLags) {
			if passes := math.Floor((l.at - float64(r.from)) / r.period); passes >= 1 {
				num += l.weight * passes * l.lag
				den += l.weight * passes * passes
			}
		}
		if den == 0 {
			return
		}
		r.period += num / den
	}
}

// reference is what the loop should sound like at every sample, by the mean of the other ones of the first passes, leadSamples early; 0 where
// none is known, as inside the only pass.
func (r *repeats) reference(passes int) []float64 {
	out := make([]float64, len(r.y))
	alone := r.y[:r.to]
	for n := range out {
		at := float64(n + leadSamples)
		own := math.Floor((at - float64(r.from)) / r.period)
		sum, count := 0.0, 0.0
		for k := range max(1, passes) {
			back := own - float64(k)
			place := at - back*r.period
			if back == 0 && n+leadSamples < r.to || place < float64(r.from) || place >= float64(r.to) {
				continue
			}
			sum += resample.At(alone, place)
			count++
		}
		if count > 0 {
			out[n] = sum / count
		}
	}
	return out
}

// leak is what the learned reference leaves of the bleed, as a power ratio. With two voice-free passes one is tried on the other; with one
// pass the softest moments under the voice tell how much is left at most.
func (r *repeats) leak(predicted []float64) float64 {
	left := subtract(r.y, predicted)
	second := r.from + int(r.period) + leadSamples
	if r.to-second > levelFrame {
		return energy(left[second:r.to]) / (energy(predicted[second:r.to]) + leastPowerVal) / 2
	}
	sung := left[min(r.to, len(left)):]
	bleed := energy(predicted[min(r.to, len(left)):]) / math.Max(1, float64(len(sung)))
	return quantile(framePowers(sung), restShare) / (bleed + leastPowerVal)
}
