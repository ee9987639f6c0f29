package bleed

import (
	"errors"
	"fmt"
	"math"

	"larkhand/internal/resample"
)

// Constants of the live filters.
const (
	// LiveBlock is the number of samples at WorkRate after which cleaned ones come out, 16 ms.
	LiveBlock    = referenceBlock
	liveTaps     = 4096 // enough for rooms up to 0.4 s of reverberation, at half the work of the whole path
	liveMemory   = 0.98 // of the level meters, per block: 0.8 s
	liveBackSecs = 1.0  // s of backing that is kept: delay and interpolation need half of it
	coldDoubt    = 1.0  // c of both filters where no path is known
	coldRatio    = 1.0  // ratio of powers that is guessed there
	liveMovedDB  = -12. // difference of the two filters over the bleed from which the slow one is too slow
)

// Live takes a known backing out of what the microphone hears while it hears it. Two Kalman filters run side by side from a known
// path: the slow one is given out until the two say that the path moved, then the fast one. Its output is for looking at
// while singing; verdicts come from Clean.
//
// Make one by NewLive. It is not safe for use by several goroutines at once.
type Live struct {
	mic, back     *rateConverter
	skew, delay   float64 // delay in samples at WorkRate
	micIn, backIn []float64
	backBase      int // index at WorkRate of backIn[0]
	done          int // samples at WorkRate given out
	x             *referenceBlocks
	slow, fast    *kalman
	ref, in       []float64
	left, leftF   []float64
	moved, level  float64 // meters of M
	maxBlock      int
}

// NewLive prepares for a microphone and a backing at rate Hz, given in blocks of at most maxBlock samples. path is where the filters
// start; its zero value knows nothing, and then the filters learn from the beginning, with delay and skew taken as 0.
func NewLive(rate, maxBlock int, path Path) (*Live, error) {
	switch {
	case rate < MinRate || rate > MaxRate:
		return nil, fmt.Errorf("bleed: rate %d Hz: live cleaning needs %d to %d Hz", rate, MinRate, MaxRate)
	case maxBlock < 1:
		return nil, fmt.Errorf("bleed: blocks of at most %d samples: want at least 1", maxBlock)
	}
	work := maxBlock*WorkRate/rate + 2
	keep := int(liveBackSecs * WorkRate)
	l := &Live{mic: newRateConverter(rate, maxBlock), back: newRateConverter(rate, maxBlock), maxBlock: maxBlock,
		micIn: make([]float64, 0, work+2*LiveBlock), backIn: make([]float64, 0, 2*keep+2*work+2*LiveBlock),
		x:    newReferenceBlocks(LiveBlock, liveTaps/LiveBlock),
		slow: newKalman(LiveBlock, liveTaps, slow), fast: newKalman(LiveBlock, liveTaps, fast),
		ref: make([]float64, LiveBlock), in: make([]float64, LiveBlock),
		left: make([]float64, LiveBlock), leftF: make([]float64, LiveBlock)}
	return l, l.SetPath(path)
}

// SetPath starts both filters anew from a path, such as the one that Clean found in the count-in. What has been heard stays.
func (l *Live) SetPath(path Path) error {
	if math.IsNaN(path.Delay) || math.Abs(path.Delay) > liveBackSecs-resample.Reach/float64(WorkRate) || math.Abs(path.Skew) > largestSkew {
		return errors.New("bleed: the path's delay must lie within a second and its skew within 500 parts in a million: learn it anew from a count-in")
	}
	l.skew, l.delay = path.Skew, path.Delay*WorkRate
	if len(path.Taps) > 0 {
		l.delay -= leadSamples
	}
	taps := path.Taps[:min(len(path.Taps), liveTaps)]
	doubt := [2]float64{slow.doubt, fast.doubt}
	ratio := path.Ratio
	if len(taps) == 0 {
		doubt, ratio = [2]float64{coldDoubt, coldDoubt}, coldRatio
	}
	for i, k := range []*kalman{l.slow, l.fast} {
		k.setPath(taps)
		k.setDoubt(doubt[i], ratio)
	}
	l.moved, l.level = 0, 0
	return nil
}

// Write takes in a block of the microphone and the block of backing that was sent at the same time, both of the same length, and
// appends to dst the cleaned samples at WorkRate that are ready. They lag by up to LiveBlock samples. It allocates nothing where dst has room
// for them.
func (l *Live) Write(dst []float32, mic, backing []float32) []float32 {
	if len(mic) != len(backing) || len(mic) > l.maxBlock {
		panic(fmt.Sprintf("bleed: blocks of %d and %d samples, want two of the same length up to %d", len(mic), len(backing), l.maxBlock))
	}
	l.micIn = l.mic.Write(l.micIn, mic)
	l.backIn = l.back.Write(l.backIn, backing)
	used := 0
	for len(l.micIn)-used >= LiveBlock {
		copy(l.in, l.micIn[used:])
		dst = l.block(dst)
		used += LiveBlock
	}
	l.micIn = l.micIn[:copy(l.micIn, l.micIn[used:])]
	l.forget()
	return dst
}

// block cleans the samples in l.in.
func (l *Live) block(dst []float32) []float32 {
	for i := range l.ref {
		l.ref[i] = resample.At(l.backIn, (1+l.skew)*float64(l.done+i)-l.delay-float64(l.backBase))
	}
	l.x.push(l.ref)
	l.slow.step(l.x, l.in, l.left)
	l.fast.step(l.x, l.in, l.leftF)
	l.done += LiveBlock
	apart, level := 0.0, 0.0
	for i, v := range l.in {
		d, b := l.left[i]-l.leftF[i], v-l.leftF[i]
		apart += d * d
		level += b * b
	}
	l.moved = liveMemory*l.moved + (1-liveMemory)*apart
	l.level = liveMemory*l.level + (1-liveMemory)*level
	best := l.left
	if l.Moved() {
		best = l.leftF
	}
	for _, v := range best {
		dst = append(dst, float32(v))
	}
	return dst
}

// Moved says whether the path has moved faster than the slow filter follows, so that the fast one is given out.
func (l *Live) Moved() bool { return l.moved > fromDB(liveMovedDB)*l.level }

// forget drops backing that no block will need.
func (l *Live) forget() {
	keep := int(liveBackSecs*WorkRate) + LiveBlock
	if drop := len(l.backIn) - 2*keep; drop > 0 {
		drop = len(l.backIn) - keep
		l.backIn = l.backIn[:copy(l.backIn, l.backIn[drop:])]
		l.backBase += drop
	}
}
