package singer

import (
	"math"
	"math/rand/v2"
)

// Room is what stands between the singer and the file: reflections, noise, mains hum, the band of the microphone.
// The zero Room changes nothing.
type Room struct {
	RT60      float64 // s, time in which reverberation falls by 60 dB; 0: none
	WetDB     float64 // level of the reverberation relative to the voice as it arrives directly
	NoiseDBFS float64 // RMS level of the noise floor, half its power below noiseKneeHz, as in rooms; 0: none
	HumHz     float64 // mains frequency, 50 or 60; 0: none
	HumDBFS   float64 // RMS level of the hum's fundamental; harmonics 2 to 5 lie 6 dB lower each
	LowHz     float64 // high pass of the microphone, second order; 0: none
	HighHz    float64 // low pass of the microphone, second order; 0: none
	TrebleDB  float64 // gain above trebleHz, as small microphones have
	ReflectMs float64 // ms after the direct sound at which the first reflection (wall or desk) comes; 0: none
	ReflectDB float64 // its level relative to the direct sound
	GainDB    float64 // gain of the whole recording
	ClipDBFS  float64 // peak level at which the input clips hard; 0: full scale
}

// RandomRoom draws a living room or practice room with a phone, laptop or headset microphone.
func RandomRoom(rng *rand.Rand) Room {
	r := Room{
		RT60:      between(rng, 0.15, 0.7),
		WetDB:     between(rng, -28, -8),
		NoiseDBFS: between(rng, -75, -45),
		LowHz:     between(rng, 30, 140),
		HighHz:    between(rng, 5000, 16000),
		TrebleDB:  between(rng, -3, 6),
	}
	if rng.Float64() < 0.3 {
		r.HumHz, r.HumDBFS = 50, between(rng, -75, -52)
		if rng.Float64() < 0.4 {
			r.HumHz = 60
		}
	}
	if rng.Float64() < 0.5 {
		r.ReflectMs, r.ReflectDB = between(rng, 1, 12), between(rng, -16, -5)
	}
	return r
}

// Constants of the recording; own, inside common ranges, no source.
const (
	trebleHz     = 3000.0 // Hz, corner of the treble shelf
	noiseKneeHz  = 300.0  // Hz
	humHarmonics = 5
	humStepDB    = -6.0
	butterworth  = math.Sqrt2 / 2
	dampHz       = 4000.0 // Hz, above it the reverberation dies faster, as on walls and in air
	roomStream   = 0x7007
)

// Record returns what the microphone writes, of the same length as dry; rate is in Hz. Onsets keep their place.
func (r Room) Record(dry []float32, rate int, seed uint64) []float32 {
	random := rand.NewPCG(seed, roomStream)
	x := make([]float64, len(dry))
	for i, v := range dry {
		x[i] = float64(v)
	}
	r.reflect(x, rate)
	r.reverberate(x, float64(rate))
	r.addNoise(x, float64(rate), random)
	r.band(x, float64(rate))
	return r.finish(x)
}

func (r Room) reflect(x []float64, rate int) {
	if r.ReflectMs <= 0 {
		return
	}
	delay := max(1, int(math.Round(r.ReflectMs/1000*float64(rate))))
	gain := fromDB(r.ReflectDB)
	for i := len(x) - 1; i >= delay; i-- {
		x[i] += gain * x[i-delay]
	}
}

func (r Room) reverberate(x []float64, rate float64) {
	if r.RT60 <= 0 {
		return
	}
	probe, energy := newReverb(r.RT60, rate), 0.0
	for i := range int(r.RT60 * rate) {
		in := 0.0
		if i == 0 {
			in = 1
		}
		y := probe.step(in)
		energy += y * y
	}
	wet := fromDB(r.WetDB) / math.Sqrt(energy)
	v := newReverb(r.RT60, rate)
	for i := range x {
		x[i] += wet * v.step(x[i])
	}
}

// reverbLines are the delays of the lines in s: spread over 20 to 60 ms without common divisors.
var reverbLines = [...]float64{0.0211, 0.0253, 0.0297, 0.0331, 0.0379, 0.0433, 0.0499, 0.0571}

const lineCount = len(reverbLines)

// reverb is a feedback delay network: Jot and Chaigne, "Digital delay networks for designing artificial reverberators", AES
// preprint 3030 (1991). Each line loses what its length takes of the RT60; the feedback matrix is Householder's.
type reverb struct {
	lines [lineCount][]float64
	at    [lineCount]int
	gain  [lineCount]float64
	damp  float64
	low   [lineCount]float64
}

