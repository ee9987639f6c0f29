package singer

import (
	"fmt"
	"math"
	"math/rand/v2"
)

const (
	tick          = 0.002   // s, control values move in steps of this length
	innerRate     = 64000.0 // Hz, the least rate at which the source is computed: its harmonics above 48 kHz, 70 dB down, fold back below 16 kHz
	lowestRate    = 8000    // Hz
	highestRate   = 192000  // Hz
	flutterMemory = 0.030   // s, correlation time of fast unsteadiness
	wobbleMemory  = 0.150   // s, correlation time of slow unsteadiness
	vibratoDrift  = 0.04    // standard deviation of the vibrato rate as a ratio (jazz and musical theatre are less regular than opera)
	driftMemory   = 0.400   // s, correlation time of it
	ceiling       = 0.98    // a take that would pass this peak is turned down as a whole
	seedStream    = 0x51a6e5
)

// Render sings the notes with the voice, dry, as mono samples of full scale 1. The zero of the notes' clock is the first sample; the
// result ends 0.3 s after the last note. rate is in Hz, 8000 to 192000. The level of a vowel with LevelDB 0 is the
// voice's; only a take that would clip is turned down, as a whole. It panics where Check gives an error.
func Render(notes []Note, v Voice, rate int, seed uint64) []float32 {
	if rate < lowestRate || rate > highestRate {
		panic(fmt.Sprintf("singer: rate %d Hz; rates from %d to %d Hz can be rendered", rate, lowestRate, highestRate))
	}
	v = v.withUsual()
	factor := int(math.Ceil(innerRate / float64(rate)))
	inner := float64(rate * factor)
	random := rand.NewPCG(seed, seedStream)
	p := newPart(notes, v, newLoudness(v, inner))
	fine := p.sing(newThroat(v, inner, random), inner)
	samples := decimate(fine, factor)
	limit(samples)
	return samples
}

// sing runs the throat through the part.
func (p *part) sing(t *throat, rate float64) []float64 {
	dst := make([]float64, int(p.end*rate))
	m := movement{rng: rand.New(t.random), voice: p.voice}
	block := int(tick * rate)
	now := p.effortAt(0, &m)
	for start := 0; start < len(dst); start += block {
		time := float64(start) / rate
		s := shapeOf(p.tract.at(time))
		t.setShape(&s)
		f := p.friction.at(time)
		t.setFriction(f[1], f[2])
		next := p.effortAt(time+tick, &m)
		singBlock(dst[start:min(start+block, len(dst))], t, now, next, float64(block))
		now = next
	}
	return dst
}

// singBlock moves the effort in a straight line from one control time to the next.
func singBlock(dst []float64, t *throat, from, to effort, block float64) {
	open := openPart(from.rd)
	e := from
	step := effort{hz: (to.hz - from.hz) / block, voice: (to.voice - from.voice) / block, breath: (to.breath - from.breath) / block,
		noise: (to.noise - from.noise) / block}
	for i := range dst {
		dst[i] = t.step(&e, open)
		e.hz += step.hz
		e.voice += step.voice
		e.breath += step.breath
		e.noise += step.noise
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

// effortAt returns the effort at a control time; times go up by one tick a call.
func (p *part) effortAt(time float64, m *movement) effort {
	m.flutter = wander(m.flutter, flutterMemory, m.rng)
	m.wobble = wander(m.wobble, wobbleMemory, m.rng)
	m.uneven = wander(m.uneven, driftMemory, m.rng)
	m.vibratoPhase += tick * p.vibHz.at(time)[0] * (1 + vibratoDrift*m.uneven)
	cents := m.flutter*m.voice.Flutter + m.wobble*p.wobble.at(time)[0] + p.vibrato.at(time)[0]*math.Sin(2*math.Pi*m.vibratoPhase)
	return effort{
		hz:     hertz(p.pitch.at(time)[0] + cents/centsPerSemitone),
		voice:  p.level.at(time)[0],
		rd:     p.pulse.at(time)[0],
		breath: p.breath.at(time)[0],
		noise:  p.friction.at(time)[0],
	}
}

// decimate keeps every factor-th sample after a linear-phase low pass (Blackman-windowed sinc) that is -6 dB at 0.46 of the new rate. The
// result is aligned with the input.
func decimate(src []float64, factor int) []float32 {
	const (
		sideTaps = 20   // new samples on each side: over 70 dB down from 0.54 of the new rate
		cutoff   = 0.46 // of the new rate
	)
	dst := make([]float32, len(src)/factor)
	if factor == 1 {
		for i := range dst {
			dst[i] = float32(src[i])
		}
		return dst
	}
	side := sideTaps * factor
	taps := make([]float64, 2*side+1)
	sum := 0.0
	for i := range taps {
		x := float64(i-side) / float64(factor)
		u := float64(i) / float64(len(taps)-1)
		window := 0.42 - 0.5*math.Cos(2*math.Pi*u) + 0.08*math.Cos(4*math.Pi*u)
		taps[i] = window * sinc(2*cutoff*x)
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	for i := range dst {
		first := i*factor - side
		from, to := max(0, -first), min(len(taps), len(src)-first)
		acc := 0.0
		window := src[first+from : first+to]
		for j, w := range taps[from:to] {
			acc += w * window[j]
		}
		dst[i] = float32(acc)
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
