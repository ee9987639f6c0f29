package metrics

import (
	"fmt"
	"math"
	"slices"
)

const (
	// DefaultMelodyCents is the published tolerance of the pitch accuracies.
	DefaultMelodyCents = 50.0

	centsBase      = 10.0 // Hz that counts as 0 cents in the comparison; any value below all F0 will do
	octaveCents    = 1200.0
	timeDecimals   = 1e10 // times are rounded to 10 decimals before two grids are compared
	relativeEqual  = 1e-5 // two grids are the same when every time differs by at most
	absoluteEqual  = 1e-8 // absoluteEqual + relativeEqual * |time|
	halfAnInterval = 0.5
)

// Contour is a melody as frames. F0[i] is the fundamental frequency in Hz at Times[i] seconds; 0 where unvoiced; a
// negative value is a guess of the pitch (its absolute value) in a frame that is called unvoiced. Times rise.
type Contour struct {
	Times, F0 []float64
}

// MelodyScores are the five published measures, each 0 to 1.
type MelodyScores struct {
	VoicingRecall     float64 // share of the voiced reference frames that are called voiced
	VoicingFalseAlarm float64 // share of the unvoiced reference frames that are called voiced; lower is better
	RawPitch          float64 // share of the voiced reference frames whose pitch is right, whatever the voicing says
	RawChroma         float64 // the same with octave errors forgiven
	Overall           float64 // share of all frames with right voicing and, where voiced, right pitch
}

// check says what is wrong with a contour.
func (c Contour) check(name string) error {
	if len(c.Times) != len(c.F0) {
		return fmt.Errorf("the %s contour has %d times but %d frequencies; give one frequency for each time", name, len(c.Times), len(c.F0))
	}
	for i, t := range c.Times {
		if math.IsNaN(t) || math.IsNaN(c.F0[i]) || t < 0 || (i > 0 && t < c.Times[i-1]) {
			return fmt.Errorf("frame %d of the %s contour is out of order or no number; give rising times from 0 on and 0 Hz where unvoiced", i, name)
		}
	}
	return nil
}

// Melody compares est with ref on the reference's own frames: est is interpolated linearly in cents between its frames,
// the last voiced pitch is held over unvoiced frames while interpolating, and voicing is that of the est frame before. Frames
// of ref beyond the end of est count as unvoiced there. toleranceCents is exclusive (published: 50).
func Melody(ref, est Contour, toleranceCents float64) (MelodyScores, error) {
	if err := ref.check("reference"); err != nil {
		return MelodyScores{}, err
	}
	if err := est.check("estimated"); err != nil {
		return MelodyScores{}, err
	}
	if len(ref.Times) == 0 || len(est.Times) == 0 {
		return MelodyScores{}, nil
	}
	r, e := track(ref), track(est).onGrid(track(ref).times)
	return melodyScores(r, e, toleranceCents), nil
}

// pitchTrack is a contour in cents above centsBase (0 where there is no pitch) with its voicing.
type pitchTrack struct {
	times, cents []float64
	voiced       []bool
}

// track turns a contour into cents. A first frame at time 0 is put in where there is none.
func track(c Contour) pitchTrack {
	times, f0 := c.Times, c.F0
	if times[0] > 0 {
		times = slices.Insert(slices.Clone(times), 0, 0)
		f0 = slices.Insert(slices.Clone(f0), 0, f0[0])
	}
	p := pitchTrack{times: times, cents: make([]float64, len(f0)), voiced: make([]bool, len(f0))}
	for i, f := range f0 {
		p.voiced[i] = f > 0
		if f != 0 {
			p.cents[i] = octaveCents * math.Log2(math.Abs(f)/centsBase)
		}
	}
	return p
}

// onGrid reads the track at the given times.
func (p pitchTrack) onGrid(times []float64) pitchTrack {
	old, grid := rounded(p.times), rounded(times)
	if sameGrid(old, grid) {
		return p
	}
	cents, voiced := p.cents, p.voiced
	if last := grid[len(grid)-1]; last > old[len(old)-1] {
		old = append(old, last)
		cents = append(slices.Clone(cents), 0)
		voiced = append(slices.Clone(voiced), false)
	}
	held := slices.Clone(cents)
	for i := 1; i < len(held); i++ {
		if held[i] == 0 {
			held[i] = held[i-1]
		}
	}
	out := pitchTrack{times: times, cents: make([]float64, len(grid)), voiced: make([]bool, len(grid))}
	for i, t := range grid {
		k := frameBefore(old, t)
		out.voiced[i] = voiced[k]
		if cents[k] != 0 {
			out.cents[i] = between(old, held, k, t)
		}
	}
	return out
}

// rounded rounds times to 10 decimals.
func rounded(times []float64) []float64 {
	out := make([]float64, len(times))
	for i, t := range times {
		out[i] = math.RoundToEven(t*timeDecimals) / timeDecimals
	}
	return out
}

// sameGrid tells whether two lists of times are equal up to floating-point error.
func sameGrid(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool {
		return math.Abs(x-y) <= absoluteEqual+relativeEqual*math.Abs(y)
	})
}

// frameBefore is the index of the last frame at or before t, at least 0.
func frameBefore(times []float64, t float64) int {
	i, _ := slices.BinarySearchFunc(times, t, func(a, b float64) int {
		if a <= b {
			return -1
		}
		return 1
	})
	return max(i-1, 0)
}

// between interpolates y linearly at time t, where times[k] is the frame before t.
func between(times, y []float64, k int, t float64) float64 {
	if k+1 >= len(times) || times[k+1] == times[k] {
		return y[k]
	}
	return y[k] + (y[k+1]-y[k])*(t-times[k])/(times[k+1]-times[k])
}

// melodyScores counts frames. e has a frame for each of r.
func melodyScores(r, e pitchTrack, toleranceCents float64) MelodyScores {
	var voiced, unvoiced, recalled, falseAlarms, pitch, chroma, overall float64
	for i := range r.times {
		eVoiced, eCents := false, 0.0
		if i < len(e.cents) {
			eVoiced, eCents = e.voiced[i], e.cents[i]
		}
		if !r.voiced[i] {
			unvoiced++
			if eVoiced {
				falseAlarms++
			} else {
				overall++
			}
			continue
		}
		voiced++
		if eVoiced {
			recalled++
		}
		if r.cents[i] == 0 || eCents == 0 {
			continue
		}
		distance := r.cents[i] - eCents
		if math.Abs(distance-octaveCents*math.Floor(distance/octaveCents+halfAnInterval)) < toleranceCents {
			chroma++
		}
		if math.Abs(distance) < toleranceCents {
			pitch++
			if eVoiced {
				overall++
			}
		}
	}
	return MelodyScores{
		VoicingRecall:     share(recalled, voiced),
		VoicingFalseAlarm: share(falseAlarms, unvoiced),
		RawPitch:          share(pitch, voiced),
		RawChroma:         share(chroma, voiced),
		Overall:           share(overall, voiced+unvoiced),
	}
}

// share is part/whole, 0 of nothing.
func share(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return part / whole
}
