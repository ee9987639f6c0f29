package round

import (
	"fmt"
	"math"
)

// Thresholds of the sound check. All are own choices: a fault is named where a player can do something about it.
const (
	clipLevel      = 0.9995 // of full scale; 16-bit converters stop at 0.99997, 8-bit ones at 0.992
	clipRun        = 3      // neighbouring samples at full scale that make one clipped peak; two can be chance
	clipShare      = 1e-4   // share of clipped samples from which the player is told; below, nothing is heard
	offsetShare    = 0.02   // constant offset, of full scale (-34 dBFS), from which the player is told
	quietPeakLevel = 0.01   // peak, of full scale (-40 dBFS), under which the take counts as very quiet
)

// soundCheck is what can be said about samples without knowing the pitch.
type soundCheck struct {
	peak       float64 // largest distance from the mean, 0 to 1
	mean       float64 // constant offset, -1 to 1
	clipped    int     // samples in runs at full scale
	notNumbers int     // NaN or infinite samples
}

// listen makes the sound check. Samples that are no numbers are counted and skipped.
func listen(samples []float32) soundCheck {
	var c soundCheck
	var sum, low, high float64
	low, high = math.Inf(1), math.Inf(-1)
	run := 0
	for _, s := range samples {
		x := float64(s)
		if math.IsNaN(x) || math.IsInf(x, 0) {
			c.notNumbers++
			continue
		}
		sum += x
		low, high = math.Min(low, x), math.Max(high, x)
		if math.Abs(x) < clipLevel {
			run = 0
			continue
		}
		run++
		switch {
		case run == clipRun:
			c.clipped += clipRun
		case run > clipRun:
			c.clipped++
		}
	}
	if n := len(samples) - c.notNumbers; n > 0 {
		c.mean = sum / float64(n)
		c.peak = math.Max(high-c.mean, c.mean-low)
	}
	return c
}

// remarks says in sentences what the player can mend. total is the number of samples.
func (c soundCheck) remarks(total int) []string {
	var out []string
	if c.notNumbers > 0 {
		out = append(out, fmt.Sprintf("%d samples of the file are no numbers; they were taken as silence.", c.notNumbers))
	}
	if float64(c.clipped) > clipShare*float64(total) {
		out = append(out, fmt.Sprintf("The recording is overdriven (%.1f %% of it at full scale): turn the microphone down.",
			100*float64(c.clipped)/float64(total)))
	}
	if math.Abs(c.mean) > offsetShare {
		out = append(out, fmt.Sprintf("The recording has a constant offset of %.0f %% of full scale (a fault of the sound card or microphone); it was removed.",
			100*c.mean))
	}
	if c.peak > 0 && c.peak < quietPeakLevel {
		out = append(out, fmt.Sprintf("The recording is very quiet (peak %.0f dBFS): turn the microphone up or come closer.",
			20*math.Log10(c.peak)))
	}
	return out
}

// silenced is a copy of samples in which those that are no numbers are 0.
func silenced(samples []float32) []float32 {
	out := make([]float32, len(samples))
	for i, s := range samples {
		if x := float64(s); !math.IsNaN(x) && !math.IsInf(x, 0) {
			out[i] = s
		}
	}
	return out
}
