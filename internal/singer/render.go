package singer

import (
	"fmt"
	"math"
	"math/rand/v2"
)

const (
	tick          = 0.002   // s, control values move in steps of this length
	innerRate     = 64000.0 // Hz, the least rate at which the source is computed: its harmonics above 48 kHz, 70 dB down, fold back below 16 kHz
	lowestRate    = 16000   // Hz, below it the fifth formant of a child does not fit
	highestRate   = 192000  // Hz
	flutterMemory = 0.030   // s, correlation time of fast unsteadiness
	wobbleMemory  = 0.150   // s, correlation time of slow unsteadiness
	vibratoDrift  = 0.04    // standard deviation of the vibrato rate as a ratio (jazz and musical theatre are less regular than opera)
	driftMemory   = 0.400   // s, correlation time of it
	ceiling       = 0.98    // a take that would pass this peak is turned down as a whole
	seedStream    = 0x51a6e5
)

// Render sings the notes with the voice, dry, as mono samples of full scale 1. The zero of the notes' clock is the first sample; the
// result ends 0.3 s after the last note. rate is in Hz, 16000 to 192000. The level of a vowel with LevelDB 0 is the
// voice's; only a take that would clip is turned down, as a whole. It panics where Check gives an error.
func Render(notes []Note, v Voice, rate int, seed uint64) []float32 {
	if rate < lowestRate || rate > highestRate {
		panic(fmt.Sprintf("singer: rate %d Hz; rates from %d to %d Hz can be rendered", rate, lowestRate, highestRate))
	}
	v = v.withUsual()
	random := rand.NewPCG(seed, seedStream)
	p := newPart(notes, v, newLoudness(v, float64(rate)))
	samples := p.sing(rate, random)
	limit(samples)
	return samples
}

// sing runs glottis and tract through the part. The source is made at a higher rate, since its harmonics have no end, and brought
// down. The tract runs at 16 to 32 kHz whatever the rate: cascades with more formants amplify the steps of the
// control values, and voices have little above 8 kHz.
func (p *part) sing(rate int, random *rand.PCG) []float32 {
	up := rate / lowestRate
	tractRate := float64(rate) / float64(up)
	down := int(math.Ceil(innerRate / tractRate))
	count := int(p.end * tractRate)
	efforts := p.efforts(random)
	fine := make([]float64, count*down)
	g := newGlottis(p.voice, tractRate*float64(down), random)
	blocks(len(fine), g.rate, func(k, from, to int) { g.run(fine[from:to], efforts[k], efforts[k+1]) })
	source := decimate(fine, down)
	t := newTract(p.voice, tractRate, random)
	blocks(count, tractRate, func(k, from, to int) {
		s := shapeOf(p.tract.at(float64(k) * tick))
		t.setShape(&s)
		t.run(source[from:to], efforts[k], efforts[k+1])
	})
	return interpolate(source, up)
}

// blocks calls do for the k-th tick of n samples, the samples from, to (exclusive). At rates that a tick does not divide, ticks differ by a sample.
func blocks(n int, rate float64, do func(k, from, to int)) {
	from := 0
	for k := 0; from < n; k++ {
		to := min(n, int(math.Round(float64(k+1)*tick*rate)))
		do(k, from, to)
		from = to
	}
}

// movement holds the unsteadiness of the pitch.
type movement struct {
	rng                  *rand.Rand
	voice                Voice
	flutter, wobble      float64 // standard normal, correlated over time
	vibratoPhase, uneven float64
}

// wander moves a standard normal value on by one tick (Ornstein-Uhlenbeck process, exact discretisation).
func wander(x, memory float64, rng *rand.Rand) float64 {
	keep := math.Exp(-tick / memory)
	return keep*x + math.Sqrt(1-keep*keep)*rng.NormFloat64()
}

// efforts returns the effort at each control time, to two ticks past the end.
func (p *part) efforts(random *rand.PCG) []effort {
	m := movement{rng: rand.New(random), voice: p.voice}
	all := make([]effort, int(p.end/tick)+3)
	for k := range all {
		all[k] = p.effortAt(float64(k)*tick, &m)
	}
	return all
}

// effortAt returns the effort at a control time; times go up by one tick a call.
func (p *part) effortAt(time float64, m *movement) effort {
	m.flutter = wander(m.flutter, flutterMemory, m.rng)
	m.wobble = wander(m.wobble, wobbleMemory, m.rng)
	m.uneven = wander(m.uneven, driftMemory, m.rng)
	m.vibratoPhase += tick * p.vibHz.at(time)[0] * (1 + vibratoDrift*m.uneven)
	cents := m.flutter*m.voice.Flutter + m.wobble*p.wobble.at(time)[0] + p.vibrato.at(time)[0]*math.Sin(2*math.Pi*m.vibratoPhase)
	friction := p.friction.at(time)
	return effort{
		hz:       hertz(p.pitch.at(time)[0] + cents/centsPerSemitone),
		voice:    p.level.at(time)[0],
		rd:       p.pulse.at(time)[0],
		breath:   p.breath.at(time)[0],
		friction: friction[0],
		centreHz: friction[1],
		bandHz:   friction[2],
	}
}

// sideTaps is the half length of the rate filter in samples of the lower rate: over 70 dB down from 0.54 of that rate.
const sideTaps = 20

// lowPass returns a linear-phase low pass (Blackman-windowed sinc), -6 dB at 0.46 of the higher rate divided by the factor; the sum
// of its taps is 1.
func lowPass(factor int) []float64 {
	const cutoff = 0.46
	side := sideTaps * factor
	taps := make([]float64, 2*side+1)
	sum := 0.0
	for i := range taps {
		u := float64(i) / float64(2*side)
		window := 0.42 - 0.5*math.Cos(2*math.Pi*u) + 0.08*math.Cos(4*math.Pi*u)
		taps[i] = window * sinc(2*cutoff*float64(i-side)/float64(factor))
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// decimate keeps every factor-th sample after the low pass; sample i of the result lies at sample i*factor of src.
func decimate(src []float64, factor int) []float64 {
	if factor == 1 {
		return src
	}
	taps := lowPass(factor)
	side := sideTaps * factor
	dst := make([]float64, len(src)/factor)
	for i := range dst {
		first := i*factor - side
		from, to := max(0, -first), min(len(taps), len(src)-first)
		acc := 0.0
		window := src[first+from : first+to]
		for j, w := range taps[from:to] {
			acc += w * window[j]
		}
		dst[i] = acc
	}
	return dst
}

// interpolate puts factor-1 samples between each two; sample i*factor of the result lies at sample i of src.
func interpolate(src []float64, factor int) []float32 {
	dst := make([]float32, len(src)*factor)
	if factor == 1 {
		for i, x := range src {
			dst[i] = float32(x)
		}
		return dst
	}
	taps := lowPass(factor)
	for i := range dst {
		base, part := i/factor, i%factor
		acc := 0.0
		for j := max(base-sideTaps+1, 0); j <= min(base+sideTaps, len(src)-1); j++ {
			acc += taps[sideTaps*factor+part+(base-j)*factor] * src[j]
		}
		dst[i] = float32(acc * float64(factor))
	}
	return dst
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// limit turns the whole take down where it would pass the ceiling.
func limit(samples []float32) {
	var peak float32
	for _, x := range samples {
		peak = max(peak, x, -x)
	}
	if peak <= ceiling {
		return
	}
	for i := range samples {
		samples[i] *= ceiling / peak
	}
}
