package render

import (
	"context"
	"math"
	"slices"
	"sync"

	"gitlab.com/gomidi/midi/v2"
)

// detuning is how far a recorded sample lies above its key, semitones, every curveHop seconds from its attack on. Recorded voices lie up
// to 0.7 semitones off, most of all in their first 0.25 s.
type detuning []float64

// at is the detuning after so many seconds of the sample; the last value holds on.
func (d detuning) at(seconds float64) float64 {
	return d[min(len(d)-1, int(seconds/curveHop))]
}

const (
	detuneSeconds = 2.5 // s that are measured: samples loop by then
	detuneReach   = 1.5 // semitones to either side that are searched
	detuneMedian  = 7   // points of a running median, against errors of single frames
	detunePeriods = 2.5 // periods that are compared with those before
	detuneQuiet   = 0.002
)

// The detunings by sound bank and key, measured once a process.
var (
	detuneLock  sync.Mutex
	detuneKnown = map[string]map[int]detuning{}
)

// detunings measures the keys that are not known yet.
func detunings(ctx context.Context, folder, font string, keys map[int]bool) (map[int]detuning, error) {
	detuneLock.Lock()
	defer detuneLock.Unlock()
	known := detuneKnown[font]
	if known == nil {
		known = map[int]detuning{}
		detuneKnown[font] = known
	}
	var missing []int
	for key := range keys {
		if known[key] == nil {
			missing = append(missing, key)
		}
	}
	if len(missing) == 0 {
		return known, nil
	}
	slices.Sort(missing)
	var events []timedMessage
	for i, key := range missing {
		at := breakSeconds + float64(i)*(detuneSeconds+breakSeconds)
		events = append(events, timedMessage{at, midi.NoteOn(0, uint8(key), velocity)}, timedMessage{at + detuneSeconds, midi.NoteOff(0, uint8(key))})
	}
	samples, err := playSong(ctx, folder, font, events)
	if err != nil {
		return nil, err
	}
	for i, key := range missing {
		from := int((breakSeconds + float64(i)*(detuneSeconds+breakSeconds)) * Rate)
		known[key] = measureDetuning(samples[from:min(len(samples), from+int(detuneSeconds*Rate))], key)
	}
	return known, nil
}

// measureDetuning finds the lag of the highest normalised correlation near the key's period, as in Talkin 1995 (RAPT) without its search
// over voicing.
func measureDetuning(samples []float64, key int) detuning {
	var raw detuning
	last := 0.0
	window := int(detunePeriods * Rate / hertz(float64(key)))
	shortest := int(Rate / hertz(float64(key)+detuneReach))
	longest := int(math.Ceil(Rate / hertz(float64(key)-detuneReach)))
	for frame := 0; ; frame++ {
		start := int(float64(frame) * curveHop * Rate)
		if start+window+longest+2 > len(samples) {
			break
		}
		correlation := make([]float64, longest-shortest+3)
		for k := range correlation {
			correlation[k] = likeness(samples[start:start+window], samples[start+shortest-1+k:start+shortest-1+k+window])
		}
		best := 1
		for k := 1; k+1 < len(correlation); k++ {
			if correlation[k] > correlation[best] {
				best = k
			}
		}
		if a, b, c := correlation[best-1], correlation[best], correlation[best+1]; b > 0.5 && b >= a && b >= c {
			lag := float64(shortest-1+best) + (a-c)/(2*(a-2*b+c)-1e-12)
			last = 12*math.Log2(Rate/lag/440) + 69 - float64(key)
		}
		raw = append(raw, last)
	}
	return raw.smooth()
}

// likeness is the normalised correlation of two stretches, 0 where either is silent.
func likeness(a, b []float64) float64 {
	var ab, aa, bb float64
	for i := range a {
		ab += a[i] * b[i]
		aa += a[i] * a[i]
		bb += b[i] * b[i]
	}
	if math.Sqrt(aa*bb) < detuneQuiet*detuneQuiet*float64(len(a)) {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

// smooth is a running median.
func (d detuning) smooth() detuning {
	out := make(detuning, len(d))
	for i := range d {
		near := slices.Sorted(slices.Values(d[max(0, i-detuneMedian/2):min(len(d), i+detuneMedian/2+1)]))
		out[i] = near[len(near)/2]
	}
	return out
}
