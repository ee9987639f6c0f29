package roomsim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"larkhand/internal/music"
)

// BackingRate in Hz of a synthesized backing.
const BackingRate = 48000

// The parts of the backing; own choices, a plain electric piano, bass and hi-hat.
const (
	bassLow, chordLow   = 36, 55 // MIDI numbers of the lowest C-to-B octave of bass and chords
	bassPartials        = 6
	chordPartials       = 8
	bassDecay           = 0.6 // s
	chordDecay          = 0.9
	hatDecay            = 0.035
	attack              = 0.004
	bassGain            = 0.30
	chordGain           = 0.09
	hatGain             = 0.10
	humanSeconds        = 0.006 // onsets are this far off the beat (standard deviation)
	humanGain           = 0.15  // and their strength differs by this share
	backingPeak         = 0.7
	secondsInQuarterBpm = 60.0
)

// Backing synthesizes one pass of a chart: bass on every beat, chords on beats one and the off-beat after two, hi-hat on eighths. The same seed gives the same sound.
func Backing(chart string, tempo float64, seed uint64) ([]float32, error) {
	c, err := music.ParseChart(chart)
	if err != nil {
		return nil, fmt.Errorf("roomsim: %w", err)
	}
	b := band{rng: rand.New(rand.NewPCG(seed, 0xbac)), beat: secondsInQuarterBpm / tempo * 4 / float64(c.Meter.Unit)}
	beats := len(c.Bars) * c.Meter.Beats
	b.out = make([]float64, int(math.Round(float64(beats)*b.beat*BackingRate)))
	for i, bar := range c.Bars {
		for k := range c.Meter.Beats {
			at := float64(i*c.Meter.Beats + k)
			if len(bar.Chords) == 0 {
				continue
			}
			b.beatOf(bar.Chords[k*len(bar.Chords)/c.Meter.Beats], k, at*b.beat)
		}
	}
	peak := 0.0
	for _, v := range b.out {
		peak = math.Max(peak, math.Abs(v))
	}
	out := make([]float32, len(b.out))
	for i, v := range b.out {
		out[i] = float32(v * backingPeak / peak)
	}
	return out, nil
}

// band plays into a loop; what rings on past its end sounds at its beginning.
type band struct {
	rng  *rand.Rand
	beat float64 // s
	out  []float64
}

// beatOf plays one beat of a bar.
func (b *band) beatOf(chord music.Chord, beat int, at float64) {
	_, root, ok := chord.Bass()
	notes := chord.Notes()
	if ok {
		fifth := root
		if beat%2 == 1 && len(notes) > 2 {
			fifth = notes[2].PitchClass
		}
		b.tone(at, float64(bassLow+fifth%12), bassGain, bassDecay, bassPartials)
	}
	if beat == 0 || beat == 2 {
		when := at
		if beat == 2 {
			when += b.beat / 2
		}
		for _, n := range notes {
			b.tone(when, float64(chordLow+(n.PitchClass-chordLow%12+12)%12), chordGain, chordDecay, chordPartials)
		}
	}
	for half := range 2 {
		b.hat(at+float64(half)*b.beat/2, hatGain*(1-0.4*float64(half)))
	}
}

// tone adds a struck note: partials that fall off by number and die the sooner the higher they are.
func (b *band) tone(at, midi, gain, decay float64, partials int) {
	start := b.place(at)
	gain *= 1 + humanGain*b.rng.NormFloat64()
	hz := music.MIDIToHz(midi)
	for p := 1; p <= partials && hz*float64(p) < BackingRate/2; p++ {
		length := decay / math.Sqrt(float64(p))
		phase, step := 2*math.Pi*b.rng.Float64(), 2*math.Pi*hz*float64(p)/BackingRate
		for n := range int(5 * length * BackingRate) {
			t := float64(n) / BackingRate
			b.add(start+n, gain/float64(p)*math.Sin(phase+step*float64(n))*math.Exp(-t/length)*math.Min(1, t/attack))
		}
	}
}

// hat adds a burst of differenced noise.
func (b *band) hat(at, gain float64) {
	start, last := b.place(at), 0.0
	for n := range int(6 * hatDecay * BackingRate) {
		v := b.rng.NormFloat64()
		b.add(start+n, gain*0.5*(v-last)*math.Exp(-float64(n)/(hatDecay*BackingRate)))
		last = v
	}
}

func (b *band) place(at float64) int {
	return int((at + humanSeconds*b.rng.NormFloat64()) * BackingRate)
}

func (b *band) add(n int, v float64) {
	b.out[(n%len(b.out)+len(b.out))%len(b.out)] += v
}

// Repeat lays passes of a loop end to end until there are n samples.
func Repeat(loop []float32, n int) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = loop[i%len(loop)]
	}
	return out
}
