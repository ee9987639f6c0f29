package singer

import "math"

// loudness finds the source amplitude that gives a wanted level: the power of a steady sound is the sum over the harmonics of the
// pulse, each through the tract. It makes LevelDB mean the same for every vowel, pitch and voice.
type loudness struct{ tract *tract }

func newLoudness(v Voice, rate float64) *loudness { return &loudness{tract: newTract(v, rate, nil)} }

// gain returns the source amplitude for which the shape at hz and rd sounds with the given RMS.
func (l *loudness) gain(s shape, hz, rd, rms float64) float64 {
	l.tract.setShape(&s)
	r, part := row(rd)
	lower, upper := &harmonics()[r], &harmonics()[r+1]
	sum := 0.0
	for k := range lower {
		f := hz * float64(k+1)
		if f >= l.tract.rate/2 {
			break
		}
		c := lower[k] + complex(part, 0)*(upper[k]-lower[k])
		sum += (real(c)*real(c) + imag(c)*imag(c)) / 2 * l.tract.power(f)
	}
	return rms / math.Sqrt(sum)
}
