package bleed

import (
	"math"
	"slices"

	"larkhand/internal/fft"
	"larkhand/internal/resample"
)

// Constants of the clock skew's estimate, chosen on simulated rooms.
const (
	skewRounds    = 6
	skewWindow    = 2    // s; a new one begins every second
	skewLags      = 40   // samples to either side
	skewFine      = 16   // places between two lags that are tried
	skewLobe      = 8    // zero crossings on each side of the interpolator between lags
	sungWeight    = 0.05 // of windows in which someone may sing, from the second round on
	leastFree     = 0.5  // share of a window that must be free of voice to count in full
	largestSkew   = 500e-6
	tukeyScale    = 4.685 // residuals beyond this many scales count nothing (Beaton and Tukey 1974)
	robustRounds  = 8
	leastLagScale = 0.01 // samples; lags are never known better
	enoughWindows = 3
	firstGain     = 1.5     // of a step over the slope that was seen, at first
	largestGain   = 3.0     // and at most
	skewPrecision = 0.02e-6 // smaller corrections are not worth another round
	lagResolution = 0.02    // samples
)

// alignment says where the backing lies on the take's clock: sample n of the take hears backing sample (1+skew) n - delay,
// leadSamples before the strongest arrival.
type alignment struct {
	skew  float64
	delay float64 // samples
}

// refineAlignment finds the clock skew by repeated fits (Pawig, Enzner and Vary 2010; the lag against time is a robust straight
// line) of y and x at a rate in Hz. w weights the samples, free is the share of weight from which a window counts as free of voice.
func refineAlignment(y, x []float64, w []float64, rate int, at alignment, knownSkew bool, rounds int) alignment {
	gain, last := firstGain, 0.0
	for round := range rounds {
		u := warp(x, at.skew, at.delay, len(y))
		h := fitPath([][]float64{u}, y, w, nil, alignTaps*rate/WorkRate, alignSteps)
		predicted := convolve([][]float64{u}, h)
		lags := windowLags(y, predicted, w, rate, round > 0, skewLags)
		offset, slope, centre, ok := robustLine(lags)
		if !ok {
			break
		}
		if knownSkew {
			slope = 0
		}
		// The path gives way to the skew, so the lags show only a part of it: the secant method finds which.
		if round > 1 && last != slope {
			gain = math.Max(1, math.Min(largestGain, gain*last/(last-slope)))
		}
		last = slope
		step := math.Max(-largestSkew, math.Min(largestSkew, gain*slope))
		// y(n) fits predicted(n - offset - step (n - centre)), so the backing must be read so much earlier.
		at.delay += offset - step*centre
		at.skew -= step
		if math.Abs(slope) < skewPrecision && math.Abs(offset) < lagResolution {
			break
		}
	}
	return at
}

// windowLag is how much the take is behind its prediction around one moment.
type windowLag struct{ at, lag, weight float64 } // samples, samples, 0 to 1

// windowLags correlates differences of take and prediction, which favours high frequencies, in overlapping windows; all are at a rate in Hz.
func windowLags(y, predicted, w []float64, rate int, withSung bool, reach int) []windowLag {
	n := powerOfTwo(skewWindow*rate + reach)
	f := fft.NewConvolver(n)
	a, b := make([]complex128, n/2), make([]complex128, n/2)
	product, frame := make([]complex128, n/2), make([]float64, n)
	var out []windowLag
	for start := 0; start+skewWindow*rate/2 <= len(y); start += rate {
		end := min(start+skewWindow*rate, len(y))
		weight := sungWeight
		if countPositive(w[start:end]) >= leastFree*float64(end-start) {
			weight = 1
		} else if !withSung {
			continue
		}
		ey := difference(frame, y[start:end])
		f.Forward(a, frame)
		eb := difference(frame, predicted[start:end])
		f.Forward(b, frame)
		if ey == 0 || eb == 0 {
			continue
		}
		clear(product)
		fft.MultiplyConjAdd(product, b, a)
		f.Inverse(frame, product)
		lag, height := finePeak(frame, reach)
		rho := math.Max(0, height/math.Sqrt(ey*eb))
		if math.Abs(lag) < float64(reach-1) {
			out = append(out, windowLag{float64(start+end) / 2, lag, weight * rho * rho})
		}
	}
	return out
}

