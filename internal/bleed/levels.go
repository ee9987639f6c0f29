package bleed

import (
	"math"
	"slices"
)

// Constants of the level estimates.
const (
	levelFrame    = 320   // samples, 20 ms
	sungRangeDB   = 25.0  // frames that far below the loudest are rests, own choice
	sungFloorDB   = 10.0  // and frames that near to the noise floor too
	loudShare     = 0.98  // quantile of the frame power that stands for the loudest, so that one knock does not
	floorRounds   = 8     // of the reweighted fit of leak and noise
	leastLeak     = 1e-3  // -30 dB: less is never promised, since rooms ring longer than the path and speakers bend the wave
	driftPart     = 3     // the drift is read off thirds of the sung part
	leastPowerVal = 1e-20 // power that keeps ratios finite
)

// LeftFrame is the length of a frame of Result.LeftPower, s.
const LeftFrame = float64(levelFrame) / WorkRate

// levels are the powers of a take and its predicted bleed per frame.
type levels struct {
	bleed, left []float64
	free, sung  []bool
	noise       float64 // power of what is neither bleed nor voice
	leak        float64 // power of the leak over that of the bleed, in voice-free frames
}

// measureLevels compares the predicted bleed with what is left, in free frames and in those where somebody sings.
func measureLevels(bleed, left, w []float64) levels {
	frames := len(left) / levelFrame
	l := levels{bleed: framePowers(bleed), left: framePowers(left), free: make([]bool, frames), sung: make([]bool, frames)}
	for i := range frames {
		l.free[i] = countPositive(w[i*levelFrame:(i+1)*levelFrame]) == levelFrame
	}
	l.leak, l.noise = leakAndNoise(l.bleed, l.left, l.free)
	loudest := quantile(l.left, loudShare)
	least := math.Max(loudest*fromDB(-sungRangeDB), l.noise*fromDB(sungFloorDB))
	for i := range frames {
		l.sung[i] = !l.free[i] && l.left[i] > least && l.bleed[i] > leastPowerVal
	}
	return l
}

// framePowers is the mean power per levelFrame.
func framePowers(x []float64) []float64 { return powersOf(x, levelFrame) }

// powersOf is the mean power per frame of some samples.
func powersOf(x []float64, frame int) []float64 {
	out := make([]float64, len(x)/frame)
	for i := range out {
		part := x[i*frame:][:frame]
		out[i] = dot(part, part) / float64(frame)
	}
	return out
}

// leakAndNoise splits what is left in free frames into a share of the bleed and a constant noise: least squares of
// left = leak bleed + noise, both not negative, weighted by 1/(its value)^2 since powers scatter in proportion to themselves.
func leakAndNoise(bleed, left []float64, free []bool) (leak, noise float64) {
	var b, r []float64
	for i, ok := range free {
		if ok {
			b, r = append(b, bleed[i]), append(r, left[i])
		}
	}
	if len(b) == 0 || total(b) == 0 {
		return 0, quantile(r, 0.5)
	}
	leak, noise = total(r)/total(b)/2, quantile(r, 0.1)
	for range floorRounds {
		var s1, sb, sbb, sr, sbr float64
		for i := range b {
			v := leak*b[i] + noise + leastPowerVal
			g := 1 / (v * v)
			s1, sb, sbb, sr, sbr = s1+g, sb+g*b[i], sbb+g*b[i]*b[i], sr+g*r[i], sbr+g*b[i]*r[i]
		}
		det := s1*sbb - sb*sb
		if det <= 0 {
			break
		}
		leak, noise = (s1*sbr-sb*sr)/det, (sbb*sr-sb*sbr)/det
		if leak < 0 {
			leak, noise = 0, sr/s1
		}
		if noise < 0 {
			leak, noise = sbr/sbb, 0
		}
	}
	return leak, noise
}

// bleedOverVoice is B: power of the bleed over that of the rest while somebody sings; NaN where nobody does.
func (l levels) bleedOverVoice() float64 {
	b, v := 0.0, 0.0
	for i, sung := range l.sung {
		if sung {
			b += l.bleed[i]
			v += l.left[i]
		}
	}
	if v == 0 {
		return math.NaN()
	}
	return b / v
}

// drift is M: how far the slow filter has moved away from the fixed path, as a power ratio, in the third of the sung part where it is farthest.
func drift(moved, fixed, mask []float64) float64 {
	sung := len(mask) - int(countPositive(mask))
	away, bleed := make([]float64, 0, sung), make([]float64, 0, sung)
	for i := range fixed {
		if mask[i] == 0 {
			d := moved[i] - fixed[i]
			away, bleed = append(away, d*d), append(bleed, fixed[i]*fixed[i])
		}
	}
	third := max(1, len(away)/driftPart)
	most := 0.0
	for from := 0; from+third <= len(away); from += max(1, third/2) {
		most = math.Max(most, total(away[from:from+third])/(total(bleed[from:from+third])+leastPowerVal))
	}
	return most
}

// quantile of x, which stays as it is; 0 of nothing.
func quantile(x []float64, share float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	return sorted[min(len(sorted)-1, int(share*float64(len(sorted))))]
}

func fromDB(db float64) float64 { return math.Pow(10, db/10) }

// toDB is the level of a power ratio, dB; at least -100.
func toDB(ratio float64) float64 { return 10 * math.Log10(math.Max(ratio, 1e-10)) }
