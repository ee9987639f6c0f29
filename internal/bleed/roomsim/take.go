package roomsim

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Setup says what happens between the program's samples and the microphone's.
type Setup struct {
	Room        Room
	DelayMs     float64 // of the devices, beside the way through the air
	SkewPPM     float64 // by how much the microphone's clock is slower than the speaker's
	BleedDB     float64 // level of the bleed over the voice, rms while singing; -Inf: none
	NoiseDBFS   float64 // rms of the room's noise; 0: none
	Drive       float64 // of the speaker's soft clipping, 1: hardly any, 2.5: a bad speaker; 0: none
	MoveMetres  float64 // by which the microphone drifts while somebody sings
	AGC         bool    // the system turns the gain up and down
	DropoutAt   float64 // s at which DropoutMs of the microphone's samples are lost; 0: never
	DropoutMs   float64
	CountIn     float64 // s of backing before the voice
	Seed        uint64
	VoiceGainDB float64 // gain on the voice as it is given
}

// Recording is a simulated take with its parts.
type Recording struct {
	Take  []float32 // what the microphone wrote, at Rate
	Bleed []float64 // the part of it that came from the speaker
	Voice []float64 // the part of it that was sung
	Sung  Stretch   // where the voice is
}

// Stretch is a part of a recording, samples.
type Stretch struct{ From, To int }

// Record plays backing (at BackingRate, sample 0 at the take's sample 0) into a room while voice (at Rate) sings after the count-in.
func (s Setup) Record(voice []float64, backing []float32) Recording {
	lead := int(s.CountIn * Rate)
	n := lead + len(voice)
	r := Recording{Voice: make([]float64, n), Bleed: make([]float64, n), Sung: Stretch{lead, n}}
	gain := math.Pow(10, s.VoiceGainDB/20)
	for i, v := range voice {
		r.Voice[lead+i] = gain * v
	}
	if !math.IsInf(s.BleedDB, -1) {
		sent := speaker(backing, s.Drive, s.SkewPPM, s.DelayMs, n)
		r.Bleed = s.air(sent, lead)
		scale := math.Pow(10, s.BleedDB/20) * rms(loudParts(r.Voice[lead:])) / rms(r.Bleed[lead:])
		for i := range r.Bleed {
			r.Bleed[i] *= scale
		}
	}
	s.capture(&r)
	return r
}

// Band of a small speaker, second order each.
const (
	speakerLowHz  = 150.0
	speakerHighHz = 7600.0
	takeHeadroom  = 0.99
)

// speaker clips softly and loses the lows, then shifts onto the microphone's clock.
func speaker(backing []float32, drive, skewPPM, delayMs float64, n int) []float64 {
	x := make([]float64, len(backing))
	for i, v := range backing {
		x[i] = float64(v)
		if drive > 0 {
			x[i] = math.Tanh(drive*x[i]) / drive
		}
	}
	highPass(x, speakerLowHz, BackingRate)
	highPass(x, speakerLowHz, BackingRate)
	const ratio = float64(BackingRate) / Rate
	out := make([]float64, n)
	for i := range out {
		t := (1+skewPPM*1e-6)*float64(i) - delayMs/1000*Rate
		out[i] = lowPassAt(x, t*ratio, speakerHighHz/(BackingRate/2))
	}
	return out
}

// highPass is one pole and one zero, in place.
func highPass(x []float64, hz, rate float64) {
	a := math.Exp(-2 * math.Pi * hz / rate)
	lastIn, out := 0.0, 0.0
	for i, v := range x {
		out = a*out + (1+a)/2*(v-lastIn)
		lastIn = v
		x[i] = out
	}
}

// lowPassAt reads x between its samples through a sinc of a width (1: the Nyquist frequency) under a Hann window.
func lowPassAt(x []float64, place, width float64) float64 {
	const lobes = 24
	half := lobes / width
	from, to := max(0, int(math.Ceil(place-half))), min(len(x)-1, int(math.Floor(place+half)))
	sum := 0.0
	// sine and cosine of pi width d by rotation
	d := float64(from) - place
	sin, cos := math.Sincos(math.Pi * width * d)
	ds, dc := math.Sincos(math.Pi * width)
	ws, wc := math.Sincos(math.Pi * d / half)
	dws, dwc := math.Sincos(math.Pi / half)
	for i := from; i <= to; i++ {
		v := width
		if math.Abs(d) > 1e-9 {
			v = sin / (math.Pi * d)
		}
		sum += x[i] * v * (0.5 + 0.5*wc)
		sin, cos = sin*dc+cos*ds, cos*dc-sin*ds
		ws, wc = ws*dwc+wc*dws, wc*dwc-ws*dws
		d++
	}
	return sum
}