func newReverb(rt60, rate float64) *reverb {
	v := &reverb{damp: 1 - math.Exp(-2*math.Pi*dampHz/rate)}
	for i, seconds := range reverbLines {
		v.lines[i] = make([]float64, int(seconds*rate))
		v.gain[i] = math.Pow(10, -3*seconds/rt60)
	}
	return v
}

func (v *reverb) step(x float64) float64 {
	var out [lineCount]float64
	sum, y := 0.0, 0.0
	for i := range v.lines {
		v.low[i] += v.damp * (v.lines[i][v.at[i]] - v.low[i])
		out[i] = v.gain[i] * v.low[i]
		sum += out[i]
		if i%2 == 0 {
			y += out[i]
		} else {
			y -= out[i]
		}
	}
	for i := range v.lines {
		v.lines[i][v.at[i]] = x + out[i] - 2*sum/float64(lineCount)
		v.at[i]++
		if v.at[i] == len(v.lines[i]) {
			v.at[i] = 0
		}
	}
	return y
}

func (r Room) addNoise(x []float64, rate float64, random *rand.PCG) {
	if r.HumHz > 0 {
		level := math.Sqrt2 * fromDB(r.HumDBFS)
		for k := 1; k <= humHarmonics; k++ {
			w := 2 * math.Pi * r.HumHz * float64(k) / rate
			for i := range x {
				x[i] += level * math.Sin(w*float64(i))
			}
			level *= fromDB(humStepDB)
		}
	}
	if r.NoiseDBFS == 0 {
		return
	}
	// White noise of unit variance through a one-pole low pass has the variance a/(2-a).
	a := 1 - math.Exp(-2*math.Pi*noiseKneeHz/rate)
	half := fromDB(r.NoiseDBFS) * butterworth
	rumble, lift := 0.0, math.Sqrt((2-a)/a)
	for i := range x {
		rumble += a * (white(random) - rumble)
		x[i] += half * (white(random) + lift*rumble)
	}
}

func (r Room) band(x []float64, rate float64) {
	if r.LowHz > 0 {
		filter(x, highPass(r.LowHz, rate))
	}
	if r.TrebleDB != 0 {
		filter(x, highShelf(trebleHz, r.TrebleDB, rate))
	}
	if r.HighHz > 0 && r.HighHz < fixedTop*rate {
		filter(x, lowPass2(r.HighHz, rate))
	}
}

func (r Room) finish(x []float64) []float32 {
	gain, limit := fromDB(r.GainDB), fromDB(math.Min(r.ClipDBFS, 0))
	dst := make([]float32, len(x))
	for i, v := range x {
		dst[i] = float32(clamp(v*gain, -limit, limit))
	}
	return dst
}

// biquad holds b0 b1 b2 a1 a2 of a second-order filter, a0 = 1.
type biquad [5]float64

func filter(x []float64, q biquad) {
	var x1, x2, y1, y2 float64
	for i, v := range x {
		y := q[0]*v + q[1]*x1 + q[2]*x2 - q[3]*y1 - q[4]*y2
		x2, x1, y2, y1 = x1, v, y1, y
		x[i] = y
	}
}

// The three filters: R. Bristow-Johnson, "Cookbook formulae for audio equalizer biquad filter coefficients"; from memory.

func highPass(hz, rate float64) biquad {
	cos, alpha := corner(hz, rate)
	return normal(biquad{(1 + cos) / 2, -(1 + cos), (1 + cos) / 2, -2 * cos, 1 - alpha}, 1+alpha)
}

func lowPass2(hz, rate float64) biquad {
	cos, alpha := corner(hz, rate)
	return normal(biquad{(1 - cos) / 2, 1 - cos, (1 - cos) / 2, -2 * cos, 1 - alpha}, 1+alpha)
}

func highShelf(hz, db, rate float64) biquad {
	cos, alpha := corner(hz, rate)
	a := math.Pow(10, db/40)
	root := 2 * math.Sqrt(a) * alpha
	return normal(biquad{
		a * (a + 1 + (a-1)*cos + root),
		-2 * a * (a - 1 + (a+1)*cos),
		a * (a + 1 + (a-1)*cos - root),
		2 * (a - 1 - (a+1)*cos),
		a + 1 - (a-1)*cos - root,
	}, a+1-(a-1)*cos+root)
}

// corner returns cos w and alpha of the cookbook for a Butterworth response.
func corner(hz, rate float64) (cos, alpha float64) {
	sin, cos := math.Sincos(2 * math.Pi * hz / rate)
	return cos, sin / (2 * butterworth)
}

func normal(q biquad, a0 float64) biquad {
	for i := range q {
		q[i] /= a0
	}
	return q
}
