package voice

import (
	"fmt"
	"math"

	"larkhand/voice/internal/front"
	"larkhand/voice/internal/marks"
	"larkhand/voice/internal/segment"
	"larkhand/voice/internal/track"
)

// Hop is the time between frames in seconds.
const Hop = front.Hop

// The sample rates that are taken, in Hz, and the longest take, in seconds: far
// more than a phrase, little enough to keep the memory bounded (about 2 MB a minute of frames).
const (
	MinRate    = 16000
	MaxRate    = 96000
	MaxSeconds = 600
)

// Lowest and highest pitch that is looked for, in Hz.
const (
	MinHz = front.MinHz
	MaxHz = front.MaxHz
)

// Analyser listens to one take, block by block. Make one by NewAnalyser; it is
// not safe for use by several goroutines at once.
type Analyser struct {
	front   *front.Analyser
	rate    int
	samples int
	block   []float32
	live    track.Live
	heard   int // frames that live has seen
	newest  Frame
}

// NewAnalyser prepares for one take at a rate in Hz, MinRate to MaxRate.
func NewAnalyser(rate int) (*Analyser, error) {
	if rate < MinRate || rate > MaxRate {
		return nil, fmt.Errorf("a sample rate of %d Hz is out of range: record at %d to %d Hz, 44100 or 48000 are usual", rate, MinRate, MaxRate)
	}
	return &Analyser{front: front.New(rate), rate: rate}, nil
}

// Write takes in the next samples: one channel, full scale 1. Samples that are
// no numbers count as 0, samples beyond MaxSeconds are not taken and an error says so.
func (a *Analyser) Write(samples []float32) error {
	room := MaxSeconds*a.rate - a.samples
	taken := samples[:min(len(samples), room)]
	a.samples += len(taken)
	const chunk = 4096
	for len(taken) > 0 {
		k := min(chunk, len(taken))
		a.block = append(a.block[:0], taken[:k]...)
		for i, v := range a.block {
			if v != v || v > math.MaxFloat32 || v < -math.MaxFloat32 {
				a.block[i] = 0
			}
		}
		a.front.Write(a.block)
		taken = taken[k:]
	}
	if len(samples) > room {
		return fmt.Errorf("the take is longer than %d minutes: cut out the sung phrase", MaxSeconds/60)
	}
	return nil
}

// Live is the newest frame, for a display while the take goes on: its pitch is
// provisional, and its Time lies about 40 ms before the last sample written. ok
// is false before the first frame. It allocates nothing.
func (a *Analyser) Live() (f Frame, ok bool) {
	frames := a.front.Frames()
	for ; a.heard < len(frames); a.heard++ {
		pitch, score := a.live.Next(&frames[a.heard])
		a.newest = frameAt(a.heard, pitch, score, float64(frames[a.heard].Level))
	}
	return a.newest, a.heard > 0
}

// Finish ends the take and judges it as a whole. The Analyser is of no use afterwards.
func (a *Analyser) Finish() Take {
	frames := a.front.Finish()
	path := track.Find(frames)
	m := marks.Find(frames, path)
	t := Take{
		Duration: float64(a.samples) / float64(a.rate),
		Frames:   takeFrames(frames, path),
		Clarity:  clarity(frames, path),
	}
	for _, n := range segment.Find(path, m) {
		t.Notes = append(t.Notes, measure(n, frames, path, m))
	}
	t.TuningCents = judgePitches(t.Notes)
	return t
}

// Analyse listens to a whole take: one channel, full scale 1, rate in Hz.
func Analyse(samples []float32, rate int) (Take, error) {
	a, err := NewAnalyser(rate)
	if err != nil {
		return Take{}, err
	}
	if err := a.Write(samples); err != nil {
		return Take{}, err
	}
	return a.Finish(), nil
}

func takeFrames(frames []front.Frame, path track.Path) []Frame {
	out := make([]Frame, len(frames))
	for n := range frames {
		out[n] = frameAt(n, path.Pitch[n], path.Score[n], float64(frames[n].Level))
	}
	return out
}

func frameAt(n int, pitch, score, level float64) Frame {
	f := Frame{Time: float64(n) * Hop, F0: math.NaN(), Voiced: score, Level: level}
	if !math.IsNaN(pitch) {
		f.F0 = 440 * math.Exp2((pitch-69)/12)
	}
	return f
}

// clarity is the share of the loud frames that have one clear pitch.
func clarity(frames []front.Frame, path track.Path) float64 {
	const (
		loud  = 12.0 // dB below the reference: vowels, not their tails
		clear = 0.6  // score
	)
	n, good := 0, 0
	for i := range frames {
		if float64(frames[i].Level) < path.Reference-loud {
			continue
		}
		n++
		if path.Score[i] >= clear {
			good++
		}
	}
	if n == 0 {
		return 0
	}
	return float64(good) / float64(n)
}