// moveStep is the distance in m between two computed places of a moving microphone: a fifth of the wavelength at 7 kHz.
const moveStep = 0.01

// air carries the sound to the microphone, which may move from sample lead on.
func (s Setup) air(sent []float64, lead int) []float64 {
	if s.MoveMetres == 0 {
		return convolve(sent, s.Room.Response(s.Room.Mic))
	}
	places := int(math.Ceil(s.MoveMetres/moveStep)) + 1
	out := make([]float64, len(sent))
	for p := range places {
		share := float64(p) / float64(places-1)
		here := convolve(sent, s.Room.Response(s.Room.Moved(s.MoveMetres*share)))
		for i := range out {
			at := 0.0
			if i > lead {
				at = float64(i-lead) / float64(len(sent)-lead) * float64(places-1)
			}
			if w := 1 - math.Abs(at-float64(p)); w > 0 {
				out[i] += w * here[i]
			}
		}
	}
	return out
}

// capture adds noise, the automatic gain and the dropout, and rounds to 32 bits.
func (s Setup) capture(r *Recording) {
	rng := rand.New(rand.NewPCG(s.Seed, 0x51))
	sum := make([]float64, len(r.Voice))
	level := 0.0
	if s.NoiseDBFS != 0 {
		level = math.Pow(10, s.NoiseDBFS/20)
	}
	for i := range sum {
		sum[i] = r.Voice[i] + r.Bleed[i] + level*rng.NormFloat64()
	}
	if s.AGC {
		gains := automaticGain(sum)
		for i, g := range gains {
			sum[i], r.Voice[i], r.Bleed[i] = sum[i]*g, r.Voice[i]*g, r.Bleed[i]*g
		}
	}
	if lost := int(s.DropoutMs / 1000 * Rate); s.DropoutAt > 0 && lost > 0 {
		at := int(s.DropoutAt * Rate)
		for _, x := range [][]float64{sum, r.Voice, r.Bleed} {
			copy(x[at:], x[at+lost:])
			clear(x[len(x)-lost:])
		}
	}
	r.Take = make([]float32, len(sum))
	for i, v := range sum {
		r.Take[i] = float32(math.Max(-takeHeadroom, math.Min(takeHeadroom, v)))
	}
}

// Automatic gain as systems do it for speech; own choice of constants in the usual range, no source.
const (
	agcTarget    = 0.1 // rms
	agcRange     = 4.0 // highest gain
	agcAttack    = 0.05
	agcRelease   = 1.0
	agcMeterTime = 0.02
)

func automaticGain(x []float64) []float64 {
	out := make([]float64, len(x))
	meter, gain := 0.0, 1.0
	for i, v := range x {
		meter += (v*v - meter) / (agcMeterTime * Rate)
		want := math.Min(agcRange, agcTarget/math.Sqrt(meter+1e-9))
		time := agcRelease
		if want < gain {
			time = agcAttack
		}
		gain += (want - gain) / (time * Rate)
		out[i] = gain
	}
	return out
}

// convolve is x*h, as long as x.
func convolve(x, h []float64) []float64 {
	const n = 1 << 15
	f := fourier.NewFFT(n)
	frame := make([]float64, n)
	copy(frame, h)
	path := f.Coefficients(nil, frame)
	hop := n - len(h)
	out := make([]float64, len(x))
	bins := make([]complex128, n/2+1)
	for start := 0; start < len(x); start += hop {
		clear(frame)
		copy(frame[max(0, len(h)-start):], x[max(0, start-len(h)):])
		f.Coefficients(bins, frame)
		for k := range bins {
			bins[k] *= path[k]
		}
		f.Sequence(frame, bins)
		for i := 0; i < hop && start+i < len(x); i++ {
			out[start+i] = frame[len(h)+i] / n
		}
	}
	return out
}

// loudParts leaves out what lies 25 dB below the loudest 50 ms: rests say nothing of the level of a voice.
func loudParts(x []float64) []float64 {
	const frame = Rate / 20
	loudest := 0.0
	for i := 0; i+frame <= len(x); i += frame {
		loudest = math.Max(loudest, rms(x[i:i+frame]))
	}
	var out []float64
	for i := 0; i+frame <= len(x); i += frame {
		if rms(x[i:i+frame]) > loudest*math.Pow(10, -25.0/20) {
			out = append(out, x[i:i+frame]...)
		}
	}
	return out
}

// LoudDBFS is the level of x (at Rate) without its rests, dBFS.
func LoudDBFS(x []float64) float64 { return 20 * math.Log10(rms(loudParts(x))) }

func rms(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}
