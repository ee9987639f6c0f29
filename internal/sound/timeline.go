package sound

import (
	"math"
	"sync/atomic"
)

// How the audio clock is found (own method; the numbers are own choices, checked with the virtual devices).
//
// The callback for sample n comes at c on the monotonic clock, never early and often late: by the scheduler, or because the sound system hands over
// several buffers at once. So c - n/rate has a floor, and the floor is the truth. It is taken as the minimum over the last windowSeconds, in buckets,
// which follows the drift of a sound card (100 ppm make 0.2 ms in 2 s) and heeds no single late callback. The sample was taken in some delay before
// its callback; the sound system claims how long, and the least claim in the window belongs to the callbacks that make the floor.
//
// Where samples are lost, or the card stands still, the floor rises at once and stays up. After the sound system has reported an overrun it is compared
// over the next probeSeconds and probeCalls; where it says nothing, over quietBuckets and with a larger threshold.
const (
	bucketSeconds = 0.1
	windowSeconds = 2.0
	buckets       = int(windowSeconds / bucketSeconds)
	quietBuckets  = 5
	quietStep     = 0.005 // s; more than a busy scheduler adds to every one of the callbacks of half a second
	probeSeconds  = 0.03  // s
	probeCalls    = 4
	probeStep     = 0.001 // s
)

// timeline tells how the number of a sample and the monotonic clock belong together. add belongs to the audio callback; at may be called from anywhere.
type timeline struct {
	rate   float64
	origin atomic.Uint64 // bits of the s on the monotonic clock at which the audio clock is 0

	buckets [buckets]bucket // callback's; the newest first
	ends    float64         // s on the monotonic clock when the newest is over
	probe   probe
}

// bucket is what the callbacks of a tenth of a second showed.
type bucket struct {
	floor float64 // least c - n/rate, s; +Inf where there was none
	delay float64 // least delay from a sample to its callback, s
}

var emptyBucket = bucket{math.Inf(1), math.Inf(1)}

// probe is a look at the floor after an overrun.
type probe struct {
	on    bool
	ends  float64
	calls int
	floor float64
	was   float64 // the floor before
}

func newTimeline(rate int, origin float64) *timeline {
	t := &timeline{rate: float64(rate)}
	t.origin.Store(math.Float64bits(origin))
	t.forget()
	return t
}

// forget leaves the past out from now on, and keeps the clock going.
func (t *timeline) forget() {
	for i := range t.buckets {
		t.buckets[i] = emptyBucket
	}
	t.ends = math.Inf(-1)
	t.probe = probe{}
}

// at is the time on the audio clock, in s, at a moment on the monotonic clock.
func (t *timeline) at(mono float64) float64 { return mono - math.Float64frombits(t.origin.Load()) }

// frameAt is the number of the sample that was taken in at a moment on the monotonic clock.
func (t *timeline) frameAt(mono float64) int64 { return int64(math.Round(t.at(mono) * t.rate)) }

// add takes a callback: its moment on the monotonic clock, the number of its first sample, how long ago that was taken in as the sound system claims (s),
// and whether that reports an overrun. It returns how many samples are found to be missing before this callback; the caller must count them, and number
// the samples of this callback accordingly.
func (t *timeline) add(mono float64, frame int64, delay float64, overrun bool) (lost int) {
	floor := mono - float64(frame)/t.rate
	if mono >= t.ends {
		lost = t.judgeQuiet()
		copy(t.buckets[1:], t.buckets[:])
		t.buckets[0] = emptyBucket
		t.ends = mono + bucketSeconds
	}
	if lost == 0 {
		lost = t.judgeOverrun(mono, floor, overrun)
	}
	floor -= float64(lost) / t.rate
	t.buckets[0].floor = min(t.buckets[0].floor, floor)
	t.buckets[0].delay = min(t.buckets[0].delay, delay)
	whole := least(t.buckets[:])
	t.origin.Store(math.Float64bits(whole.floor - whole.delay))
	return lost
}

// judgeQuiet compares the last buckets with the ones before.
func (t *timeline) judgeQuiet() int {
	recent, before := least(t.buckets[:quietBuckets]), least(t.buckets[quietBuckets:])
	return t.step(before.floor, recent.floor, quietStep)
}

// judgeOverrun begins a probe at an overrun, and judges it when it is over.
func (t *timeline) judgeOverrun(mono, floor float64, overrun bool) int {
	p := &t.probe
	if overrun {
		was := least(t.buckets[:]).floor
		if p.on {
			was = p.was
		}
		*p = probe{on: true, ends: mono + probeSeconds, floor: math.Inf(1), was: was}
		return 0
	}
	if !p.on {
		return 0
	}
	p.floor = min(p.floor, floor)
	p.calls++
	if mono < p.ends || p.calls < probeCalls {
		return 0
	}
	p.on = false
	return t.step(p.was, p.floor, probeStep)
}

// step is how many samples are missing where the floor went up from one value to another by at least a threshold, all in s. It then forgets what was before.
func (t *timeline) step(before, after, threshold float64) int {
	if rise := after - before; rise >= threshold && !math.IsInf(rise, 0) {
		delay := least(t.buckets[:]).delay
		lost := int(math.Round(rise * t.rate))
		t.forget()
		t.buckets[0] = bucket{after - float64(lost)/t.rate, delay}
		return lost
	}
	return 0
}

func least(list []bucket) bucket {
	l := emptyBucket
	for _, b := range list {
		l.floor = min(l.floor, b.floor)
		l.delay = min(l.delay, b.delay)
	}
	return l
}
