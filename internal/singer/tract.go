package singer

import (
	"math"
	"math/rand/v2"
)

// resonator is a second-order digital resonator with unit gain at 0 Hz: Klatt (1980), equations 1 and 2.
type resonator struct{ a, b, c, y1, y2 float64 }

func (r *resonator) tune(hz, band, rate float64) {
	r.c = -math.Exp(-2 * math.Pi * band / rate)
	r.b = 2 * math.Exp(-math.Pi*band/rate) * math.Cos(2*math.Pi*hz/rate)
	r.a = 1 - r.b - r.c
}

func (r *resonator) step(x float64) float64 {
	y := r.a*x + r.b*r.y1 + r.c*r.y2
	r.y2, r.y1 = r.y1, y
	return y
}

// power is the squared gain at an angle w of the unit circle, given cos w and cos 2w.
func (r *resonator) power(cos, cos2 float64) float64 {
	return r.a * r.a / (1 + r.b*r.b + r.c*r.c + 2*r.b*(r.c-1)*cos - 2*r.c*cos2)
}

// noiseGain is the RMS of the output for white noise of unit variance: the variance of a second-order autoregressive process.
func (r *resonator) noiseGain() float64 {
	return math.Abs(r.a) * math.Sqrt((1-r.c)/((1+r.c)*((1-r.c)*(1-r.c)-r.b*r.b)))
}

// antiresonator is the mirror image of a resonator: Klatt (1980), equations 3 and 4.
type antiresonator struct{ a, b, c, x1, x2 float64 }

func (z *antiresonator) tune(hz, band, rate float64) {
	var r resonator
	r.tune(hz, band, rate)
	z.a, z.b, z.c = 1/r.a, -r.b/r.a, -r.c/r.a
}

func (z *antiresonator) step(x float64) float64 {
	y := z.a*x + z.b*z.x1 + z.c*z.x2
	z.x2, z.x1 = z.x1, x
	return y
}

// power is the squared gain at an angle w of the unit circle, given cos w and cos 2w.
func (z *antiresonator) power(cos, cos2 float64) float64 {
	return z.a*z.a + z.b*z.b + z.c*z.c + 2*z.b*(z.a+z.c)*cos + 2*z.a*z.c*cos2
}

// shape is the state of the vocal tract.
type shape struct {
	formant [formantCount]float64 // Hz
	band    [formantCount]float64 // Hz, bandwidths
	antiHz  float64               // Hz, zero of the nasal branch; at nasalPoleHz it cancels the nasal pole
}

const shapeValues = 2*formantCount + 1

func (s shape) values() []float64 {
	v := make([]float64, 0, shapeValues)
	v = append(v, s.formant[:]...)
	v = append(v, s.band[:]...)
	return append(v, s.antiHz)
}

func shapeOf(values []float64) (s shape) {
	copy(s.formant[:], values)
	copy(s.band[:], values[formantCount:])
	s.antiHz = values[2*formantCount]
	return s
}

// Constants of the tract. Klatt (1980) table I and III, from memory, for a man; other tracts scale the frequencies.
const (
	nasalPoleHz  = 270.0 // Hz, nasal pole (Klatt: 250 to 280)
	nasalBandHz  = 100.0 // Hz, bandwidth of nasal pole and zero
	fourthHz     = 3500.0
	fifthHz      = 4500.0
	fixedSpacing = 1000.0 // Hz, the tube resonances above F5 that keep the top of the spectrum up
	fixedTop     = 0.48   // of the rate, the highest of them
	fixedBandHz  = 400.0
	lossPerNasal = 2.0    // bandwidths in a murmur are about twice those of open vowels (Fujimura 1962)
	apart        = 300.0  // Hz, least distance of formants that are pushed up; own
	ringHz       = 2900.0 // Hz, singer's formant (Sundberg 1974)
	ringStep     = 250.0  // Hz between the three formants of a full cluster; own
	ringPull     = 0.6    // how far full ring pulls F3 to F5 towards ringHz: own, gives a cluster about 900 Hz wide
)

var openBands = [formantCount]float64{70, 90, 140, 220, 280} // Hz

// tractScale is the mean ratio of formants of women and children to men in the table of vowels: 1.17 and 1.36, computed
// from the F3 and F2 columns; it serves for what the table does not have.
var tractScale = [3]float64{1, 1.17, 1.36}

// open returns the shape for a row of the vowel table sung at f0 (Hz).
func (v Voice) open(row [3]float64, f0 float64) shape {
	scale := tractScale[v.Kind] / v.TractLength
	s := shape{antiHz: nasalPoleHz * scale, band: openBands}
	for i, hz := range row {
		s.formant[i] = hz / v.TractLength
	}
	s.formant[3], s.formant[4] = fourthHz*scale, fifthHz*scale
	for i := 2; i < formantCount; i++ {
		s.formant[i] += v.Ring * ringPull * (ringHz*scale + (float64(i)-3)*ringStep - s.formant[i])
	}
	for i := range s.band {
		s.band[i] *= math.Sqrt(scale)
	}
	// High voices open the mouth so that F1 does not fall below the fundamental (Sundberg, 1975).
	if s.formant[0] < f0 {
		s.formant[0] = f0
		s.formant[1] = math.Max(s.formant[1], f0+apart)
	}
	s.formant[2] = math.Max(s.formant[2], s.formant[1]+apart)
	s.formant[3] = math.Max(s.formant[3], s.formant[2]+apart)
	return s
}