// difference writes the first difference of x into frame and returns its energy.
func difference(frame, x []float64) float64 {
	clear(frame)
	energy := 0.0
	for i := 1; i < len(x); i++ {
		d := x[i] - x[i-1]
		frame[i] = d
		energy += d * d
	}
	return energy
}

// finePeak is the highest place of a circular correlation within reach samples, between its samples too.
func finePeak(r []float64, reach int) (lag, height float64) {
	at := func(i int) float64 { return r[(i+len(r))%len(r)] }
	best := 0
	for i := -reach; i <= reach; i++ {
		if at(i) > at(best) {
			best = i
		}
	}
	between := func(place float64) float64 {
		sum := 0.0
		for i := best - skewLobe; i <= best+skewLobe; i++ {
			d := place - float64(i)
			sum += at(i) * resample.Sinc(d) * (0.5 + 0.5*math.Cos(math.Pi*d/(skewLobe+1)))
		}
		return sum
	}
	height = math.Inf(-1)
	for j := -skewFine; j <= skewFine; j++ {
		place := float64(best) + float64(j)/skewFine
		if v := between(place); v > height {
			lag, height = place, v
		}
	}
	const step = 1.0 / skewFine
	l, r2 := between(lag-step), between(lag+step)
	if d := l - 2*height + r2; d < 0 {
		lag += step * 0.5 * (l - r2) / d
	}
	return lag, height
}

// robustLine fits lag = offset + slope (at - centre) by reweighted least squares. ok is false with too little to go by.
func robustLine(lags []windowLag) (offset, slope, centre float64, ok bool) {
	if len(lags) < enoughWindows {
		return 0, 0, 0, false
	}
	trust := make([]float64, len(lags))
	for i, l := range lags {
		trust[i] = l.weight
	}
	for range robustRounds {
		offset, slope, centre = weightedLine(lags, trust)
		scale := math.Max(leastLagScale, weightedMedian(lags, func(l windowLag) float64 {
			return math.Abs(l.lag - offset - slope*(l.at-centre))
		})/0.6745)
		for i, l := range lags {
			u := (l.lag - offset - slope*(l.at-centre)) / (tukeyScale * scale)
			trust[i] = 0
			if math.Abs(u) < 1 {
				trust[i] = l.weight * (1 - u*u) * (1 - u*u)
			}
		}
		if total(trust) == 0 {
			return 0, 0, 0, false
		}
	}
	return offset, slope, centre, true
}

func weightedLine(lags []windowLag, w []float64) (offset, slope, centre float64) {
	sum := total(w)
	for i, l := range lags {
		centre += w[i] * l.at / sum
		offset += w[i] * l.lag / sum
	}
	cov, spread := 0.0, 0.0
	for i, l := range lags {
		cov += w[i] * (l.at - centre) * (l.lag - offset)
		spread += w[i] * (l.at - centre) * (l.at - centre)
	}
	if spread > 0 {
		slope = cov / spread
	}
	return offset, slope, centre
}

// weightedMedian is the median of a value over the windows.
func weightedMedian(lags []windowLag, value func(windowLag) float64) float64 {
	type pair struct{ v, w float64 }
	pairs, sum := make([]pair, len(lags)), 0.0
	for i, l := range lags {
		pairs[i] = pair{value(l), l.weight}
		sum += l.weight
	}
	slices.SortFunc(pairs, func(a, b pair) int {
		switch {
		case a.v < b.v:
			return -1
		case a.v > b.v:
			return 1
		}
		return 0
	})
	half := 0.0
	for _, p := range pairs {
		if half += p.w; half >= sum/2 {
			return p.v
		}
	}
	return 0
}

func countPositive(w []float64) float64 {
	n := 0.0
	for _, v := range w {
		if v > 0 {
			n++
		}
	}
	return n
}
