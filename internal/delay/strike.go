package delay

import (
	"math"
	"slices"
)

// How the strike of a key is found (own method; own choices): the sound rises within a millisecond or two, high frequencies first, so that the power of the difference
// between neighbouring samples is looked at in short frames.
const (
	strikeFrame   = 0.001   // s
	strikeHop     = 0.00025 // s
	strikeReach   = 0.15    // s: so far before and after the message its strike may lie
	strikeQuiet   = 0.15    // s before that, in which the room is listened to
	strikeOver    = 4.0     // power of the strike against the loudest frame of the room, at least (6 dB)
	strikeRise    = 0.1     // share of the strike's power at which it begins
	strikeApart   = 0.4     // s from the message before, at least; the sound of one key must not reach into the next
	leastStrike   = 1e-10   // power of a difference below which all is silence (16-bit sound has steps of 3e-5)
	strikeSamples = 2       // least in a hop
)

// Strikes looks for the sounds of keys in what was recorded: messages says at which seconds of the recording the messages of the keys came, rising. It gives one arrival
// for each: how much later than the sound the message came, less than nothing where it was earlier.
func Strikes(recorded []float32, rate int, messages []float64) []Arrival {
	out := make([]Arrival, len(messages))
	for i, at := range messages {
		out[i] = missing
		if i > 0 && at-messages[i-1] < strikeApart {
			continue
		}
		from, to := int((at-strikeReach-strikeQuiet)*float64(rate)), int((at+strikeReach)*float64(rate))
		if from < 0 || to > len(recorded) {
			continue
		}
		if begins, confidence, ok := strike(recorded[from:to], rate); ok {
			out[i] = Arrival{Seconds: at - float64(from)/float64(rate) - begins, Confidence: confidence}
		}
	}
	return out
}

// strike finds the beginning, in s, of the sound in a stretch that begins with the room alone.
func strike(samples []float32, rate int) (begins, confidence float64, ok bool) {
	frame := max(2*strikeSamples, int(strikeFrame*float64(rate)))
	hop := max(strikeSamples, int(strikeHop*float64(rate)))
	var powers []float64
	for at := 1; at+frame <= len(samples); at += hop {
		sum := 0.0
		for i := at; i < at+frame; i++ {
			d := float64(samples[i] - samples[i-1])
			sum += d * d
		}
		powers = append(powers, sum/float64(frame))
	}
	quiet := int(strikeQuiet * float64(rate) / float64(hop))
	if quiet >= len(powers) {
		return 0, 0, false
	}
	room, peak := slices.Max(powers[:quiet]), slices.Max(powers[quiet:])
	if !(peak >= leastStrike) || peak < strikeOver*room {
		return 0, 0, false
	}
	level := math.Max(strikeRise*peak, math.Sqrt(strikeOver)*room)
	for i := quiet; i < len(powers); i++ {
		if powers[i] >= level {
			return float64(1+i*hop+frame) / float64(rate), 1 - room/peak, true
		}
	}
	return 0, 0, false
}