// murmur returns the shape for a closed mouth at f0 (Hz).
func (v Voice) murmur(row [3]float64, antiHz, f0 float64) shape {
	s := v.open(row, f0)
	for i := range s.band {
		s.band[i] *= lossPerNasal
	}
	s.antiHz = antiHz * tractScale[v.Kind] / v.TractLength
	return s
}

// vowelShape returns the shape of a vowel sung at f0 (Hz).
func (v Voice) vowelShape(w *vowel, f0 float64) shape {
	if w.hummed {
		return v.murmur(w.formant[v.Kind], w.antiHz, f0)
	}
	return v.open(w.formant[v.Kind], f0)
}

// locusShape returns the shape of a consonant next to a vowel: F2 and F3 lie between the locus and the vowel
// (locus equations, Lindblom 1963; the share is a middle value, from memory).
func (v Voice) locusShape(c *consonant, near shape, f0 float64) shape {
	const shareOfVowel = 0.4
	scale := tractScale[v.Kind]
	row := [3]float64{c.locus[0] * scale, c.locus[1] * scale, c.locus[2] * scale}
	if c.manner == nasal {
		return v.murmur(row, c.antiHz, f0)
	}
	s := v.open(row, f0)
	if c.manner != approximant {
		for i := 1; i < 3; i++ {
			s.formant[i] += shareOfVowel * (near.formant[i] - s.formant[i])
		}
	}
	return s
}

// tract filters the source: fixed formants, moving formants, nasal branch, friction.
type tract struct {
	rate          float64
	formants      [formantCount]resonator
	fixed         []resonator
	nasalPole     resonator
	nasalZero     antiresonator
	friction      resonator
	frictionLevel float64
	random        *rand.PCG
}

// newTract makes a tract for the output rate in Hz. Fixed formants fill the spectrum up to nearly half the rate: a cascade
// needs one resonance per 1 kHz of bandwidth, or its top falls away (Klatt 1980, section II.B).
func newTract(v Voice, rate float64, random *rand.PCG) *tract {
	t := &tract{rate: rate, random: random}
	scale := tractScale[v.Kind] / v.TractLength
	for hz := (fifthHz + fixedSpacing) * scale; hz < fixedTop*rate; hz += fixedSpacing * scale {
		var r resonator
		r.tune(hz, fixedBandHz, rate)
		t.fixed = append(t.fixed, r)
	}
	t.nasalPole.tune(nasalPoleHz*scale, nasalBandHz, rate)
	return t
}

func (t *tract) setShape(s *shape) {
	for i := range t.formants {
		t.formants[i].tune(s.formant[i], s.band[i], t.rate)
	}
	t.nasalZero.tune(s.antiHz, nasalBandHz, t.rate)
}

func (t *tract) setFriction(hz, band float64) {
	t.friction.tune(math.Min(hz, fixedTop*t.rate), band, t.rate)
	t.frictionLevel = noiseScale(t.rate) / (t.friction.noiseGain() * math.Sqrt(t.rate/noiseRate))
}

// run filters the source in place and adds friction, while the effort moves from one moment to the next, a tick later.
func (t *tract) run(signal []float64, from, to effort) {
	friction, step := from.friction, (to.friction-from.friction)/(tick*t.rate)
	if friction > 0 || step > 0 {
		t.setFriction(from.centreHz, from.bandHz)
	}
	for i, x := range signal {
		signal[i] = t.step(x) + t.friction.step(friction*t.frictionLevel*white(t.random))
		friction = max(0, friction+step)
	}
}

// step filters one sample of source.
func (t *tract) step(x float64) float64 {
	y := t.nasalZero.step(t.nasalPole.step(x))
	for i := range t.fixed {
		y = t.fixed[i].step(y)
	}
	for i := formantCount - 1; i >= 0; i-- {
		y = t.formants[i].step(y)
	}
	return y
}

// power is the squared gain of the tract at a frequency in Hz.
func (t *tract) power(hz float64) float64 {
	sin, cos := math.Sincos(2 * math.Pi * hz / t.rate)
	cos2 := cos*cos - sin*sin
	g := t.nasalPole.power(cos, cos2) * t.nasalZero.power(cos, cos2)
	for i := range t.fixed {
		g *= t.fixed[i].power(cos, cos2)
	}
	for i := range t.formants {
		g *= t.formants[i].power(cos, cos2)
	}
	return g
}

func fromDB(db float64) float64 { return math.Pow(10, db/20) }

func hertz(midi float64) float64 { return 440 * math.Exp2((midi-69)/12) }
